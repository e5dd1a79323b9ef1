//! Link health: one row a wire.

use ratatui::style::Style;
use wheeltap_parsers::Wire;

use crate::console::pen::Pen;
use crate::console::theme::Theme;
use crate::engine::snapshot::{Snapshot, WireHealth};

/// One column of numbers: its word, its width, from which width of the pane on, its number, whether it is a bad sign.
struct Column {
    word: &'static str,
    cells: u16,
    from: u16,
    number: fn(&WireHealth) -> String,
    bad: fn(&WireHealth) -> bool,
}

const fn column(
    word: &'static str,
    cells: u16,
    from: u16,
    number: fn(&WireHealth) -> String,
    bad: fn(&WireHealth) -> bool,
) -> Column {
    Column { word, cells, from, number, bad }
}

const fn never(_: &WireHealth) -> bool {
    false
}

/// The columns, each ending at its right edge.
const COLUMNS: [Column; 9] = [
    column("baud", 9, 100, |w| w.rate.map_or("unknown".to_owned(), |rate| rate.to_string()), never),
    column("bytes", 10, 0, |w| w.bytes.to_string(), never),
    column("good", 8, 0, |w| w.frames.to_string(), never),
    column("damaged", 8, 0, |w| w.damaged.to_string(), |w| w.damaged > 0),
    column("text", 5, 0, |w| w.texts.to_string(), never),
    column("noise", 6, 0, |w| w.noises.to_string(), |w| w.noises > 0),
    column("lost", 6, 100, |w| w.lost.to_string(), |w| w.lost > 0),
    column("a second", 9, 0, |w| w.per_second.to_string(), never),
    column("load", 6, 0, load, never),
];

/// Draws the head row and one row a wire.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    head(pen);
    for (y, wire) in (1..).zip(Wire::BOTH) {
        match snapshot.wires.get(wire.index()).and_then(Option::as_ref) {
            Some(health) => row(pen, y, health),
            None => absent(pen, y, wire),
        }
    }
}

fn head(pen: &mut Pen) {
    let heading = pen.theme.heading();
    let x = pen.put(0, 0, "wire", heading);
    let mut end = x.max(4);
    for column in shown(pen.width()) {
        let from = end + column.cells.saturating_sub(column.word.len() as u16);
        end += column.cells;
        pen.put(from, 0, column.word, heading);
    }
    pen.put(end + 2, 0, "cadence", heading);
}

fn row(pen: &mut Pen, y: u16, health: &WireHealth) {
    let (strong, alarm) = (pen.theme.strong(), pen.theme.alarm());
    pen.put(0, y, health.wire.symbol().encode_utf8(&mut [0; 4]), strong);
    let mut end = 4;
    for column in shown(pen.width()) {
        let text = (column.number)(health);
        let style = if (column.bad)(health) { alarm } else { Style::new() };
        let from = end + column.cells.saturating_sub(text.len() as u16);
        end += column.cells;
        pen.put(from, y, &text, style);
    }
    let (text, style) = rhythm(pen.theme, pen.width(), health);
    pen.put(end + 2, y, &text, style);
}

fn shown(width: u16) -> impl Iterator<Item = &'static Column> {
    COLUMNS.iter().filter(move |column| width >= column.from)
}

fn load(health: &WireHealth) -> String {
    let share = health.load.map(|load| (load + 5) / 10);
    share.map_or_else(|| "?".to_owned(), |share| format!("{share} %"))
}

fn rhythm(theme: Theme, width: u16, health: &WireHealth) -> (String, Style) {
    if !health.open {
        return (format!("port gone: {}", health.port), theme.alarm());
    }
    if health.lost > 0 && width < 100 {
        return (format!("{} bytes lost", health.lost), theme.alarm());
    }
    let port = format!("on {}", health.port);
    match (health.cadence.is_empty(), width < 118) {
        (true, _) => (port, theme.faint()),
        (false, true) => (health.cadence.clone(), Style::new()),
        (false, false) => (format!("{}, {port}", health.cadence), Style::new()),
    }
}

fn absent(pen: &mut Pen, y: u16, wire: Wire) {
    let (strong, faint) = (pen.theme.strong(), pen.theme.faint());
    let says = match wire {
        Wire::ToDrive => "not tapped: orders to the drive board are not seen",
        Wire::FromDrive => "not tapped: answers of the drive board are not seen",
    };
    let x = pen.put(0, y, wire.symbol().encode_utf8(&mut [0; 4]), strong);
    pen.put(x + 3, y, says, faint);
}
