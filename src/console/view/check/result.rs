//! The finishing lines: what is wrong and how to put it right, or that every move was seen as meant.

use ratatui::style::Style;

use super::words;
use crate::console::Console;
use crate::console::pen::Pen;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::wheel_check::{Check, CheckReport, Diagnosed, Slide};

/// Draws it.
pub fn draw(pen: &mut Pen, check: &Check, report: &CheckReport, console: &mut Console) {
    let mut sheet = Sheet::new(pen.width());
    let (strong, alarm) = (pen.theme.strong(), pen.theme.alarm());
    if !console.check.says().is_empty() {
        sheet.text(0, console.check.says(), alarm);
    }
    match report.diagnosed.as_ref().filter(|found| !found.wrong.is_empty()) {
        Some(found) => repair(&mut sheet, report, found, [strong, alarm]),
        None => accepted(&mut sheet, report, strong),
    }
    if let Some(next) = report.next.as_ref().filter(|_| !report.accepted) {
        let says = format!("Or test on, without a change: {} ({}).", next.says, next.why);
        sheet.text(0, &says, Style::new());
    }
    for line in &report.doubtful {
        sheet.text(
            0,
            &format!("Does not fit the other answers: {line}. Order that move again; or t doubts it."),
            alarm,
        );
    }
    for row in words::corrections(check) {
        sheet.text(0, &row, Style::new());
    }
    sheet.draw(pen, &mut console.scroll);
}

fn repair(sheet: &mut Sheet, report: &CheckReport, found: &Diagnosed, [strong, alarm]: [Style; 2]) {
    let plain = Style::new();
    sheet.text(0, &format!("DIAGNOSED ({}): {}", found.share, found.wrong), strong);
    if let Some((_, back)) = report.exchanged.last() {
        let says =
            format!("PUT BACK FIRST what was exchanged for the test: pull the pack's plug, {back}, then press i.");
        return sheet.text(0, &says, alarm);
    }
    let exchange = found.exchange.as_ref().map(|(_, exchange)| {
        format!("pull the pack's plug, let the drivers cool, {exchange}, plug the pack in, then press i and test on")
    });
    if let (true, Some(exchange)) = (found.look_alikes, &exchange) {
        sheet.text(0, "These look the same in every move and are put right in different places.", plain);
        sheet.text(0, &format!("TELL APART FIRST: {exchange}."), strong);
    }
    sheet.pair("FIRST", &found.first, alarm);
    sheet.pair("CHANGE, this one only", &found.change, strong);
    sheet.pair("BUT", &found.warning, plain);
    sheet.pair("PROOF", &found.proof, plain);
    sheet.pair("THEN", &found.then, plain);
    let listed = found.rarer.join("; ");
    let more = match found.rarer_not_listed {
        0 => String::new(),
        more => format!("; and {more} rarer still"),
    };
    if !listed.is_empty() {
        let says = format!("{listed}{more}. Should the change not help, test again: the proof then tells them apart.");
        sheet.pair("FAR LESS LIKELY, but it would look the same", &says, plain);
    }
    sheet.text(0, "Press p when the change is made: a new sheet begins, and the proof with it.", strong);
    sheet.pair("To tell what looks alike apart", &found.split, plain);
    if let (false, Some(exchange)) = (found.look_alikes, &exchange) {
        sheet.text(
            0,
            &format!("To tell the motor's side from the driver's before you change anything: {exchange}."),
            plain,
        );
    }
}

fn accepted(sheet: &mut Sheet, report: &CheckReport, strong: Style) {
    sheet.text(0, "ACCEPTED: every move was seen, and each wheel turned as meant.", strong);
    let share = report.ranking.first().map(|[share, words]| format!("{share}: {words}")).unwrap_or_default();
    sheet.text(0, &share, Style::new());
    let slide = match (report.slide, &report.next) {
        (Slide::AsMeant, _) => {
            "The slide on the floor went to the left, without a turn: the rollers grip as they should.".to_owned()
        }
        (_, Some(next)) => format!(
            "LAST PROOF: rest, put the rover down with two metres free all round, hands clear of its way. Then {}: \
             {}. Answer here where it went; s leaves it out.",
            next.says, next.why
        ),
        (_, None) => "No slide was tried on the floor: how the rollers grip is not proven.".to_owned(),
    };
    sheet.text(0, &slide, Style::new());
    sheet.text(
        0,
        "Other moves may be driven now; nothing is asked of them. u takes the last answer back.",
        Style::new(),
    );
    sheet.text(
        0,
        "The sheet stands in the session; v shows it. A later session can be compared with it.",
        Style::new(),
    );
}
