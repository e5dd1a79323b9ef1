//! The order in force: as it stood on the wire, what it means, its age, its answer, its deadline.

use ratatui::style::Style;

use super::deadline;
use crate::console::clock;
use crate::console::pen::Pen;
use crate::engine::snapshot::{DeadlineState, Snapshot};

/// Width of the words in front.
const INDENT: u16 = 9;

/// Draws the pane.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    let order = &snapshot.order;
    let age = order.at.map(|at| clock::ago(snapshot.now, at));
    let lapsed = matches!(snapshot.deadline, DeadlineState::Lapsed { .. });
    pen.heading(if lapsed { "last order" } else { "order in force" }, age.as_deref().unwrap_or("not heard yet"));
    let below = 2;
    let rest = pen.height().saturating_sub(1 + below);
    let mut rows = pen.rows(1, rest);
    let room = rest;
    if order.at.is_none() {
        rows.put_wrapped(0, 0, room, unheard(snapshot), Style::new());
    } else {
        draw_rows(&mut rows, snapshot);
    }
    deadline::draw(pen, 1 + room, below, snapshot);
}

fn draw_rows(pen: &mut Pen, snapshot: &Snapshot) {
    let order = &snapshot.order;
    let (ordered, meant) = (pen.theme.ordered(), pen.theme.meant());
    let mut y = pair(pen, 0, 2, "ordered", &order.ordered, ordered);
    y = pair(pen, y, 2, "meant", &order.meant, meant);
    if let Some((text, style)) = answer(pen, snapshot) {
        y = pair(pen, y, 1, "answer", text, style);
    }
    if let Some(heard) = order.duty_heard {
        pair(pen, y, 2, "duty", duty(heard), Style::new());
    }
}

fn pair(pen: &mut Pen, y: u16, rows: u16, word: &str, text: &str, style: Style) -> u16 {
    let faint = pen.theme.faint();
    pen.put(0, y, word, faint);
    pen.put_wrapped(INDENT, y, rows, text, style)
}

fn answer(pen: &Pen, snapshot: &Snapshot) -> Option<(&'static str, Style)> {
    match snapshot.order.answered {
        Some(true) => Some(("the drive board obeys", pen.theme.seen())),
        Some(false) => Some(("REFUSED by the drive board", pen.theme.alarm())),
        None => None,
    }
}

const fn duty(heard: bool) -> &'static str {
    if heard { "heard on this wire" } else { "assumed: as at power-up" }
}

/// Why there is no order yet: silence, lines without a rover file, or lines that the rover file takes for no order.
fn unheard(snapshot: &Snapshot) -> &'static str {
    let wire = snapshot.wires[0].as_ref();
    let (bytes, frames) = wire.map_or((0, 0), |wire| (wire.bytes, wire.frames));
    match (snapshot.rover == NO_FILE, bytes, frames) {
        (true, 1.., _) => "Bytes are heard. Without a rover file they have no meaning; `wheeltap teach` makes one.",
        (false, _, 1..) if snapshot.leg_count > 0 => "No order since a board started anew or the port was away.",
        (false, _, 1..) => "Lines are heard, but none of them is an order in the rover file.",
        _ => "No order has been heard on the wire yet.",
    }
}

/// The rover's name when there is no rover file.
pub const NO_FILE: &str = "no rover file";
