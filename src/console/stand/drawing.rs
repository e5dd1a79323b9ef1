//! The stand on the screen: panel on the left, rover on the right, the newest message at the bottom.

use super::{Stand, Turning};
use crate::console::pen::Pen;
use crate::rover::wheels::Wheel;

/// Where the columns of buttons begin.
const COLUMNS: [u16; 3] = [0, 14, 24];
/// Cells of the panel.
const PANEL: u16 = 44;
/// Rows and cells of a wheel's box.
const BOX: (u16, u16) = (16, 3);
/// Where the second column of wheels begins.
const RIGHT: u16 = 18;

/// What a terminal cannot do, and what takes its place.
const PRESSING: &str = "A terminal cannot feel a key let go. A key presses its button down; the same key again, or space, \
     lets it go. Another move lets the first one go.";

/// Draws everything.
pub fn draw(stand: &Stand, mut pen: Pen) {
    let strong = pen.theme.strong();
    let time = format!("{}:{:02}", stand.seconds / 60, stand.seconds % 60);
    let end = pen.put_right(0, &time, strong);
    pen.part(0, 0, end.saturating_sub(1), 1).put(0, 0, &stand.title, strong);
    let top = draw_listen(stand, &mut pen.rows(1, 6)) + 2;
    let (width, height) = (pen.width(), pen.height());
    let foot = height.saturating_sub(3).max(top);
    let room = foot.saturating_sub(top);
    let right = if width >= PANEL + 34 { PANEL } else { width / 2 };
    draw_left(stand, &mut pen.part(0, top, right.saturating_sub(1), room));
    draw_rover(stand, &mut pen.part(right, top, width.saturating_sub(right), room));
    pen.put_wrapped(0, foot, 3, &stand.message, strong);
}

/// The rows that it took.
fn draw_listen(stand: &Stand, pen: &mut Pen) -> u16 {
    let faint = pen.theme.faint();
    pen.put(0, 0, "In another terminal:", faint);
    let strong = pen.theme.strong();
    for (y, line) in (1..).zip(&stand.listen) {
        pen.put(2, y, line, strong);
    }
    1 + stand.listen.len().min(5) as u16
}

fn draw_left(stand: &Stand, pen: &mut Pen) {
    match &stand.choice {
        Some((asked, rows)) => draw_choice(asked, rows, pen),
        None => draw_panel(stand, pen),
    }
}

fn draw_choice(asked: &str, rows: &[(String, String)], pen: &mut Pen) {
    pen.heading("REPAIR", "");
    let strong = pen.theme.strong();
    let mut y = pen.put_wrapped(0, 1, 4, asked, strong);
    for (key, text) in rows {
        let style = pen.theme.key();
        let x = pen.put(1, y, key, style).max(4);
        y = pen.put_wrapped(x + 1, y, 2, text, ratatui::style::Style::new());
    }
}

fn draw_panel(stand: &Stand, pen: &mut Pen) {
    pen.heading("CONTROL PANEL", "");
    let (key, plain, chosen) = (pen.theme.key(), ratatui::style::Style::new(), pen.theme.chosen());
    for button in &stand.buttons {
        let (column, row) = button.place;
        let x = COLUMNS.get(usize::from(column)).copied().unwrap_or_default();
        let style = if button.down { chosen } else { plain };
        let next = pen.put(x, 1 + row, &button.key.to_string(), if button.down { chosen } else { key });
        pen.put(next, 1 + row, &format!(" {}", button.name), style);
    }
    let mut y = 2 + stand.buttons.iter().map(|button| button.place.1 + 1).max().unwrap_or(0);
    for (keys, says) in &stand.controls {
        pen.put(0, y, keys, key);
        pen.put(7, y, says, plain);
        y += 1;
    }
    let faint = pen.theme.faint();
    pen.put_wrapped(0, y, 4, PRESSING, faint);
}

fn draw_rover(stand: &Stand, pen: &mut Pen) {
    pen.heading("SEEN: wheels on a stand", "");
    let faint = pen.theme.faint();
    let middle = RIGHT - 3;
    pen.put(middle, 1, "nose", faint);
    for (wheel, turning) in Wheel::ALL.into_iter().zip(stand.wheels) {
        let x = if matches!(wheel, Wheel::FL | Wheel::RL) { 0 } else { RIGHT };
        let y = if matches!(wheel, Wheel::FL | Wheel::FR) { 2 } else { 5 };
        draw_wheel(wheel, turning, &mut pen.part(x, y, BOX.0, BOX.1));
    }
    pen.put(middle, 8, "tail", faint);
    let (strong, plain) = (pen.theme.strong(), ratatui::style::Style::new());
    pen.put(0, 9, "On the floor it would go:", strong);
    let y = pen.put_wrapped(0, 10, 3, &stand.goes, plain);
    pen.put_wrapped(
        0,
        y,
        3,
        "Left and right are the rover's own. Forward: the top of the tyre goes to the nose.",
        faint,
    );
}

fn draw_wheel(wheel: Wheel, turning: Turning, pen: &mut Pen) {
    let border = pen.theme.solid();
    let style = if turning == Turning::Still { pen.theme.faint() } else { pen.theme.strong() };
    pen.border(border, style);
    pen.put(2, 0, wheel.name(), style);
    let arrow = match turning {
        Turning::Forward => pen.theme.pick("↑", "^"),
        Turning::Backward => pen.theme.pick("↓", "v"),
        Turning::Still => " ",
        Turning::Hums => "~",
    };
    pen.put(2, 1, &format!("{arrow} {}", words(turning)), style);
}

const fn words(turning: Turning) -> &'static str {
    match turning {
        Turning::Forward => "forward",
        Turning::Backward => "BACKWARD",
        Turning::Still => "still",
        Turning::Hums => "hums",
    }
}
