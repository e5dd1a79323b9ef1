//! Findings, worst first: a pane of single rows, and a page with one of them whole.

use ratatui::style::Style;

use crate::console::Console;
use crate::console::clock;
use crate::console::pen::Pen;
use crate::console::scroll;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::Snapshot;
use crate::findings::attribution::verdict::Verdict;
use crate::findings::{Evidence, Finding, Severity};

/// Draws the pane: the worst finding over as many rows as it needs, then the others; with room, what to do as well.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot) {
    let (height, all) = (pen.height(), &snapshot.findings);
    let headed = height >= 3;
    if headed {
        pen.heading("findings, worst first", &aside(snapshot));
    }
    let mut y = u16::from(headed);
    if all.is_empty() {
        pen.put_wrapped(0, y, 2, &nothing(snapshot), pen.theme.faint());
    }
    let roomy = usize::from(height) > 3 * all.len();
    for (at, finding) in all.iter().enumerate().take(height.into()) {
        let rows = if at == 0 || roomy { 3 } else { 1 };
        let place = if headed || all.len() == 1 { String::new() } else { format!("1 of {}: ", all.len()) };
        y = draw_one(pen, y, rows.min(height.saturating_sub(y)), &place, finding);
        let spare = usize::from(height.saturating_sub(y)).saturating_sub(all.len() - 1);
        if at == 0 && spare > 0 {
            let text = format!("what to do: {}", finding.what_to_do);
            y = pen.put_wrapped(WORDS, y, spare.min(2) as u16, &text, Style::new());
        }
    }
}

/// Rows with which every finding can be told, the worst with what to do.
pub fn rows_wanted(snapshot: &Snapshot) -> u16 {
    let all = u16::try_from(snapshot.findings.len()).unwrap_or(u16::MAX);
    all.saturating_add(3)
}

/// Cells in front of the sentence.
const WORDS: u16 = 10;

/// Symbol, severity, wheel, sentence (which has its own numbers); returns the row below.
fn draw_one(pen: &mut Pen, y: u16, rows: u16, place: &str, finding: &Finding) -> u16 {
    if rows == 0 {
        return y;
    }
    let style = pen.theme.severity(finding.severity);
    let x = pen.put(0, y, pen.theme.symbol(finding.severity), style);
    pen.put(x + 1, y, finding.severity.id(), style);
    let wheel = finding.wheel.map(|wheel| format!("{}: ", wheel.name())).unwrap_or_default();
    // Some sentences begin with the wheel themselves.
    let wheel = if finding.says.starts_with(&wheel) { "" } else { &wheel };
    let text = format!("{place}{wheel}{}", finding.says);
    pen.put_wrapped(WORDS, y, rows, &text, pen.theme.strong())
}

fn aside(snapshot: &Snapshot) -> String {
    let found = counts(&snapshot.findings);
    match snapshot.not_judged.len() {
        0 => found,
        n if found.is_empty() => format!("{n} cannot be judged here (c)"),
        n => format!("{found}; {n} cannot be judged here (c)"),
    }
}

fn counts(findings: &[Finding]) -> String {
    let all = [Severity::Danger, Severity::Fault, Severity::Doubt, Severity::Note];
    let count = |severity| findings.iter().filter(|f| f.severity == severity).count();
    let words = |severity: Severity| match count(severity) {
        0 => None,
        1 => Some(format!("1 {}", severity.id())),
        n => Some(format!("{n} {}s", severity.id())),
    };
    all.into_iter().filter_map(words).collect::<Vec<_>>().join(", ")
}

/// Never an all-clear: how many rules could not judge is part of the sentence.
fn nothing(snapshot: &Snapshot) -> String {
    match snapshot.not_judged.len() {
        0 => "nothing found so far".to_owned(),
        1 => "nothing found so far; 1 rule cannot judge on this link (c shows it)".to_owned(),
        n => format!("nothing found so far; {n} rules cannot judge on this link (c shows them)"),
    }
}

