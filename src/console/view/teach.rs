//! The teach page: the talk of a lesson, newest at the bottom, and the line being typed.

use ratatui::style::Style;

use super::note_entry::tail;
use crate::console::pen::Pen;
use crate::console::status::{Mode, Status};
use crate::console::text_fit::{width, wrap};

/// What a page without a lesson says.
const NOT_HERE: [&str; 2] = [
    "A rover file is learned while you listen to a port: wheeltap listen PORT, then key e.",
    "From the session of a lesson: wheeltap teach --from SESSION --out FILE.",
];

/// Draws the page.
pub fn draw(pen: &mut Pen, status: &Status, entry: Option<&str>) {
    let (strong, room) = (pen.theme.strong(), pen.height().saturating_sub(1));
    let Some(lesson) = status.lesson.as_ref().filter(|_| status.mode == Mode::Listen) else {
        let mut y = 0;
        for line in NOT_HERE {
            y = pen.put_wrapped(0, y, 3, line, Style::new());
        }
        return;
    };
    let rows = rows(&lesson.lines, pen.width());
    let shown = rows.iter().skip(rows.len().saturating_sub(room.into()));
    for (y, (row, heading)) in (0..).zip(shown) {
        pen.put(0, y, row, if *heading { strong } else { Style::new() });
    }
    let Some(entry) = entry else { return };
    let y = room.min(rows.len() as u16);
    let (chosen, x) = (pen.theme.chosen(), pen.put(0, y, "your answer:", strong) + 1);
    let free = usize::from(pen.width().saturating_sub(x + 1));
    let x = pen.put(x, y, tail(entry, free), strong);
    pen.put(x, y, " ", chosen);
}

/// The lines over as many rows as they need, each as far in as it begins; whether it is a heading or a warning.
fn rows(lines: &[String], cells: u16) -> Vec<(String, bool)> {
    let mut rows = Vec::new();
    for line in lines {
        let text = line.trim_start();
        let indent = width(line) - width(text);
        let heading = text.contains(" of ") && text.starts_with(|first: char| first.is_ascii_digit());
        let loud = heading || ["DOUBT", "DANGER", "CAUTION"].iter().any(|word| text.starts_with(word));
        let room = usize::from(cells).saturating_sub(indent).max(1);
        if text.is_empty() {
            rows.push((String::new(), false));
        }
        rows.extend(wrap(text, room).into_iter().map(|row| (format!("{}{row}", " ".repeat(indent)), loud)));
    }
    rows
}
