//! The overview: which panes there is room for, and where.

use super::{brief, findings, legs, lines, link, order, rover};
use crate::console::pen::Pen;
use crate::engine::snapshot::Snapshot;

/// Draws the overview in the form that fits.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    match (pen.width(), pen.height()) {
        (180.., 44..) => wall(pen, snapshot),
        (110.., 30..) => wide(pen, snapshot),
        (80.., 16..) => compact(pen, snapshot),
        (48.., 16..) => narrow(pen, snapshot),
        _ => brief::draw(pen, snapshot),
    }
}

/// 80 x 24 and up: the rover, beside it order and legs; below, over the whole width, link, findings and lines.
fn compact(pen: &mut Pen, snapshot: &Snapshot) {
    let (width, height) = (pen.width(), pen.height());
    let picture = if height >= 26 { 15 } else { 13 };
    rover::draw(&mut pen.part(0, 0, 48, picture), snapshot);
    let beside = width - 49;
    let order = if height >= 26 { 9 } else { 8 };
    order::draw(&mut pen.part(49, 0, beside, order), snapshot);
    legs::draw(&mut pen.part(49, order, beside, picture - order), snapshot);
    below(pen, picture, snapshot);
}

/// Link, findings and lines in the rows from `top` on.
fn below(pen: &mut Pen, top: u16, snapshot: &Snapshot) {
    let rest = pen.height().saturating_sub(top);
    let found = match rest {
        0..5 => 1,
        5..9 => 2,
        _ => (rest / 2 - 1).min(findings::rows_wanted(snapshot)),
    };
    let link = 3.min(rest - found.min(rest));
    link::draw(&mut pen.rows(top, link), snapshot);
    findings::draw(&mut pen.rows(top + link, found), snapshot);
    let rest = rest.saturating_sub(link + found);
    lines::draw(&mut pen.rows(top + link + found, rest), snapshot);
}

/// Less than 80 across: the rover, and below it the order and what else fits.
fn narrow(pen: &mut Pen, snapshot: &Snapshot) {
    rover::draw(&mut pen.part(0, 0, 48.max(pen.width()), 13), snapshot);
    let rest = pen.height() - 13;
    if rest < 14 {
        return brief::draw_words(&mut pen.rows(13, rest), snapshot);
    }
    order::draw(&mut pen.rows(13, 8), snapshot);
    findings::draw(&mut pen.rows(21, 3), snapshot);
    lines::draw(&mut pen.rows(24, rest - 11), snapshot);
}

/// 120 x 40 and up: rover left, order and legs right; link, findings and lines over the whole width.
fn wide(pen: &mut Pen, snapshot: &Snapshot) {
    let (width, height) = (pen.width(), pen.height());
    let picture = (height * 5 / 9).clamp(17, 25);
    let left = width * 11 / 20;
    let right = width - left - 2;
    rover::draw(&mut pen.part(0, 0, left, picture), snapshot);
    order::draw(&mut pen.part(left + 2, 0, right, 10), snapshot);
    legs::draw(&mut pen.part(left + 2, 10, right, picture - 11), snapshot);
    below(pen, picture, snapshot);
}

/// 200 x 60 and up: rover, order with legs, and findings in three columns; link and lines across.
fn wall(pen: &mut Pen, snapshot: &Snapshot) {
    let (width, height) = (pen.width(), pen.height());
    let picture = 27;
    let left = 84;
    let middle = (width - left) * 2 / 5;
    let right = left + middle + 4;
    rover::draw(&mut pen.part(0, 0, left, picture), snapshot);
    order::draw(&mut pen.part(left + 2, 0, middle, 11), snapshot);
    legs::draw(&mut pen.part(left + 2, 11, middle, picture - 12), snapshot);
    findings::draw(&mut pen.part(right, 0, width - right, picture - 1), snapshot);
    link::draw(&mut pen.rows(picture, 3), snapshot);
    let top = picture + 4;
    lines::draw(&mut pen.rows(top, height - top), snapshot);
}
