//! What stood on the wires: the last lines in a pane, or a page with scroll back.

use ratatui::style::Style;

use crate::console::Console;
use crate::console::clock;
use crate::console::pen::Pen;
use crate::console::scroll;
use crate::console::theme::Theme;
use crate::engine::snapshot::{Line, LineSort, Snapshot};
use wheeltap_parsers::Wire;

/// Draws the pane: the last lines, newest at the bottom.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    let head = u16::from(pen.height() > 1);
    if head == 1 {
        pen.heading("lines on the wire", &snapshot.link);
    }
    let room = pen.height() - head.min(pen.height());
    if snapshot.lines.is_empty() {
        pen.put(0, head, "nothing yet", Style::new());
    }
    let first = snapshot.lines.len().saturating_sub(room.into());
    for (y, line) in (head..).zip(snapshot.lines.iter().skip(first)) {
        row(pen, y, line);
    }
}

/// Time, wire, raw, flags, words; flags stand before the words so that a cut never takes them.
fn row(pen: &mut Pen, y: u16, line: &Line) {
    let (theme, width) = (pen.theme, pen.width());
    let wire = line.wire.map_or(' ', Wire::symbol);
    // An hour in front of the minutes takes more room.
    let after = (pen.put(0, y, &clock::at(line.at), theme.faint()) + 1).max(10);
    pen.put(after, y, wire.encode_utf8(&mut [0; 4]), theme.strong());
    let mut x = after + 2;
    let raw = (width.saturating_sub(x) * 2 / 5).min(56);
    if !line.raw.is_empty() {
        pen.part(x, y, raw, 1).put(0, 0, &line.raw, theme.ordered());
        x += raw + 1;
    }
    if let Some(sort) = sort(line) {
        x = pen.put(x, y, sort, sort_style(theme, line.sort)) + 1;
    }
    for flag in &line.flags {
        x = pen.put(x, y, &format!("{flag};"), theme.alarm()) + 1;
    }
    let words = match line.sort {
        LineSort::Damage | LineSort::Noise => theme.alarm(),
        _ => theme.meant(),
    };
    pen.put(x, y, &line.words, words);
}

/// The word in front of everything that is not a good frame, unless its words begin with it.
fn sort(line: &Line) -> Option<&'static str> {
    let (word, shown) = match line.sort {
        LineSort::Frame => return None,
        LineSort::Damage => ("damaged", "DAMAGED"),
        LineSort::Text => ("text", "text:"),
        LineSort::Noise => ("noise", "NOISE"),
        LineSort::Event => ("event", "event:"),
        LineSort::Note => ("note", "note:"),
    };
    (!line.words.starts_with(word)).then_some(shown)
}

const fn sort_style(theme: Theme, sort: LineSort) -> Style {
    match sort {
        LineSort::Damage | LineSort::Noise => theme.alarm(),
        _ => theme.strong(),
    }
}

/// Draws the page: the line at the cursor whole, then the lines around it.
pub fn draw_page(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot) {
    let height = pen.height();
    let whole = if height >= 14 { 5 } else { 0 };
    let room = height.saturating_sub(whole + 1);
    console.scroll.room = room.into();
    let cursor = console.line_index(snapshot);
    if let Some(line) = snapshot.lines.get(cursor).filter(|_| whole > 0) {
        draw_whole(&mut pen.rows(0, whole), line);
    }
    let follow = if console.line_at.is_none() { "following the newest" } else { "standing still" };
    pen.rows(whole, 1).heading("lines on the wire", &format!("{follow}; {}", snapshot.link));
    let top = scroll::around(cursor, snapshot.lines.len(), room.into());
    for (y, (at, line)) in (whole + 1..height).zip(snapshot.lines.iter().enumerate().skip(top)) {
        row(pen, y, line);
        if at == cursor {
            pen.shade(y, pen.theme.chosen());
        }
    }
}

fn draw_whole(pen: &mut Pen, line: &Line) {
    let (strong, ordered, meant) = (pen.theme.strong(), pen.theme.ordered(), pen.theme.meant());
    pen.put(0, 0, &place(line), strong);
    let y = pen.put_wrapped(0, 1, 2, &line.raw, ordered);
    let flags = line.flags.join(", ");
    let words = [sort(line).unwrap_or_default(), &flags, &line.words];
    let told = words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>();
    pen.put_wrapped(0, y, 2, &told.join(" "), meant);
}

/// When and where, in words.
fn place(line: &Line) -> String {
    let at = clock::at(line.at);
    let early = clock::length(line.uncertain);
    let Some(wire) = line.wire else {
        return format!("at {at}");
    };
    format!("wire {}, at {at} or up to {early} earlier, byte {}, {} long", wire.symbol(), line.offset, line.len)
}
