//! The duty: the number that follows the duty control.

use super::body::{Body, Group, groups};
use super::cell::Cell;
use super::kind::{column, counting, is_constant, span};
use super::moves::Table;
use super::step::Step;

/// Where the duty stands.
#[derive(Clone, Debug)]
pub struct Place<'b> {
    /// The frames.
    pub group: Group<'b>,
    /// The column, or the first of two.
    pub column: usize,
    /// Two bytes, and whether the most significant stands first.
    pub wide: Option<bool>,
    /// Whether it stands in the frames of the moves.
    pub with_move: bool,
    /// Lowest and highest heard while the control was moved.
    pub ends: (i64, i64),
}

/// The number that changed most while the duty control was moved; `None` when none did.
pub fn place<'b>(bodies: &'b [Body], table: &Table<'b>) -> Option<Place<'b>> {
    let others = groups(bodies).into_iter().filter(|group| group.key.is_some() || group.sample.key().is_none());
    let apart = others.filter(|group| !group.of(bodies).any(|body| table.owns(body)));
    let others: Vec<(Place<'b>, usize)> = apart.flat_map(|group| own(bodies, &group, None)).collect();
    let all = own(bodies, &table.group, Some(table)).into_iter().chain(others);
    let best = all.max_by_key(|(place, values)| (*values, place.ends.1 - place.ends.0));
    best.map(|(place, _)| widened(place, bodies, table))
}

/// The columns of one group that changed, with how many values each had.
fn own<'b>(bodies: &'b [Body], group: &Group<'b>, table: Option<&Table<'b>>) -> Vec<(Place<'b>, usize)> {
    let resting = |body: &Body| table.is_some_and(|table| table.rest.is_some() && table.code_of(body) == table.rest);
    let all: Vec<&Body> = group.of(bodies).filter(|body| table.is_none_or(|table| table.owns(body))).collect();
    let during = all.iter().copied().filter(|body| body.step == Some(Step::Duty));
    let moving: Vec<&Body> = during.filter(|body| !resting(body)).collect();
    let columns = group.columns().filter(|place| table.is_none_or(|table| table.column != *place));
    let places = columns.filter_map(|place| {
        let cells = column(&moving, place);
        let numbers: Vec<i64> = cells.iter().filter_map(|cell| cell.number()).collect();
        let usable = !is_constant(&cells) && counting(&column(&all, place)).is_none();
        let ends = span(&numbers).filter(|_| usable)?;
        let found = Place { group: group.clone(), column: place, wide: None, with_move: table.is_some(), ends };
        Some((found, values(&cells)))
    });
    places.collect()
}

fn values(cells: &[&Cell]) -> usize {
    let mut sorted = cells.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    sorted.len()
}

/// Two bytes side by side that both changed are one number.
fn widened<'b>(place: Place<'b>, bodies: &'b [Body], table: &Table<'b>) -> Place<'b> {
    let during: Vec<&Body> = place.group.of(bodies).filter(|body| body.step == Some(Step::Duty)).collect();
    let is_byte = |column: usize| matches!(place.group.sample.cells.get(column), Some(Cell::Byte(_)));
    let all: Vec<&Body> = place.group.of(bodies).collect();
    let changes = |at: usize| {
        let is_code = place.with_move && at == table.column;
        is_byte(at) && !is_code && !is_constant(&column(&during, at)) && counting(&column(&all, at)).is_none()
    };
    let first = [place.column.checked_sub(1), Some(place.column)]
        .into_iter()
        .flatten()
        .find(|first| changes(*first) && changes(first + 1));
    let Some(first) = first else { return place };
    let [little, big] = [false, true].map(|big_endian| {
        let numbers: Vec<i64> = during.iter().filter_map(|body| wide(body, first, big_endian)).collect();
        span(&numbers).unwrap_or_default()
    });
    // In the wrong order the small byte counts 256 times too much.
    let big_endian = big.1 < little.1;
    let ends = if big_endian { big } else { little };
    Place { column: first, wide: Some(big_endian), ends, ..place }
}

/// Two bytes as one number.
pub fn wide(body: &Body, first: usize, big_endian: bool) -> Option<i64> {
    let (a, b) = (body.cells.get(first)?.number()?, body.cells.get(first + 1)?.number()?);
    Some(if big_endian { a * 256 + b } else { a + b * 256 })
}
