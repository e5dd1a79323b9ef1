//! Times and loads: gaps, answer delays, what a receive buffer would have dropped, and tries that notes count.

use ratatui::style::Style;
use wheeltap_parsers::{Nanos, Wire};

use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::times::{KindTimes, Quantiles, Times};

/// Draws the page.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let times = &snapshot.times;
    let mut sheet = Sheet::new(pen.width());
    let strong = pen.theme.strong();
    table(&mut sheet, times, strong);
    sheet.gap();
    for line in rhythms(times).into_iter().chain(tap(snapshot)).chain(loads(times)) {
        sheet.text(0, &line, Style::new());
    }
    sheet.gap();
    for line in not_read(times).into_iter().chain(tries(times)) {
        sheet.text(0, &line, Style::new());
    }
    sheet.draw(pen, scroll);
}

/// Cells of the first column, of the counts, of each time.
const CELLS: (usize, usize, usize) = (21, 8, 12);

fn table(sheet: &mut Sheet, times: &Times, strong: Style) {
    let (first, count, cells) = CELLS;
    let mut rows: Vec<(String, Quantiles)> = Vec::new();
    for kind in times.rows() {
        rows.extend(kind.gaps.map(|gaps| (format!("{} {}", kind.wire.symbol(), kind.name), gaps)));
    }
    rows.extend(times.answers.map(|answers| ("order to answer".to_owned(), answers)));
    rows.extend(times.lapse_reports.map(|reports| ("order to its lapse".to_owned(), reports)));
    if rows.is_empty() {
        sheet.text(0, "Nothing to time yet: two frames that a rover file explains are needed.", strong);
        return;
    }
    let head = format!(
        "{:<first$}{:>count$}{:>cells$}{:>cells$}{:>cells$}{:>cells$}",
        "from one to the next", "times", "p50 ms", "p95 ms", "p99.9 ms", "longest ms"
    );
    sheet.drawing(&head, strong);
    for (name, times) in rows {
        let name: String = name.chars().take(first - 1).collect();
        let [a, b, c, d] = [times.half, times.most, times.nearly_all, times.longest].map(range);
        let row = format!("{name:<first$}{:>count$}{a:>cells$}{b:>cells$}{c:>cells$}{d:>cells$}", times.count);
        sheet.drawing(&row, Style::new());
    }
    sheet.text(0, "Two numbers: not below the first, not above the second. The tap cannot tell finer.", Style::new());
}

/// Two ends in milliseconds; one where they are the same.
fn range([lo, hi]: [Nanos; 2]) -> String {
    let (low, high) = (short(lo), short(hi));
    if low == high { low } else { format!("{low}-{high}") }
}

fn short(time: Nanos) -> String {
    let ms = time as f64 / 1e6;
    if ms < 99.95 { format!("{ms:.1}") } else { format!("{ms:.0}") }
}

fn rhythms(times: &Times) -> Vec<String> {
    let words = |kind: &KindTimes| {
        let late = match (kind.late, kind.possibly_late) {
            (0, 0) => "none late".to_owned(),
            (late, possibly) => format!("{late} late, {possibly} more possibly"),
        };
        format!("{} {}: {}; {late}.", kind.wire.symbol(), kind.name, kind.rhythm)
    };
    let mut lines: Vec<String> = times.rows().map(words).collect();
    if times.numbered {
        let judged = match times.not_judged {
            0 => String::new(),
            count => format!("; {count} cannot be judged, for something on the wire back was damaged or unheard"),
        };
        lines.push(format!("Orders without an answer in two seconds: {}{judged}.", times.no_answer));
    }
    if times.bunched > 0 {
        lines.push(format!("Stalls that ended in a bunch: {}.", times.bunched));
    }
    lines
}

/// What is the tap's own and no fault of the rover.
fn tap(snapshot: &Snapshot) -> Vec<String> {
    let times = &snapshot.times;
    let together: u64 = times.together.iter().sum();
    let asleep: u64 = times.asleep.iter().sum();
    let mut lines = Vec::new();
    if let Some(resolution) = snapshot.resolution {
        lines.push(format!("The tap's resolution is {} ms: nothing shorter is flagged.", short(resolution)));
    }
    if together > 0 {
        lines.push(format!("Handed over together by the adapter, which is no fault: {together} frames."));
    }
    if asleep > 0 {
        let longest = short(times.longest_sleep);
        lines.push(format!(
            "The tap itself was asleep, {longest} ms at the longest, and judged nothing across it: {asleep}."
        ));
    }
    lines
}

fn loads(times: &Times) -> Vec<String> {
    let percent = |share: u32| format!("{}.{} %", share / 10, share % 10);
    let line = |wire: Wire| {
        let load = times.load[wire.index()]?;
        let [mean, most] = [load.mean, load.busiest_second].map(percent);
        Some(format!("Load of wire {}: {mean}, in its busiest second {most}.", wire.symbol()))
    };
    Wire::BOTH.into_iter().filter_map(line).collect()
}

fn not_read(times: &Times) -> Vec<String> {
    if times.not_read.is_empty() {
        return Vec::new();
    }
    let each = times.not_read.iter().map(|not| {
        let [lo, hi] = not.dropped;
        let dropped = if lo == hi { lo.to_string() } else { format!("{lo} to {hi}") };
        format!("{} ms: {dropped}", not.ms)
    });
    let each: Vec<String> = each.collect();
    vec![format!(
        "Bytes lost if the drive board had not read its buffer of {} bytes at the worst moment, for {}.",
        times.buffer,
        each.join("; ")
    )]
}

fn tries(times: &Times) -> Vec<String> {
    let mut lines: Vec<String> = times
        .tries
        .iter()
        .map(|tries| {
            let allows = tries.still_allows.div_ceil(10);
            format!(
                "Tried {}: {} bad in {}. That still allows up to {allows} % (95 %).",
                tries.what, tries.failed, tries.tries
            )
        })
        .collect();
    if times.tries_not_understood > 0 {
        lines.push(format!("Notes that begin with try and were not understood: {}.", times.tries_not_understood));
    }
    lines.push("Count your tries in notes: \"try wire pull: good\" or \"try wire pull: bad\".".to_owned());
    lines
}
