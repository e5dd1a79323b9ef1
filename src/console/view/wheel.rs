//! One wheel of the rover seen from above: its tyre with rollers and arrow, and its words inside the body.

use ratatui::style::Style;

use super::large_digits;
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::text_fit;
use crate::console::theme::{Border, Theme};
use crate::engine::snapshot::{SeenAtPins, WheelState};
use crate::rover::wheels::{Duty, RollerHand, per_cent};

/// The border and style of what is meant: dashed until a person saw this wheel obey this move.
pub const fn meant_border(theme: Theme, wheel: &WheelState) -> (Border, Style) {
    if wheel.proven { (theme.solid(), theme.seen()) } else { (theme.dashed(), theme.meant()) }
}

/// Draws the tyre over the whole pen.
pub fn draw_tyre(pen: &mut Pen, wheel: &WheelState) {
    let (border, style) = meant_border(pen.theme, wheel);
    pen.border(border, style);
    let (inside, rows) = (pen.width().saturating_sub(2), pen.height().saturating_sub(2));
    let mut inner = pen.part(1, 1, inside, rows);
    let stroke = match wheel.rollers {
        RollerHand::Back => inner.theme.pick("╲", "\\"),
        RollerHand::Slash => inner.theme.pick("╱", "/"),
    };
    let faint = inner.theme.faint();
    for y in 0..rows {
        inner.line(0, y, inside, stroke, faint);
    }
    let middle = inside / 2;
    draw_arrow(&mut inner.part(middle, 0, 1, rows), wheel.meant);
}

/// An arrow for the way the top of the tyre goes; its length follows the duty.
fn draw_arrow(pen: &mut Pen, meant: Option<Duty>) {
    let (theme, rows) = (pen.theme, pen.height());
    let strong = theme.strong();
    let Some(duty) = meant.filter(|duty| *duty != 0) else {
        let sign = if meant.is_none() { "?" } else { theme.pick("•", "o") };
        pen.put(0, rows / 2, sign, strong);
        return;
    };
    let share = duty.unsigned_abs().min(1000) * u32::from(rows);
    let length = (share.div_ceil(1000) as u16).clamp(1, rows.max(1));
    let top = rows.saturating_sub(length) / 2;
    let (head, sign) =
        if duty > 0 { (top, theme.pick("▲", "^")) } else { (top + length - 1, theme.pick("▼", "v")) };
    for y in top..top + length {
        pen.put(0, y, theme.pick("┃", "|"), strong);
    }
    pen.put(0, head, sign, strong);
}

/// Draws the words; `right` aligns them to the right, next to a right-hand tyre.
pub fn draw_words(pen: &mut Pen, wheel: &WheelState, right: bool) {
    let label = label(wheel, pen.width());
    let strong = pen.theme.strong();
    place(pen, 0, &label, strong, right);
    let Some(meant) = wheel.meant else {
        place(pen, 1, "not heard yet", Style::new(), right);
        if let Some(seen) = wheel.seen {
            let (text, style) = (fitting(pen, seen), pen.theme.seen());
            place(pen, 2, &text, style, right);
        }
        return;
    };
    let mut y = 1;
    let chips = u16::from(wheel.ordered.is_some()) + u16::from(wheel.seen.is_some());
    let needed = 2 + large_digits::HEIGHT + chips;
    if pen.height() >= needed && pen.width() >= 20 {
        y = draw_large(pen, meant, right);
    }
    if let Some(ordered) = wheel.ordered {
        let (border, style) = (pen.theme.solid(), pen.theme.ordered());
        place(pen, y, &chip(border, "ordered", ordered), style, right);
        y += 1;
    }
    let (border, style) = meant_border(pen.theme, wheel);
    place(pen, y, &chip(border, "meant", meant), style, right);
    if let Some(seen) = wheel.seen {
        let text = fitting(pen, seen);
        let style = pen.theme.seen();
        place(pen, y + 1, &text, style, right);
    }
}

/// The same, in fewer words where there is no room.
fn fitting(pen: &Pen, seen: SeenAtPins) -> String {
    let whole = seen_chip(pen.theme, seen);
    let short = || format!("{0}seen open{0}", pen.theme.heavy().down);
    if text_fit::width(&whole) > usize::from(pen.width()) { short() } else { whole }
}

/// What the pins told, between pieces of the heavy border: seen.
pub fn seen_chip(theme: Theme, seen: SeenAtPins) -> String {
    match seen.duty {
        Some(duty) => chip(theme.heavy(), "seen", duty),
        None => format!("{0}seen: an input is open{0}", theme.heavy().down),
    }
}

/// The duty in large digits; returns the row below.
fn draw_large(pen: &mut Pen, duty: Duty, right: bool) -> u16 {
    let text = per_cent(duty).to_string();
    let cells = large_digits::width(&text);
    let x = if right { pen.width().saturating_sub(cells) } else { 0 };
    let strong = pen.theme.strong();
    large_digits::draw(&mut pen.part(x, 1, cells, large_digits::HEIGHT), &text, strong);
    1 + large_digits::HEIGHT
}

fn label(wheel: &WheelState, width: u16) -> String {
    let name = wheel.wheel.name();
    let seen = if wheel.proven { ", seen" } else { "" };
    let way = wheel.meant.map(motion::wheel).unwrap_or_default();
    if width >= 30 {
        return format!("{name} {}: {way}{seen}", wheel.wheel.words());
    }
    format!("{name} {way}{seen}").trim_end().to_owned()
}

/// A duty between two pieces of the border that tells what it is.
pub fn chip(border: Border, word: &str, duty: Duty) -> String {
    format!("{0}{word} {1}{0}", border.down, motion::duty(duty))
}

fn place(pen: &mut Pen, y: u16, text: &str, style: Style, right: bool) {
    if right {
        pen.put_right(y, text, style);
    } else {
        pen.put(0, y, text, style);
    }
}
