//! The questions a person at the bench, on the floor and at the desk asks, and where the answer stands: within two keys
//! on the console, or it is said which field or verb would give it.
//!
//! The links are made by hand from their formats (`catalogue/hand_made.rs`), or are the shipped evening and the two-chip
//! log, whose truth stands in `incident/truth.json` and in `logs/README.md`. Wheel signs and duties come from the mixer's
//! equations (ISO 8855 axes, X rollers), worked out beside each.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "questions/asked.rs"]
mod asked;
#[allow(dead_code, reason = "the catalogue uses all of it")]
#[path = "catalogue/hand_made.rs"]
mod hand_made;
#[path = "questions/scenes.rs"]
mod scenes;

use asked::{QUESTIONS, Question};
use crossterm::event::{KeyCode, KeyEvent};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use wheeltap::console::status::Status;
use wheeltap::console::{Console, Theme};
use wheeltap::engine::snapshot::Snapshot;

/// The screen behind these keys, its rows without what frames them.
fn screen(snapshot: &Snapshot, keys: &str, (columns, rows): (u16, u16)) -> String {
    let status = Status::default();
    let mut console = Console::new(Theme::default());
    let mut terminal = Terminal::new(TestBackend::new(columns, rows)).unwrap();
    let mut draw = |console: &mut Console| {
        terminal.draw(|frame| console.draw(frame, snapshot, &status)).unwrap();
    };
    draw(&mut console);
    for key in keys.chars() {
        drop(console.key(KeyEvent::from(KeyCode::Char(key)), snapshot, &status));
        draw(&mut console);
    }
    let shown = terminal.backend().to_string();
    shown.lines().map(|row| row.trim_matches('"').trim_end()).collect::<Vec<_>>().join("\n")
}

/// What a person reads: a sentence that is wrapped in a pane goes on in the same pane, so each word is sought in the rows
/// from the first one on.
fn reads(screen: &str, sentence: &str) -> bool {
    let rows: Vec<&str> = screen.lines().collect();
    let mut words = sentence.split(' ').peekable();
    let Some(first) = words.peek() else { return true };
    let starts: Vec<(usize, usize)> =
        rows.iter().enumerate().flat_map(|(y, row)| row.match_indices(first).map(move |(x, _)| (y, x))).collect();
    starts.into_iter().any(|start| follows(&rows, start, sentence))
}

/// The sentence stands from here on: each word one space behind the one before it, or in the row below.
fn follows(rows: &[&str], (mut y, mut x): (usize, usize), sentence: &str) -> bool {
    let mut first = true;
    for word in sentence.split(' ') {
        let here = rows.get(y).and_then(|row| row.get(x..)).unwrap_or_default();
        let skipped = here.trim_start();
        let gap = here.len() - skipped.len();
        if skipped.starts_with(word) && (first || gap == 1) {
            x += gap + word.len();
        } else {
            y += 1;
            let Some(at) = rows.get(y).and_then(|row| row.find(word)) else { return false };
            x = at + word.len();
        }
        first = false;
    }
    true
}

fn wrongs(question: &Question, size: (u16, u16)) -> Vec<String> {
    let snapshot = (question.scene)();
    let screen = screen(&snapshot, question.keys, size);
    let missing = question.stands.iter().filter(|words| !reads(&screen, words));
    missing
        .map(|words| format!("{}. {} ({}): no `{words}` in\n{screen}", question.number, question.asks, question.keys))
        .collect()
}

#[test]
fn every_question_is_answered_within_two_keys() {
    let mut all = Vec::new();
    for question in QUESTIONS {
        assert!(question.keys.len() <= 2, "{}: more than two keys", question.number);
        assert!(!question.stands.is_empty(), "{}: nothing is looked for", question.number);
        for size in [(120, 40), (80, 24)] {
            all.extend(wrongs(question, size));
        }
        let keys = if question.keys.is_empty() { "none" } else { question.keys };
        println!(
            "{:>2}  {:<48} {keys:<5} {:<24} {}",
            question.number,
            question.asks,
            question.place,
            question.stands.join(" / ")
        );
    }
    assert!(all.is_empty(), "{} answers are not there:\n{}", all.len(), all.join("\n"));
    let numbers: Vec<u32> = QUESTIONS.iter().map(|question| question.number).collect();
    assert_eq!(numbers, (1..=25).collect::<Vec<u32>>());
}

/// A sound rover answers none of them with a fault: the same keys on a clean link show none of the accusing words.
#[test]
fn the_looking_can_fail() {
    let clean = scenes::letter_good();
    for question in QUESTIONS.iter().filter(|question| question.accuses) {
        let screen = screen(&clean, question.keys, (120, 40));
        let said = question.stands.iter().all(|words| reads(&screen, words));
        assert!(!said, "{}: a clean link shows it too:\n{screen}", question.number);
    }
    assert!(reads("a wrong\nwheel", "wrong wheel") && !reads("a wrong\nwheel", "wheel wrong"));
    assert!(!reads("wrong  wheel", "wrong wheel"), "two panes are two sentences");
}
