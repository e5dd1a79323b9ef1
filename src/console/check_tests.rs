//! The wheel check: its pictures, and what its keys come to.
#![cfg(test)]
#![allow(clippy::unwrap_used)]

use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::check_sample::{all, diagnosed, diagonal, floor, nothing_left, order, outside, prepare, rollers, wheels};
use super::key_table::Key;
use super::page::Page;
use super::status::Status;
use super::wish::Wish;
use super::{Console, Theme, sample};
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{Ask, Check, CheckReport};

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

/// The same question asked of a later press of the same move.
fn pressed_anew(mut snapshot: Snapshot) -> Snapshot {
    if let Ask::Wheels(watched) = &mut snapshot.check.ask {
        watched.began += 1;
    }
    snapshot
}

#[test]
fn half_an_answer_waits_for_its_question() {
    let mut page = console(Theme::from_env(true, true));
    let press = |page: &mut Console, keys: &str, snapshot: &Snapshot| -> Vec<Wish> {
        digits(keys).into_iter().filter_map(|key| page.press(key, snapshot, &Status::default())).collect()
    };
    assert_eq!(press(&mut page, "28", &wheels()), []);
    let same_move = picture(&mut page, (80, 24), &pressed_anew(wheels()));
    assert!(same_move.contains("seen: forward") && !same_move.contains("Put aside"), "{same_move}");
    let other = Snapshot { check: Check { report: order().check.report, ..diagonal().check }, ..diagonal() };
    let waits = "Put aside: 2 of 4 answers for `left` at low duty. Order it again to go on with them.";
    assert!(one_text(&picture(&mut page, (80, 24), &other)).contains(waits));
    let due = "seen forward-left at low duty: FL still FR forward RL forward RR still";
    assert_eq!(press(&mut page, "5885", &other), [Wish::Note(due.to_owned())]);
    assert!(one_text(&picture(&mut page, (80, 24), &other)).contains(waits), "it still waits");
    let due = "seen left at low duty: FL backward FR forward RL forward RR still";
    assert_eq!(press(&mut page, "85", &pressed_anew(wheels())), [Wish::Note(due.to_owned())]);
    assert!(!picture(&mut page, (80, 24), &other).contains("Put aside"));
}

#[test]
fn undo_drops_half_an_answer_that_waits_and_says_so() {
    let mut page = console(Theme::from_env(true, true));
    for key in digits("28u8") {
        assert_eq!(page.press(key, &wheels(), &Status::default()), None);
    }
    assert_eq!(page.press(Key::Char('u'), &order(), &Status::default()), None);
    assert!(picture(&mut page, (80, 24), &order()).contains("Dropped: the half answer"));
    let undone = page.press(Key::Char('u'), &order(), &Status::default());
    assert_eq!(undone, Some(Wish::Note("seen undo: last".to_owned())));
}

/// Rows joined where a sentence goes on.
fn one_text(picture: &str) -> String {
    picture.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// At 80 by 24 no word of the question is cut off, and the two likeliest lines of the ranking stand below it.
#[test]
fn nothing_that_is_said_is_cut_off_and_the_ranking_stays_in_view() {
    let not_asked = |mut snapshot: Snapshot| {
        if let Ask::Wheels(watched) = &mut snapshot.check.ask {
            watched.asked_for = false;
        }
        snapshot
    };
    let told = |snapshot: Snapshot, change: fn(&mut CheckReport)| {
        let mut report = CheckReport::clone(snapshot.check.report.as_deref().unwrap());
        change(&mut report);
        Snapshot { check: Check { report: Some(std::sync::Arc::new(report)), ..snapshot.check }, ..snapshot }
    };
    let doubt = |report: &mut CheckReport| report.doubtful = report.lines[1..].to_vec();
    let outside = |report: &mut CheckReport| (report.outside, report.doubtful) = (true, report.lines[1..].to_vec());
    let all = [
        ("asked", wheels()),
        ("not asked", not_asked(wheels())),
        ("doubt", not_asked(told(wheels(), doubt))),
        ("outside", not_asked(told(wheels(), outside))),
        ("hums", not_asked(told(wheels(), |report| report.hums = true))),
        ("floor", told(floor(), outside)),
        ("rollers", told(rollers(), outside)),
    ];
    for (name, snapshot) in all {
        let text = picture(&mut console(Theme::from_env(true, true)), (80, 24), &snapshot);
        let page: String = text.lines().take(20).collect::<Vec<_>>().join("\n");
        assert!(!page.contains("..") || page.matches("..").count() == page.matches("...").count(), "{name}:\n{text}");
        for due in ["62 %  RR reversed", "31 %  wrong sign for RR in row `forward`"] {
            assert!(text.contains(due), "{name}: `{due}` is missing:\n{text}");
        }
    }
}

#[test]
fn one_of_a_thing_is_not_many() {
    let mut snapshot = order();
    let mut report = CheckReport::clone(snapshot.check.report.as_deref().unwrap());
    report.lines.truncate(1);
    report.left.truncate(1);
    report.answers_to_come = 3;
    snapshot.check.report = Some(std::sync::Arc::new(report));
    let text = picture(&mut console(Theme::from_env(true, true)), (80, 24), &snapshot);
    assert!(text.contains("1 answer, about 3 more to a diagnosis, 1 move not seen yet"), "{text}");
}

#[test]
fn skip_repair_exchange_and_correction_become_remarks() {
    assert_eq!(notes(&order(), &digits("s")), ["seen skip: low-duty"]);
    assert_eq!(notes(&order(), &digits("b")), [""; 0], "nothing was left out");
    assert_eq!(notes(&order(), &digits("t")), [""; 0], "every answer fits");
    assert_eq!(notes(&outside(), &digits("t")), ["seen doubt: forward at low duty"]);
    assert_eq!(notes(&nothing_left(), &digits("b")), ["seen skip: nothing"]);
    assert_eq!(notes(&diagnosed(), &digits("i")), ["seen exchange: plugs RL RR"]);
    assert_eq!(notes(&diagnosed(), &digits("y")), ["seen correction: forward clockwise left not-looked"]);
    let again = notes(&diagnosed(), &digits("p")).remove(0);
    assert!(again.ends_with("change \"Exchange the two motor leads of RR at Oxpair B M2.\""), "{again}");
    assert_eq!(notes(&wheels(), &digits("p")), [""; 0], "nothing is diagnosed");
}

/// A last key that is pressed twice: the second comes before the screen shows what the first one changed.
#[test]
fn a_key_pressed_twice_answers_nothing_more() {
    let answer = digits("8888");
    let twice = [answer.as_slice(), &[Key::Char('8')]].concat();
    assert_eq!(notes(&wheels(), &twice), notes(&wheels(), &answer));
    let mut console = console(Theme::default());
    for key in answer {
        console.press(key, &wheels(), &Status::default());
    }
    let mut next = wheels();
    next.notes.push((0, "seen".to_owned()));
    assert_eq!(console.press(Key::Char('8'), &next, &Status::default()), None);
    assert_eq!(console.check.parts(&next.check.ask).len(), 1, "the next question is on the screen: taken");
}
