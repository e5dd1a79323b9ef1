//! Pictures of the screen, kept as text.
#![cfg(test)]
#![allow(clippy::unwrap_used)]

use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Cell;
use ratatui::style::{Color, Modifier};

use super::key_table::{Key, KeyBinding, Place, TABLE};
use super::page::Page;
use super::status::{Replay, Status};
use super::{Console, Theme, sample};
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::survey::Survey;

const PLAIN: Theme = Theme::from_env(true, false);
const ASCII: Theme = Theme::from_env(true, true);

/// The screen as text, rows without the blanks at their end.
fn picture(console: &mut Console, size: (u16, u16), snapshot: &Snapshot, status: &Status) -> String {
    let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
    terminal.draw(|frame| console.draw(frame, snapshot, status)).unwrap();
    let buffer = terminal.backend().buffer();
    let row = |y| {
        let cells = (0..size.0).map(|x| buffer[(x, y)].symbol());
        cells.collect::<String>().trim_end().to_owned()
    };
    (0..size.1).map(row).collect::<Vec<_>>().join("\n")
}

const SIZES: [(u16, u16); 3] = [(80, 24), (120, 40), (200, 60)];

/// Overview pictures at three sizes, and in ASCII at 80 x 24.
fn overviews(name: &str, snapshot: &Snapshot, status: &Status) {
    for size in SIZES {
        let text = picture(&mut Console::new(PLAIN), size, snapshot, status);
        insta::assert_snapshot!(format!("{name}_{}x{}", size.0, size.1), text);
    }
    let text = picture(&mut Console::new(ASCII), (80, 24), snapshot, status);
    assert!(text.is_ascii());
    insta::assert_snapshot!(format!("{name}_80x24_ascii"), text);
}

fn page(name: &str, page: Page, snapshot: &Snapshot) {
    for size in [(80, 24), (120, 40)] {
        let mut console = Console::new(PLAIN);
        console.page = page;
        let text = picture(&mut console, size, snapshot, &sample::recording());
        insta::assert_snapshot!(format!("page_{name}_{}x{}", size.0, size.1), text);
    }
}

#[test]
fn strafing_on_a_plain_line() {
    overviews("strafe", &sample::strafe(), &sample::recording());
}

#[test]
fn a_cue_line_with_its_deadline_running() {
    overviews("cue", &sample::cue(), &sample::recording());
}

#[test]
fn raw_lines_without_a_rover_file() {
    overviews("raw", &sample::raw(), &sample::recording());
}

#[test]
fn at_rest() {
    overviews("resting", &sample::resting(), &sample::recording());
}

#[test]
fn after_a_lapse() {
    overviews("lapsed", &sample::lapsed(), &sample::recording());
}

#[test]
fn just_after_a_reset() {
    overviews("reset", &sample::reset(), &sample::recording());
}

#[test]
fn a_paused_replay() {
    overviews("replay", &sample::strafe(), &sample::replaying());
}

#[test]
fn a_recorder_in_trouble() {
    overviews("trouble", &sample::strafe(), &sample::recorder_trouble());
}

#[test]
fn the_pages() {
    page("findings", Page::Findings, &sample::reset());
    page("lines", Page::Lines, &sample::cue());
    page("legs", Page::Legs, &sample::strafe());
    page("wheels", Page::Wheels, &sample::cue());
    page("teach", Page::Teach, &sample::strafe());
    page("leads", Page::Leads, &sample::strafe());
    page("times", Page::Times, &sample::cue());
    page("times_empty", Page::Times, &sample::raw());
    page("cannot_show", Page::CannotShow, &sample::strafe());
    page("help", Page::Help, &sample::strafe());
}

#[test]
fn the_whole_session_on_one_page() {
    for (name, ascii, size) in [
        ("session_80x24", PLAIN, (80, 24)),
        ("session_120x40", PLAIN, (120, 40)),
        ("session_80x24_ascii", ASCII, (80, 24)),
    ] {
        let mut console = Console::new(ascii);
        console.page = Page::Session;
        let text = picture(&mut console, size, &sample::strafe(), &sample::surveyed());
        assert!(!ascii.ascii || text.is_ascii());
        insta::assert_snapshot!(name, text);
    }
}

/// Times below and above an hour differ in width; the bars begin in one column all the same.
#[test]
fn rows_of_a_session_of_hours_stand_in_columns() {
    let mut survey = Survey::new(0, 7_200_000_000_000);
    survey.read_to = survey.ends;
    survey.slices.iter_mut().for_each(|slice| slice.bytes = [9, 0]);
    let replay = sample::replaying().replay.map(|replay| Replay { survey: survey.into(), ..replay });
    let status = Status { replay, ..sample::replaying() };
    let mut console = Console::new(PLAIN);
    console.page = Page::Session;
    let text = picture(&mut console, (80, 24), &sample::strafe(), &status);
    let begins: Vec<usize> = text.lines().filter_map(|row| row.chars().position(|sign| sign == '▒')).collect();
    assert!(begins.len() > 8 && begins.iter().all(|place| *place == begins[0]), "{text}");
    assert!(text.contains("1:00:00.000"), "{text}");
}

