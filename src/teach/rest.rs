//! The rest: the code that stops the wheels, in the frames of the moves or in a frame of its own.

use super::body::{Body, without_repeats};
use super::moves::Table;
use super::step::Step;

/// A rest that stands in a frame of another shape than the moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnFrame {
    /// Such a frame.
    pub sample: Body,
    /// The column that is its code.
    pub column: usize,
}

impl OwnFrame {
    /// Its code.
    pub fn code(&self) -> String {
        self.sample.cells.get(self.column).map(super::cell::Cell::code).unwrap_or_default()
    }

    /// Whether `body` is this rest.
    pub fn is(&self, body: &Body) -> bool {
        body.cells == self.sample.cells
    }
}

/// The frame outside the table that ended most of the moves, or that came when stop was pressed.
pub fn own_frame(bodies: &[Body], table: &Table<'_>) -> Option<OwnFrame> {
    let moves: Vec<Step> = table.heard.iter().map(|(motion, _)| Step::Move(*motion)).collect();
    let last = |step: &Step| bodies.iter().rfind(|body| body.step == Some(*step));
    let ends: Vec<&Body> = moves.iter().filter_map(last).filter(|body| table.code_of(body).is_none()).collect();
    let count = |one: &Body| ends.iter().filter(|end| end.cells == one.cells).count();
    let most = ends.iter().copied().max_by_key(|one| count(one)).filter(|one| count(one) * 2 > moves.len());
    let stop = bodies.iter().rfind(|body| body.step == Some(Step::Stop) && table.code_of(body).is_none());
    let sample = most.or(stop)?;
    let column = sample.cells.iter().position(super::cell::Cell::is_value)?;
    Some(OwnFrame { sample: sample.clone(), column })
}

/// The code heard when stop was pressed, in the frames of the moves.
pub fn at_stop(bodies: &[Body], table: &Table<'_>) -> Option<String> {
    let during = bodies.iter().filter(|body| body.step == Some(Step::Stop));
    let codes = without_repeats(during.filter_map(|body| table.code_of(body)));
    codes.into_iter().next_back()
}

/// The number that goes to 0 when a move is let go, where no code does: its column in the frames of the moves.
pub fn by_zero(bodies: &[Body], table: &Table<'_>) -> Option<usize> {
    let columns: Vec<usize> = table.group.columns().filter(|column| *column != table.column).collect();
    columns.into_iter().find(|column| {
        let ended = table.heard.iter().filter(|(motion, _)| ends_in_zero(bodies, table, Step::Move(*motion), *column));
        ended.count() * 2 > table.heard.len()
    })
}

fn ends_in_zero(bodies: &[Body], table: &Table<'_>, step: Step, column: usize) -> bool {
    let during = bodies.iter().filter(|body| body.step == Some(step) && table.owns(body));
    let numbers = without_repeats(during.filter_map(|body| body.cells.get(column)?.number()));
    numbers.len() > 1 && numbers.last() == Some(&0)
}
