//! The page of the wheel check: one question at a time, large; what the answers come to; the repair.

mod floor;
mod result;
mod sheet;
mod tiles;
mod words;

use crate::console::Console;
use crate::console::pen::Pen;
use crate::console::sheet::Sheet;
use crate::console::text_fit::wrap;
use crate::console::view::large_blocks::HEIGHT;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{Ask, Check, CheckReport, Remark};

/// Rows kept free for the ranking: its heading and two of its lines.
const RANKING: u16 = 3;

/// Draws the page.
pub fn draw(console: &mut Console, pen: &mut Pen, snapshot: &Snapshot) {
    let check = &snapshot.check;
    if console.check.sheet {
        return sheet::draw(pen, snapshot, &mut console.scroll);
    }
    match &check.ask {
        Ask::NoRover => text(pen, console, &words::NO_ROVER),
        Ask::Prepare => text(pen, console, &words::PREPARE),
        ask => match check.report.as_deref() {
            Some(report) if shows_result(ask, report) => result::draw(pen, check, report, console),
            Some(report) => question(pen, check, report, console),
            None => {}
        },
    }
}

/// The result stands until the next move is ordered on the panel.
fn shows_result(ask: &Ask, report: &CheckReport) -> bool {
    let watching = match ask {
        Ask::Wheels(watched) | Ask::Floor(watched) => watched.ordered.is_some(),
        _ => false,
    };
    let found = report.diagnosed.as_ref().is_some_and(|found| !found.wrong.is_empty());
    // What was exchanged to tell more has to be watched first.
    let just = report.sheet.said.last().is_some_and(|entry| matches!(entry.remark, Remark::Exchange(_)));
    let to_watch = just && !report.exchanged.is_empty();
    !watching && !to_watch && (found || report.accepted)
}

/// A page of plain words; the last key's words come first.
fn text(pen: &mut Pen, console: &mut Console, rows: &[(bool, &str)]) {
    let mut sheet = Sheet::new(pen.width());
    let (alarm, plain) = (pen.theme.strong(), ratatui::style::Style::new());
    for (strong, row) in rows {
        sheet.text(0, row, if *strong { alarm } else { plain });
    }
    sheet.draw(pen, &mut console.scroll);
}

/// Instruction, picture, what to press, a caution, and what fits so far.
fn question(pen: &mut Pen, check: &Check, report: &CheckReport, console: &mut Console) {
    let parts = console.check.parts(&check.ask).to_vec();
    let (strong, alarm) = (pen.theme.strong(), pen.theme.alarm());
    let (instruction, prompt) = (words::instruction(check, report), words::prompt(check, &parts));
    let caution = words::caution(&console.check, check, report);
    let width = usize::from(pen.width());
    let rows: usize = [&instruction, &prompt, &caution].iter().map(|text| wrap(text, width).len()).sum();
    // What is said is shown whole, and of the ranking its heading and two rows at least; the picture has the rest.
    let room = pen.height().saturating_sub(rows as u16 + RANKING);
    if pen.width() < 72 || room < picture_rows(&check.ask) {
        return question_in_words(pen, check, report, console);
    }
    let mut y = pen.put_wrapped(0, 0, u16::MAX, &instruction, strong);
    y += match &check.ask {
        Ask::Order(watched) | Ask::Wheels(watched) => {
            tiles::draw_wheels(&mut pen.rows(y, room), check, watched, &parts)
        }
        Ask::Floor(watched) => floor::draw(&mut pen.rows(y, room), watched, &parts),
        Ask::Rollers => tiles::draw_rollers(&mut pen.rows(y, room), &parts),
        _ => 0,
    };
    y = pen.put_wrapped(0, y, u16::MAX, &prompt, strong);
    y = pen.put_wrapped(0, y, u16::MAX, &caution, alarm);
    draw_ranking(&mut pen.rows(y, pen.height()), report);
}

/// The fewest rows of a question's picture.
const fn picture_rows(ask: &Ask) -> u16 {
    match ask {
        Ask::Order(_) | Ask::Wheels(_) | Ask::Rollers => 2 * HEIGHT,
        Ask::Floor(_) => floor::ROWS,
        _ => 0,
    }
}

fn draw_ranking(pen: &mut Pen, report: &CheckReport) {
    let strong = pen.theme.strong();
    let title = "what fits so far";
    let room = usize::from(pen.width()).saturating_sub(title.len() + 1);
    pen.heading(title, &words::progress(report, room));
    let mut y = 1;
    for [share, words] in &report.ranking {
        pen.put(0, y, &format!("{share:>9}"), strong);
        // The likeliest is shown whole where that leaves a row for the next.
        let room = if pen.height() > 6 || (y == 1 && pen.height() > 3) { 2 } else { 1 };
        let next =
            pen.part(11, 0, pen.width(), pen.height()).put_wrapped(0, y, room, words, ratatui::style::Style::new());
        y = next.max(y + 1);
    }
    for line in report.exchanged.iter().map(|(_, words)| words) {
        pen.put(0, y, &format!("exchanged for the test: {line}; i puts it back"), strong);
        y += 1;
    }
}

/// The same for a small screen.
fn question_in_words(pen: &mut Pen, check: &Check, report: &CheckReport, console: &mut Console) {
    let parts = console.check.parts(&check.ask).to_vec();
    let (strong, alarm, plain) = (pen.theme.strong(), pen.theme.alarm(), ratatui::style::Style::new());
    let mut sheet = Sheet::new(pen.width());
    sheet.text(0, &words::instruction(check, report), strong);
    sheet.text(0, &words::prompt(check, &parts), strong);
    for row in words::picture(&check.ask, &parts) {
        sheet.text(0, &row, plain);
    }
    sheet.text(0, &words::caution(&console.check, check, report), alarm);
    sheet.text(0, &format!("what fits so far ({}):", words::progress(report, usize::MAX)), strong);
    for [share, words] in &report.ranking {
        sheet.text(0, &format!("{share}: {words}"), plain);
    }
    sheet.draw(pen, &mut console.scroll);
}
