//! The wheel sheet: what is proven of each move and what is only claimed, and every remark as it stands in the session.

use ratatui::style::Style;

use super::words;
use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{Check, CheckReport, Heading, Proof};
use crate::rover::wheels::Wheel;

/// What is said where the wheels' pins were recorded.
const AT_PINS: &str = "Seen here means by a person. What was seen at the pins does not count in this sheet: \
                       `wheeltap diagnose FILE --rover ROVER` takes it, move by move.";

/// Draws it.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let check = &snapshot.check;
    let mut sheet = Sheet::new(pen.width());
    let (strong, alarm) = (pen.theme.strong(), pen.theme.alarm());
    match check.report.as_deref() {
        Some(report) => add(&mut sheet, check, report, strong),
        None => sheet.text(0, "No wheel sheet in this session yet.", strong),
    }
    if snapshot.wheels.iter().any(|wheel| wheel.seen.is_some()) {
        sheet.text(0, AT_PINS, strong);
    }
    for row in words::corrections(check) {
        sheet.text(0, &row, Style::new());
    }
    for line in &check.not_read {
        sheet.text(0, &format!("cannot be read: {line}"), alarm);
    }
    sheet.text(0, "v goes back to the question.", strong);
    sheet.draw(pen, scroll);
}

fn add(sheet: &mut Sheet, check: &Check, report: &CheckReport, strong: Style) {
    let Heading { tape, version, firmware, change, rover } = &report.sheet.heading;
    let or = |text: &str| if text.is_empty() { "not heard".to_owned() } else { text.to_owned() };
    let tape = if *tape { "tape on" } else { "no tape" };
    sheet.text(
        0,
        &format!("Wheel sheet {}: {rover}, file version {version}, firmware {}, {tape}", report.number, or(firmware)),
        strong,
    );
    sheet.pair("made after", change, Style::new());
    for (row, proof) in report.proofs.iter().enumerate() {
        sheet.text(2, &format!("{:<18}{}", check.moves.name(row), proof_words(*proof)), Style::new());
    }
    sheet.text(0, "as it stands in the session:", strong);
    for line in &report.lines {
        sheet.text(2, line, Style::new());
    }
    for why in &report.refused {
        sheet.text(2, &format!("not taken: {why}"), strong);
    }
}

/// `proven`, `claimed by the rover file, not seen`, or how each wheel was seen.
fn proof_words(proof: Proof) -> String {
    match proof {
        Proof::Claimed => "claimed by the rover file, not seen".to_owned(),
        Proof::Proven(_) => "proven".to_owned(),
        Proof::Partly(seen) | Proof::Otherwise(seen) => {
            let each = Wheel::ALL.map(|wheel| format!("{} {}", wheel.name(), seen[wheel.index()].word()));
            format!("{}: {}", proof.word(), each.join(", "))
        }
    }
}
