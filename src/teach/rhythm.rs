//! The rhythm of the orders while a button is kept: once, several times at once, or again and again.

use wheeltap_parsers::Nanos;

use super::body::Body;
use super::moves::Table;
use super::step::Step;

/// How often an order is sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rhythm {
    /// Once for each change, or so many times in a row.
    OnChange(usize),
    /// Again and again while the button is kept, this far apart.
    Every(Nanos),
}

/// Repeats closer than this may be copies of one order; a panel that repeats sends more of them. Common practice, no
/// source.
const CLOSE: Nanos = 100_000_000;
/// So many in one press are repeats, however close.
const MANY: usize = 5;

/// The rhythm that the presses show.
pub fn of(bodies: &[Body], table: &Table<'_>) -> Rhythm {
    let runs: Vec<Vec<Nanos>> = table.heard.iter().map(|(motion, _)| run(bodies, table, Step::Move(*motion))).collect();
    let lengths: Vec<i64> = runs.iter().map(|run| run.len() as i64).collect();
    let length = usize::try_from(median(lengths).unwrap_or(1)).unwrap_or(1).max(1);
    let gaps: Vec<Nanos> = runs.iter().flat_map(|run| run.iter().zip(run.iter().skip(1)).map(|(a, b)| b - a)).collect();
    let Some(gap) = median(gaps.clone()).filter(|_| length > 1) else { return Rhythm::OnChange(1) };
    let near = gaps.iter().filter(|one| (**one - gap).abs() * 3 <= gap).count();
    let even = near * 10 >= gaps.len() * 8;
    if even && (gap >= CLOSE || length >= MANY) { Rhythm::Every(gap) } else { Rhythm::OnChange(length) }
}

/// When the orders of one press came.
fn run(bodies: &[Body], table: &Table<'_>, step: Step) -> Vec<Nanos> {
    let moving = |body: &&Body| table.owns(body) && table.code_of(body) != table.rest;
    bodies.iter().filter(|body| body.step == Some(step)).filter(moving).map(|body| body.at).collect()
}

fn median(mut list: Vec<i64>) -> Option<i64> {
    list.sort_unstable();
    list.get(list.len() / 2).copied()
}
