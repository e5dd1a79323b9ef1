//! The wheel check: its pictures, and what its keys come to.
#![cfg(test)]
#![allow(clippy::unwrap_used)]

use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::check_sample::{all, diagnosed, diagonal, floor, order, prepare, rollers, wheels};
use super::key_table::Key;
use super::page::Page;
use super::status::Status;
use super::wish::Wish;
use super::{Console, Theme, sample};
use crate::engine::snapshot::Snapshot;

fn console(theme: Theme) -> Console {
    Console { page: Page::Check, ..Console::new(theme) }
}

fn picture(console: &mut Console, size: (u16, u16), snapshot: &Snapshot) -> String {
    let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
    terminal.draw(|frame| console.draw(frame, snapshot, &sample::recording())).unwrap();
    let buffer = terminal.backend().buffer();
    let row = |y| (0..size.0).map(|x| buffer[(x, y)].symbol()).collect::<String>().trim_end().to_owned();
    (0..size.1).map(row).collect::<Vec<_>>().join("\n")
}

/// Presses keys one after the other on a page in front of this snapshot; the notes that come of it.
fn notes(snapshot: &Snapshot, keys: &[Key]) -> Vec<String> {
    let mut console = console(Theme::default());
    let wishes = keys.iter().filter_map(|key| console.press(*key, snapshot, &Status::default()));
    let note = |wish| if let Wish::Note(text) = wish { text } else { format!("{wish:?}") };
    wishes.map(note).collect()
}

fn digits(text: &str) -> Vec<Key> {
    text.chars().map(Key::Char).collect()
}

#[test]
fn pictures_of_every_question() {
    for (name, snapshot) in all() {
        for size in [(80, 24), (120, 40)] {
            let text = picture(&mut console(Theme::from_env(true, false)), size, &snapshot);
            insta::assert_snapshot!(format!("check_{name}_{}x{}", size.0, size.1), text);
        }
    }
    for (name, snapshot) in [("wheels", wheels()), ("rollers", rollers())] {
        let text = picture(&mut console(Theme::from_env(true, true)), (80, 24), &snapshot);
        assert!(text.is_ascii(), "{text}");
        insta::assert_snapshot!(format!("check_{name}_80x24_ascii"), text);
    }
    let small = picture(&mut console(Theme::from_env(true, false)), (50, 16), &wheels());
    insta::assert_snapshot!("check_wheels_50x16", small);
    let mut on_sheet = console(Theme::from_env(true, false));
    on_sheet.check.sheet = true;
    insta::assert_snapshot!("check_sheet_80x24", picture(&mut on_sheet, (80, 24), &order()));
}

#[test]
fn one_key_a_wheel_makes_one_line_of_the_sheet() {
    assert_eq!(
        notes(&wheels(), &digits("2885")),
        ["seen left at low duty: FL backward FR forward RL forward RR still"]
    );
    assert_eq!(
        notes(&wheels(), &digits("0x82")),
        ["seen left at low duty: FL hums FR not-looked RL forward RR backward"]
    );
    assert_eq!(notes(&rollers(), &digits("1112")), ["seen rollers: FL as-drawn FR as-drawn RL as-drawn RR other-hand"]);
    assert_eq!(
        notes(&floor(), &digits("74")),
        ["seen left at low duty on the floor: went forward-left turned counter-clockwise"]
    );
    assert_eq!(
        notes(&floor(), &digits("3x")),
        ["seen left at low duty on the floor: went backward-right turned not-looked"]
    );
    let begun = notes(&prepare(), &[Key::Enter]);
    assert_eq!(begun, ["seen sheet: tape yes, rover \"Moonwagon\", version \"1.0\", firmware \"2.1\", change \"\""]);
}

#[test]
fn undo_takes_back_a_key_first_and_then_a_remark() {
    let mut keys = digits("28");
    keys.extend([Key::Char('u'), Key::Char('8'), Key::Char('8'), Key::Char('2'), Key::Char('u')]);
    let said = notes(&wheels(), &keys);
    assert_eq!(said, ["seen left at low duty: FL backward FR forward RL forward RR backward", "seen undo: last"]);
}

#[test]
fn keys_that_answer_nothing_say_so_and_write_nothing() {
    assert_eq!(notes(&wheels(), &digits("0000")), [""; 0], "four hums are no answer");
    assert_eq!(notes(&wheels(), &digits("xxxx7")), [""; 0]);
    assert_eq!(notes(&order(), &digits("8")), [""; 0], "nothing is ordered yet");
    assert_eq!(notes(&prepare(), &digits("pisyu")), [""; 0], "nothing has begun");
    let mut page = console(Theme::from_env(true, true));
    for key in digits("0000") {
        page.press(key, &wheels(), &Status::default());
    }
    assert!(picture(&mut page, (80, 24), &wheels()).contains("STOP the order now"));
}

#[test]
fn another_question_drops_half_an_answer() {
    let mut page = console(Theme::default());
    for key in digits("28") {
        assert_eq!(page.press(key, &wheels(), &Status::default()), None);
    }
    let all: Vec<Wish> =
        digits("5885").into_iter().filter_map(|key| page.press(key, &diagonal(), &Status::default())).collect();
    let due = "seen forward-left at low duty: FL still FR forward RL forward RR still";
    assert_eq!(all, [Wish::Note(due.to_owned())]);
}

#[test]
fn skip_repair_exchange_and_correction_become_remarks() {
    assert_eq!(notes(&order(), &digits("s")), ["seen skip: low-duty"]);
    assert_eq!(notes(&diagnosed(), &digits("i")), ["seen exchange: plugs RL RR"]);
    assert_eq!(notes(&diagnosed(), &digits("y")), ["seen correction: forward clockwise left not-looked"]);
    let again = notes(&diagnosed(), &digits("p")).remove(0);
    assert!(again.ends_with("change \"Exchange the two motor leads of RR at Oxpair B M2.\""), "{again}");
    assert_eq!(notes(&wheels(), &digits("p")), [""; 0], "nothing is diagnosed");
}
