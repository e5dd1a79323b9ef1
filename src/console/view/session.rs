//! The whole session on one page: a stretch of time a row, told in words, with a bar for how much stood on the wires.

use std::ops::Range;

use ratatui::style::Style;

use crate::console::Console;
use crate::console::clock;
use crate::console::pen::Pen;
use crate::console::status::{Replay, Status};
use crate::console::text_fit::width;
use crate::engine::snapshot::survey::{SLICES, Slice, Sort, Survey};
use crate::findings::Severity;

/// Cells of the bar.
const BAR: u16 = 12;

/// Draws the page.
pub fn draw(console: &mut Console, pen: &mut Pen, status: &Status) {
    let Some(replay) = &status.replay else {
        pen.put_wrapped(0, 0, 3, "The whole session can be seen in a replay: wheeltap replay FILE.", Style::new());
        return;
    };
    let survey = &replay.survey;
    pen.heading("session", &heading(survey));
    let below = below(survey);
    let room = usize::from(pen.height().saturating_sub(2));
    let under = below.len().min(room / 3);
    console.session_rows = room.saturating_sub(under).clamp(1, SLICES);
    draw_rows(console, pen, replay);
    let first = console.session_rows as u16 + 1;
    // Where not all of it fits, and there is room for both, the last row says so.
    let cut = below.len() > under && under > 1;
    let shown = under - usize::from(cut);
    console.scroll.fit(below.len(), shown);
    let top = console.scroll.top;
    for (y, (text, style)) in (first..).zip(below.iter().skip(top).take(shown)) {
        pen.put(0, y, text, if *style { pen.theme.strong() } else { Style::new() });
    }
    if cut {
        let more = format!("{} to {} of {}: PageUp PageDown", top + 1, top + shown, below.len());
        pen.put(0, first + shown as u16, &more, pen.theme.faint());
    }
}

fn heading(survey: &Survey) -> String {
    let length = clock::length(survey.ends.saturating_sub(survey.begins));
    let read =
        if survey.is_whole() { String::new() } else { format!(", read to {}", clock::at_second(survey.read_to)) };
    let findings = match survey.findings.len() {
        0 => None,
        1 => Some("1 finding".to_owned()),
        more => Some(format!("{more} findings")),
    };
    let others = [Sort::Damage, Sort::Note, Sort::Silence, Sort::Leg];
    let others = others.iter().map(|sort| counted(survey.totals[sort.index()], *sort));
    let totals: Vec<String> = findings.into_iter().chain(others.filter(|text| !text.is_empty())).collect();
    format!("{length}{read}: {}", if totals.is_empty() { "nothing yet".to_owned() } else { totals.join(", ") })
}

/// `3 silences`; empty for none.
fn counted(count: u64, sort: Sort) -> String {
    let word = sort.word();
    match (count, sort) {
        (0, _) => String::new(),
        (_, Sort::Damage) => format!("{count} damaged"),
        // One finding has many places, and a row knows the places only.
        (1, Sort::Finding) => "findings at 1 place".to_owned(),
        (_, Sort::Finding) => format!("findings at {count} places"),
        (1, _) => format!("{count} {word}"),
        _ => format!("{count} {word}s"),
    }
}

/// What stands below the rows: damaged lines of the file, what another rover file changed, then the findings, each with whether it is bad.
fn below(survey: &Survey) -> Vec<(String, bool)> {
    let damaged = survey.damaged_lines.iter().map(|line| (format!("damaged in the file: {line}"), true));
    let changes = survey.changes.iter().map(|change| (format!("with this rover file {change}"), true));
    let findings = survey.findings.iter().map(|found| {
        let at = clock::at_second(found.first);
        (format!("{} {} from {at}: {}", found.severity.id(), found.id, found.says), found.severity <= Severity::Fault)
    });
    damaged.chain(changes).chain(findings).collect()
}

fn draw_rows(console: &mut Console, pen: &mut Pen, replay: &Replay) {
    let survey = &replay.survey;
    let rows = console.session_rows;
    let all: Vec<Slice> = (0..rows).map(|row| survey.sum(console.slices_at(row))).collect();
    let busiest = (0..rows).map(|row| survey.bytes(console.slices_at(row))).max().unwrap_or(0).max(1);
    let here = survey.slice_of(replay.position);
    console.session_here = (0..rows).find(|row| console.slices_at(*row).contains(&here)).unwrap_or(0);
    let times = width(&clock::at(survey.ends));
    let cursor = console.session_row.unwrap_or(console.session_here).min(rows.saturating_sub(1));
    for (row, slice) in all.iter().enumerate() {
        let y = row as u16 + 1;
        let slices = console.slices_at(row);
        draw_row(pen, y, survey, slices, slice, (busiest, times));
        let mark = if row == console.session_here { pen.theme.pick("▶", ">") } else { " " };
        pen.put(0, y, mark, pen.theme.strong());
        if row == cursor {
            pen.put(1, y, pen.theme.pick("»", "*"), pen.theme.strong());
            pen.shade(y, pen.theme.chosen());
        }
    }
}

/// `busiest` is the most bytes of any row, `times` the width of the widest time.
fn draw_row(
    pen: &mut Pen,
    y: u16,
    survey: &Survey,
    slices: Range<usize>,
    slice: &Slice,
    (busiest, times): (u64, usize),
) {
    let (begin, end) = (survey.begin_of(slices.start), survey.begin_of(slices.end));
    let x = pen.put(2, y, &format!("{:>times$}", clock::at(begin)), pen.theme.faint()) + 1;
    let cells = (survey.bytes(slices) * u64::from(BAR)).div_ceil(busiest) as u16;
    pen.line(x, y, x + cells.min(BAR), pen.theme.pick("▒", "="), pen.theme.faint());
    if begin > survey.read_to {
        let x = if cells == 0 { x } else { x + BAR + 1 };
        pen.put(x, y, "not read yet", pen.theme.faint());
        return;
    }
    words(pen, x + BAR + 1, y, survey, (begin, end), slice);
}

/// Counts of each sort, then the first note.
fn words(pen: &mut Pen, mut x: u16, y: u16, survey: &Survey, span: (i64, i64), slice: &Slice) {
    for sort in [Sort::Finding, Sort::Damage, Sort::Silence, Sort::Leg] {
        let text = counted(u64::from(slice.places[sort.index()]), sort);
        let style = if matches!(sort, Sort::Finding | Sort::Damage) { pen.theme.alarm() } else { Style::new() };
        let room = usize::from(pen.width().saturating_sub(x));
        if !text.is_empty() && width(&text) <= room {
            x = pen.put(x, y, &text, style) + 2;
        }
    }
    let inside = |at: i64| at >= span.0 && (at < span.1 || span.1 == survey.ends);
    let mut notes = survey.notes.iter().filter(|(at, _)| inside(*at));
    if let Some((_, text)) = notes.next() {
        let more = notes.count();
        let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
        pen.put(x, y, &format!("note: {text}{more}"), pen.theme.seen());
    }
}

impl Console {
    /// The slices of one row of the page.
    pub(in crate::console) fn slices_at(&self, row: usize) -> Range<usize> {
        let rows = self.session_rows.max(1);
        row * SLICES / rows..((row + 1) * SLICES / rows).min(SLICES)
    }
}
