//! Other parts: frames that move no wheel.

use super::body::Body;
use super::cell::Cell;
use super::kind::{Column, Kind, column, is_constant, shape};
use super::step::Step;
use crate::rover::meaning::Means;

/// Kinds of frames among `left`, the bodies that are neither move nor duty, that came while the rest of the panel was
/// used or during two steps at least.
pub fn kinds(left: &[&Body]) -> Vec<Kind> {
    let mut found: Vec<(Kind, &Body)> = Vec::new();
    for body in left {
        let same = |other: &&&Body| other.like(body) && (body.key().is_none() || other.key() == body.key());
        let alike: Vec<&Body> = left.iter().filter(same).copied().collect();
        let known = found.iter().any(|(_, sample)| same(&sample));
        if !known && is_part(&alike) {
            found.push((kind(&alike, found.len()), body));
        }
    }
    found.into_iter().map(|(kind, _)| kind).collect()
}

fn is_part(alike: &[&Body]) -> bool {
    let mut steps: Vec<Step> = alike.iter().filter_map(|body| body.step).collect();
    steps.sort_unstable();
    steps.dedup();
    steps.contains(&Step::Other) || steps.len() > 1
}

fn kind(alike: &[&Body], number: usize) -> Kind {
    let sample = alike.first();
    let cells = sample.map(|body| body.cells.clone()).unwrap_or_default();
    let name = match cells.first() {
        Some(Cell::Word(word)) => word.to_lowercase(),
        _ => format!("part {}", number + 1),
    };
    let columns = cells.iter().enumerate().map(|(place, cell)| part_column(alike, place, cell)).collect();
    Kind { name, order: false, columns, suffix: sample.map(|body| body.suffix.clone()).unwrap_or_default() }
}

/// A number behind the first cell may have any value; a word only where it changed.
fn part_column(alike: &[&Body], place: usize, cell: &Cell) -> Column {
    let cells = column(alike, place);
    let constant = is_constant(&cells);
    let open = place > 0 && matches!(cell, Cell::Number(_));
    if constant && !open {
        return Column::Fixed(cell.clone());
    }
    Column::Field { name: format!("value_{place}"), means: Means::Nothing, shape: shape(&cells, !constant) }
}
