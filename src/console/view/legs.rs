//! The diary of legs: each move from press to release, in words.

use ratatui::style::Style;

use crate::console::Console;
use crate::console::clock;
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::scroll;
use crate::engine::snapshot::Snapshot;
use crate::rover::wheels::{Leg, LegEnd, per_cent};
use wheeltap_parsers::Nanos;

/// Draws the pane: the last legs, newest at the bottom.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    pen.heading(
        "legs, press to release",
        &format!("{} in all", snapshot.leg_count),
    );
    let room = pen.height().saturating_sub(1);
    if snapshot.legs.is_empty() {
        pen.put(0, 1, "none yet", Style::new());
        return;
    }
    let first = snapshot.legs.len().saturating_sub(room.into());
    let timed = pen.width() >= 44;
    for (y, leg) in (1..).zip(snapshot.legs.iter().skip(first)) {
        let style = if leg.ends.is_none() {
            pen.theme.strong()
        } else {
            Style::new()
        };
        let words = words(leg, snapshot.now);
        let x = if timed {
            pen.put(0, y, &clock::at(leg.begins), pen.theme.faint()) + 2
        } else {
            0
        };
        pen.put(x, y, &words, style);
    }
}

/// A leg as a person would tell it: `to port, 71 %, 1.24 s`.
fn words(leg: &Leg, now: Nanos) -> String {
    let strongest = leg.meant.iter().map(|duty| duty.unsigned_abs()).max();
    let share = per_cent(strongest.unwrap_or(0).try_into().unwrap_or(0));
    let lasted = clock::length(leg.ends.unwrap_or(now).saturating_sub(leg.begins));
    let end = match leg.end {
        LegEnd::Open => " so far",
        LegEnd::Rest | LegEnd::NextMove => "",
        LegEnd::Lapse => ", lapsed",
        LegEnd::Cut => ", cut off",
    };
    format!("{}, {share} %, {lasted}{end}", leg.name)
}

const fn ended(end: LegEnd) -> &'static str {
    match end {
        LegEnd::Open => "lasts",
        LegEnd::Rest => "rest ordered",
        LegEnd::NextMove => "next move, no rest between",
        LegEnd::Lapse => "deadline ran out",
        LegEnd::Cut => "cut off",
    }
}

/// Draws the page of legs with its cursor.
pub fn draw_page(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot) {
    let heading = pen.theme.heading();
    pen.put(
        0,
        0,
        &row_text(
            ["began", "lasted", "FL", "FR", "RL", "RR", "ended by"],
            "move",
        ),
        heading,
    );
    let room = pen.height().saturating_sub(2);
    console.scroll.room = room.into();
    let cursor = console.leg_index(snapshot);
    let top = scroll::around(cursor, snapshot.legs.len(), room.into());
    for (y, (at, leg)) in (1..=room).zip(snapshot.legs.iter().enumerate().skip(top)) {
        pen.put(0, y, &row(leg, snapshot.now), Style::new());
        if at == cursor {
            pen.shade(y, pen.theme.chosen());
        }
    }
    let faint = pen.theme.faint();
    let says = format!(
        "the last {} of {} legs; duties meant, in per cent",
        snapshot.legs.len(),
        snapshot.leg_count
    );
    pen.put(0, room + 1, &says, faint);
}

fn row(leg: &Leg, now: Nanos) -> String {
    let lasted = clock::length(leg.ends.unwrap_or(now).saturating_sub(leg.begins));
    let [fl, fr, rl, rr] = leg.meant.map(|duty| motion::duty(duty).replace(" %", ""));
    let begins = clock::at(leg.begins);
    row_text(
        [&begins, &lasted, &fl, &fr, &rl, &rr, ended(leg.end)],
        &leg.name,
    )
}

fn row_text([begins, lasted, fl, fr, rl, rr, ended]: [&str; 7], name: &str) -> String {
    format!("{begins:<10} {lasted:>12} {fl:>5} {fr:>5} {rl:>5} {rr:>5}  {ended:<27} {name}")
}