#[test]
fn a_note_being_written() {
    let mut console = Console::new(PLAIN);
    console.entry = Some("it jerked on the carpet edge".to_owned());
    let text = picture(&mut console, (80, 24), &sample::strafe(), &sample::recording());
    insta::assert_snapshot!("note_entry", text);
}

#[test]
fn small_screens_keep_the_order_and_the_worst_finding() {
    for size in [(10, 3), (1, 1), (30, 8), (60, 20), (60, 45), (100, 30), (140, 50)] {
        let text = picture(&mut Console::new(PLAIN), size, &sample::reset(), &sample::recording());
        insta::assert_snapshot!(format!("small_{}x{}", size.0, size.1), text);
    }
    let text = picture(&mut Console::new(PLAIN), (10, 3), &sample::reset(), &sample::recording());
    assert!(text.contains("way,port") && text.contains("danger"), "{text}");
}

/// Everything a person must find on the smallest full screen, whatever the state.
#[test]
fn the_smallest_full_screen_holds_what_matters() {
    let all = [sample::strafe(), sample::cue(), sample::raw(), sample::resting(), sample::lapsed(), sample::reset()];
    for (snapshot, status) in all.iter().flat_map(|s| [(s, sample::recording()), (s, sample::replaying())]) {
        let text = picture(&mut Console::new(ASCII), (80, 24), snapshot, &status);
        let mut wanted = vec!["FL", "FR", "RL", "RR", "nose", "order", "\n> ", "\n< ", "? help", "q quit"];
        let age = snapshot.order.at.map(|at| super::clock::ago(snapshot.now, at));
        wanted.push(age.as_deref().unwrap_or("not heard yet"));
        wanted.push(if snapshot.findings.is_empty() {
            "nothing found so far"
        } else {
            snapshot.findings[0].severity.id()
        });
        wanted.push(if status.replay.is_some() { "STANDING" } else { "recording" });
        for part in wanted {
            assert!(text.contains(part), "{part} is missing:\n{text}");
        }
        let newest = snapshot.lines.last().unwrap();
        assert!(text.contains(&super::clock::at(newest.at)), "{text}");
    }
}

#[test]
fn every_key_that_works_is_on_the_smallest_full_screen() {
    for page in Page::ALL {
        for (status, replay) in [(sample::recording(), false), (sample::replaying(), true)] {
            let mut console = Console::new(ASCII);
            console.page = page;
            let text = picture(&mut console, (80, 24), &sample::reset(), &status);
            let works = |b: &&KeyBinding| match b.place {
                Place::Everywhere => b.key != Key::Ctrl('c') && page != Page::Teach,
                Place::Lists => page.moves(),
                Place::Check => page == Page::Check,
                Place::Teach => page == Page::Teach && b.key != Key::Ctrl('c'),
                Place::Replay => replay && page != Page::Teach,
                Place::NoteEntry => false,
            };
            for binding in TABLE.iter().filter(works) {
                let name = binding.key.name();
                assert!(text.contains(&name) && text.contains(binding.short), "{name} on {page:?}:\n{text}");
            }
        }
    }
}

/// Never colour alone: without colour the same words and shapes are there, and no cell has a colour or is dimmed.
#[test]
fn without_colour_nothing_is_lost() {
    for (page, snapshot) in Page::ALL.into_iter().flat_map(|p| [(p, sample::reset()), (p, sample::cue())]) {
        let [colour, plain] = [true, false].map(|colour| {
            let mut console = Console::new(Theme { colour, ascii: false });
            console.page = page;
            let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
            terminal.draw(|frame| console.draw(frame, &snapshot, &sample::recording())).unwrap();
            terminal.backend().buffer().clone()
        });
        let plainly =
            |cell: &Cell| cell.fg == Color::Reset && cell.bg == Color::Reset && !cell.modifier.contains(Modifier::DIM);
        assert!(plain.content().iter().all(plainly), "{page:?}");
        let same = |(a, b): (&Cell, &Cell)| a.symbol() == b.symbol();
        assert!(colour.content().iter().zip(plain.content()).all(same), "{page:?}");
        let coloured = colour.content().iter().any(|c| c.fg != Color::Reset);
        assert!(coloured || page != Page::Overview);
    }
}

/// Prints the overview, to be looked at: `cargo test the_overview_to_look_at -- --nocapture`.
#[test]
fn the_overview_to_look_at() {
    for size in SIZES {
        let text = picture(&mut Console::new(PLAIN), size, &sample::cue(), &sample::recording());
        println!("{text}\n");
        assert!(text.contains("188 ms of 300 ms left"), "{text}");
    }
}
