//! The diary of legs: each move from press to release, in words.

use ratatui::style::Style;

use crate::console::Console;
use crate::console::clock;
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::scroll;
use crate::console::text_fit::width;
use crate::engine::snapshot::Snapshot;
use crate::rover::wheels::{Leg, LegEnd, per_cent};
use wheeltap_parsers::Nanos;

/// Draws the pane: the last legs, newest at the bottom.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    let narrow = pen.width() < 44;
    pen.heading(if narrow { "legs" } else { "legs, press to release" }, &format!("{} in all", snapshot.leg_count));
    let room = pen.height().saturating_sub(1);
    if snapshot.legs.is_empty() {
        pen.put(0, 1, "none yet", Style::new());
        return;
    }
    let first = snapshot.legs.len().saturating_sub(room.into());
    let timed = pen.width() >= 44;
    for (y, leg) in (1..).zip(snapshot.legs.iter().skip(first)) {
        let style = if leg.ends.is_none() { pen.theme.strong() } else { Style::new() };
        let story = story(leg, snapshot.now);
        let mut x = if timed { pen.put(0, y, &clock::at(leg.begins), pen.theme.faint()) + 2 } else { 0 };
        let room = pen.width().saturating_sub(x + width(&story) as u16);
        x += pen.part(x, y, room, 1).put(0, 0, &leg.name, style);
        pen.put(x, y, &story, style);
    }
}

/// What follows the move's name when a person tells a leg: `to port, 71 %, 1.24 s`.
fn story(leg: &Leg, now: Nanos) -> String {
    let strongest = leg.meant.iter().map(|duty| duty.unsigned_abs()).max();
    let share = per_cent(strongest.unwrap_or(0).try_into().unwrap_or(0));
    let lasted = clock::length(leg.ends.unwrap_or(now).saturating_sub(leg.begins));
    let end = match leg.end {
        LegEnd::Open => " so far",
        LegEnd::Rest | LegEnd::NextMove => "",
        LegEnd::Lapse => ", lapsed",
        LegEnd::Cut => ", cut off",
    };
    format!(", {share} %, {lasted}{end}")
}

const fn ended(end: LegEnd) -> &'static str {
    match end {
        LegEnd::Open => "lasts",
        LegEnd::Rest => "rest ordered",
        LegEnd::NextMove => "next move",
        LegEnd::Lapse => "lapse",
        LegEnd::Cut => "cut off",
    }
}

/// Draws the page of legs with its cursor.
pub fn draw_page(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot) {
    let head = ["began", "lasted", "move", "FL", "FR", "RL", "RR", "ended by"];
    put_columns(pen, 0, head, pen.theme.heading());
    let room = pen.height().saturating_sub(4);
    console.scroll.room = room.into();
    let cursor = console.leg_index(snapshot);
    let top = scroll::around(cursor, snapshot.legs.len(), room.into());
    for (y, (at, leg)) in (1..=room).zip(snapshot.legs.iter().enumerate().skip(top)) {
        draw_row(pen, y, leg, snapshot.now);
        if at == cursor {
            pen.shade(y, pen.theme.chosen());
        }
    }
    let faint = pen.theme.faint();
    let says = format!("the last {} of {} legs; duties meant, in per cent", snapshot.legs.len(), snapshot.leg_count);
    pen.put(0, room + 1, &says, faint);
    pen.put_wrapped(0, room + 2, 2, &reaction_words(snapshot), faint);
}

/// How long a press takes to reach the wire, or how to measure it.
fn reaction_words(snapshot: &Snapshot) -> String {
    let ms = |time: Nanos| format!("{:.0}", time as f64 / 1e6);
    match snapshot.reaction {
        None => {
            "Tap r together with a button of the panel, 20 times: that measures how long a press takes to reach the \
                 wire."
                .to_owned()
        }
        Some(found) => format!(
            "From press to wire: {} ms (median of {} taps; eight in ten within {} to {} ms). Two hands differ by 10 to \
             30 ms themselves; {}.",
            ms(found.median),
            found.taps,
            ms(found.low),
            ms(found.high),
            if found.taps < 20 { "go on to 20 taps" } else { "20 taps are enough" }
        ),
    }
}

fn draw_row(pen: &mut Pen, y: u16, leg: &Leg, now: Nanos) {
    let lasted = clock::length(leg.ends.unwrap_or(now).saturating_sub(leg.begins));
    let [fl, fr, rl, rr] = leg.meant.map(|duty| motion::duty(duty).replace(" %", ""));
    let begins = clock::at(leg.begins);
    let cells = [&begins, &lasted, &leg.name, &fl, &fr, &rl, &rr, ended(leg.end)];
    put_columns(pen, y, cells, Style::new());
}

/// Time, length and duties end at their right edge; the move gets the room that is left.
fn put_columns(pen: &mut Pen, y: u16, cells: [&str; 8], style: Style) {
    let name = pen.width().saturating_sub(61).clamp(10, 40);
    let widths = [10, 11, name, 5, 5, 5, 5, 14];
    let gaps = [0, 0, 2, 1, 1, 1, 1, 2];
    let mut x = 0;
    for (at, ((text, cells), gap)) in cells.into_iter().zip(widths).zip(gaps).enumerate() {
        let mut column = pen.part(x + gap, y, cells, 1);
        if matches!(at, 1 | 3..=6) {
            column.put_right(0, text, style);
        } else {
            column.put(0, 0, text, style);
        }
        x += gap + cells;
    }
}