/// Draws the page: the list, and the finding at the cursor whole, beside or below it.
pub fn draw_page(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot) {
    let findings = &snapshot.findings;
    let cursor = console.finding_at(findings);
    let Some(finding) = findings.get(cursor) else {
        pen.put_wrapped(0, 0, 3, &nothing(snapshot), pen.theme.strong());
        return;
    };
    let rows = verdict_rows(pen, &snapshot.verdict);
    let (width, height) = (pen.width(), pen.height());
    let pen = &mut pen.part(0, rows, width, height.saturating_sub(rows));
    let height = pen.height();
    let (mut list, whole) = if width >= 110 {
        (pen.part(0, 0, width * 2 / 5, height), (width * 2 / 5 + 2, 0))
    } else {
        let rows = (findings.len() as u16 + 1).min(height / 3);
        (pen.rows(0, rows), (0, rows + 1))
    };
    draw_list(&mut list, findings, cursor);
    let mut rest = pen.part(whole.0, whole.1, width, height);
    rest.heading(finding.id, &format!("{} of {}", cursor + 1, findings.len()));
    let mut page = rest.rows(1, height);
    sheet(&page, finding).draw(&mut page, &mut console.scroll);
}

/// Where to look, on top of the page; returns the rows it took.
fn verdict_rows(pen: &mut Pen, verdict: &Verdict) -> u16 {
    let words = verdict.words();
    let Some(head) = words.first() else { return 0 };
    let most = (pen.height() / 6).max(1);
    let mut y = pen.put_wrapped(0, 0, most, head, pen.theme.strong());
    if pen.height() >= 24 {
        let behind = words.get(1..).unwrap_or_default();
        // What was found besides stands last, and is always shown.
        let also = behind.split_at(behind.len().saturating_sub(usize::from(!verdict.besides.is_empty())));
        for row in also.0.iter().take(3).chain(also.1) {
            y = pen.put_wrapped(0, y, 1, row, Style::new());
        }
    }
    y
}

fn draw_list(pen: &mut Pen, findings: &[Finding], cursor: usize) {
    pen.heading("findings", &counts(findings));
    let room = pen.height().saturating_sub(1);
    let top = scroll::around(cursor, findings.len(), room.into());
    for (y, (at, finding)) in (1..=room).zip(findings.iter().enumerate().skip(top)) {
        draw_one(pen, y, 1, "", finding);
        if at == cursor {
            pen.shade(y, pen.theme.chosen());
        }
    }
}

/// A finding whole.
fn sheet(pen: &Pen, finding: &Finding) -> Sheet {
    let (theme, mut sheet) = (pen.theme, Sheet::new(pen.width()));
    let symbol = theme.symbol(finding.severity);
    let wheel = finding.wheel.map_or_else(String::new, |wheel| format!(", {} {}", wheel.name(), wheel.words()));
    let head = format!(
        "{symbol} {}, {}, cause in: {}{wheel}",
        finding.severity.id(),
        finding.confidence.id(),
        finding.layer.id()
    );
    let (strong, plain) = (theme.strong(), Style::new());
    sheet.text(0, &head, theme.severity(finding.severity));
    sheet.text(0, &finding.says, strong);
    sheet.gap();
    sheet.pair("look-alikes", &finding.not, plain);
    sheet.pair("what to do", &finding.what_to_do, strong);
    sheet.pair("check after", &finding.check_after, plain);
    sheet.gap();
    sheet.text(0, &span(finding), plain);
    for evidence in &finding.evidence {
        sheet.text(2, &place(evidence), plain);
    }
    sheet
}

fn span(finding: &Finding) -> String {
    let (first, last) = (clock::at(finding.first), clock::at(finding.last));
    match finding.count {
        0 | 1 => format!("evidence, once, at {first}:"),
        n => format!("evidence, {n} times, from {first} to {last}; the first, last and worst places:"),
    }
}

fn place(evidence: &Evidence) -> String {
    let (at, wire) = (clock::at(evidence.at), evidence.wire.symbol());
    match evidence.len {
        0 => format!("{at}  wire {wire}, before byte {}", evidence.offset),
        1 => format!("{at}  wire {wire}, byte {}", evidence.offset),
        n => format!("{at}  wire {wire}, byte {}, {n} bytes", evidence.offset),
    }
}
