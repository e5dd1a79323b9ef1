//! What this link cannot show: each rule that cannot judge, what it looks for, the field that would allow it.

use ratatui::style::Style;

use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::Snapshot;
use crate::findings::NotJudged;

/// Draws the page.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let mut sheet = Sheet::new(pen.width());
    let strong = pen.theme.strong();
    sheet.text(0, &format!("This link: {}.", snapshot.link), Style::new());
    sheet.text(0, ALWAYS, Style::new());
    sheet.gap();
    match snapshot.not_judged.len() {
        0 => sheet.text(0, "Every rule can judge on this link.", strong),
        n => sheet.text(0, &format!("Rules that cannot judge here, and so neither accuse nor clear: {n}."), strong),
    }
    for rule in &snapshot.not_judged {
        sheet.gap();
        add(&mut sheet, pen, rule);
    }
    elsewhere(&mut sheet, pen);
    sheet.draw(pen, scroll);
}

/// Questions that no page answers, and what does.
fn elsewhere(sheet: &mut Sheet, pen: &Pen) {
    sheet.gap();
    sheet.text(0, "Asked elsewhere", pen.theme.heading());
    for text in ELSEWHERE {
        sheet.text(2, text, Style::new());
    }
}

const ELSEWHERE: [&str; 7] = [
    "Which line rate is it: wheeltap listen PORT --rate find.",
    "Which duty just moves a wheel: no link tells. Wheels up, raise the duty step by step, note where each one starts (n).",
    "Does the picture slow the driving: record once without it and once with it, then wheeltap compare.",
    "Would damaged orders be obeyed: wheeltap decode SESSION --strength.",
    "What changed since it worked: wheeltap compare BEFORE AFTER.",
    "Drive the bad ten seconds again: not with wheeltap, it sends nothing. Replayed, j goes round between two notes.",
    "What to send to a helper: wheeltap bundle SESSION.",
];

const ALWAYS: &str = "No link shows whether a wheel turned, how its rollers sit, heat, a hum, or the radio. \
    Those need a person's eyes and ears.";

fn add(sheet: &mut Sheet, pen: &Pen, rule: &NotJudged) {
    sheet.text(0, &format!("{} {}", pen.theme.pick("▹", "-"), rule.id), pen.theme.strong());
    sheet.text(2, &format!("looks for: {}", rule.looks_for), Style::new());
    let lacks: Vec<_> = rule.lacks.iter().map(|need| need.says()).collect();
    sheet.text(2, &format!("would be allowed by: {}", lacks.join("; and ")), pen.theme.meant());
}
