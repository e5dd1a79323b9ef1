//! The desk: `replay` in a real terminal goes frame by frame, from place to place, round between notes, and shows the
//! whole session. Where it should land is told by `decode --json` of the same file.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;
#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::{Path, PathBuf};

use serde_json::Value;
use terminal::Terminal;
use wheeltap::session::{Header, Heard, Recorder, append_note};
use wheeltap_parsers::Input;
use without_screen::Running;

fn log(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("logs").join(format!("two-chip-{name}.jsonl")).display().to_string()
}

/// A two-chip log as a session with its rover file inside.
fn session(folder: &Path, name: &str) -> PathBuf {
    let mut source = wheeltap::source::open(&log(name)).unwrap();
    let rover = include_str!("../src/rover/files/letter-line.toml").to_owned();
    let header = Header::new(source.link().clone(), Some(("letter-line.toml".to_owned(), rover)));
    let path = folder.join(format!("{name}.wheeltap"));
    let mut recorder = Recorder::create(&path, &header).unwrap();
    while let Some(input) = source.next().unwrap() {
        let Input::Chunk(chunk) = input else { continue };
        let (t_us, since_us) = (chunk.hi / 1000, (chunk.hi - chunk.lo) / 1000);
        recorder.keep(&Heard::Read {
            wire: chunk.wire,
            t_us,
            since_us,
            offset: chunk.offset,
            bytes: chunk.bytes.into(),
        });
    }
    recorder.close();
    path
}

/// Every line of `decode --json`.
fn decoded(folder: &Path, file: &Path) -> Vec<Value> {
    let ended = Running::wheeltap(folder, &["decode", file.to_str().unwrap(), "--json"]).end();
    ended.text().lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Times of lines of these kinds, ascending, each once.
fn times(lines: &[Value], wanted: impl Fn(&Value) -> bool) -> Vec<i64> {
    let mut times: Vec<i64> =
        lines.iter().filter(|line| wanted(line)).map(|line| line["t_us"].as_i64().unwrap()).collect();
    times.dedup();
    times
}

/// As the title row has it.
fn clock(t_us: i64) -> String {
    format!("{:02}:{:02}.{:03}", t_us / 60_000_000, t_us / 1_000_000 % 60, t_us / 1000 % 1000)
}

fn standing(path: &Path) -> Terminal {
    let mut terminal = Terminal::wheeltap(&["replay", path.to_str().unwrap()], 120, 40);
    terminal.wait_for("running");
    terminal.send("h");
    terminal.wait_for("STANDING");
    terminal
}

const WAIT: std::time::Duration = std::time::Duration::from_secs(20);
const HOME: &str = "\x1b[H";

/// Waits until the title row is dated so.
#[track_caller]
fn at(terminal: &mut Terminal, t_us: i64) {
    let wanted = clock(t_us);
    terminal
        .wait_until(&wanted, WAIT, |screen| screen.contents().lines().next().unwrap_or_default().ends_with(&wanted));
}

#[test]
fn it_goes_on_and_back_by_frame() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "good");
    let lines = decoded(folder.path(), &path);
    let records = times(&lines, |line| line.get("len").is_some());
    assert!(records.len() > 100);
    let mut terminal = standing(&path);
    terminal.send(HOME);
    at(&mut terminal, 0);
    for time in &records[..12] {
        terminal.send(")");
        at(&mut terminal, *time);
    }
    for time in records[..11].iter().rev() {
        terminal.send("(");
        at(&mut terminal, *time);
    }
    terminal.send("(");
    terminal.wait_for("This is the beginning");
}

#[test]
fn it_lands_on_each_sort_of_place_and_the_evidence_is_in_view() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "brownout");
    append_note(&path, 700_000, "lifted the nose").unwrap();
    append_note(&path, 3_300_000, "put it down").unwrap();
    let lines = decoded(folder.path(), &path);
    let damage = times(&lines, |line| line["kind"] == "damage" || line["kind"] == "noise");
    let legs = times(&lines, |line| line["event"] == "leg-begins");
    assert!(!damage.is_empty() && legs.len() > 2, "{damage:?} {legs:?}");
    let evidence =
        lines.iter().filter(|line| line["kind"] == "finding").flat_map(|line| line["evidence"].as_array().unwrap());
    let evidence: Vec<i64> = evidence.map(|place| place["t_us"].as_i64().unwrap()).collect();
    let mut terminal = standing(&path);
    terminal.send(HOME);
    at(&mut terminal, 0);
    terminal.send("d");
    terminal.wait_for("2 notes");
    terminal.send("l");
    terminal.send("]");
    terminal.wait_until("a place of a finding is in the title", WAIT, |screen| {
        let title = screen.contents().lines().next().unwrap_or_default().to_owned();
        evidence.iter().any(|at| title.contains(&clock(*at)))
    });
    terminal.send(HOME);
    at(&mut terminal, 0);
    terminal.send(";");
    terminal.wait_for("to damage");
    terminal.send("]");
    at(&mut terminal, damage[0]);
    terminal.wait_for("damaged: ");
    terminal.send(";");
    terminal.wait_for("to note");
    terminal.send("]");
    at(&mut terminal, 3_300_000);
    terminal.send("[");
    at(&mut terminal, 700_000);
    terminal.send(";;");
    terminal.wait_for("to leg");
    let next = legs.iter().find(|at| **at > 700_000).unwrap();
    terminal.send("]");
    at(&mut terminal, *next);
    terminal.send("j");
    terminal.wait_for("round 00:00 to 00:03");
    terminal.wait_for("running");
    terminal.send("j");
    terminal.wait_gone("round 00:00");
}

#[test]
fn a_note_made_at_the_desk_stands_at_its_time() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "good");
    let mut terminal = standing(&path);
    terminal.send(HOME);
    at(&mut terminal, 0);
    terminal.send("\x1b[C");
    at(&mut terminal, 1_000_000);
    terminal.send("nit hums here\r");
    terminal.wait_for("The note is kept");
    terminal.send("d");
    terminal.wait_for("note: it hums here");
    terminal.send("q");
    let lines = decoded(folder.path(), &path);
    let note = lines.iter().position(|line| line["event"] == "note").unwrap();
    let time = lines[note]["t_us"].as_i64().unwrap();
    assert_eq!(time, 1_000_000);
    assert!(lines[note - 1]["t_us"].as_i64().unwrap() <= time && time <= lines[note + 1]["t_us"].as_i64().unwrap());
}

#[test]
fn another_rover_file_says_what_it_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "brownout");
    let words = ["replay", path.to_str().unwrap(), "--rover", "plain-line"];
    let mut terminal = Terminal::wheeltap(&words, 120, 40);
    terminal.wait_for("running");
    terminal.send("d");
    terminal.wait_for("with this rover file went:");
}

/// From the row at the cursor `z` goes to that row, not to the one above: wherever the rows begin.
#[test]
fn z_goes_to_the_row_at_the_cursor() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "brownout");
    let mut terminal = standing(&path);
    terminal.send("d");
    terminal.wait_for(" legs");
    let mark = |screen: &vt100::Screen, sign: char| screen.contents().lines().position(|row| row.contains(sign));
    terminal.wait_until("the cursor stands in the first row", WAIT, |screen| mark(screen, '»') == Some(2));
    for row in 1..6 {
        terminal.send("\x1b[B");
        terminal.wait_until("the cursor moves", WAIT, |screen| mark(screen, '»') == Some(row + 2));
        terminal.send("z");
        terminal.wait_until("the place is in the row at the cursor", WAIT, |screen| {
            mark(screen, '▶') == Some(row + 2) && mark(screen, '»') == Some(row + 2)
        });
    }
}

#[test]
fn the_page_counts_findings_as_the_list_does_and_names_damaged_lines() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "brownout");
    let findings = decoded(folder.path(), &path).iter().filter(|line| line["kind"] == "finding").count();
    let mut bytes = std::fs::read(&path).unwrap();
    let at = memchr::memmem::rfind(&bytes, b"\nend ").unwrap() + 2;
    bytes[at] ^= 1;
    std::fs::write(&path, &bytes).unwrap();
    let line = memchr::memchr_iter(b'\n', &bytes[..at]).count() + 1;
    // Told as soon as the file is read through, and until the next key.
    let mut terminal = Terminal::wheeltap(&["replay", path.to_str().unwrap()], 120, 40);
    terminal.wait_for("This session has damaged lines");
    terminal.send("d");
    terminal.wait_for(&format!(": {findings} findings, "));
    terminal.wait_for(&format!("damaged in the file: line {line} (byte "));
}

/// A person writes a note, goes on, writes another, and wants to see what lies between.
#[test]
fn round_between_the_two_notes_just_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "good");
    let mut terminal = standing(&path);
    terminal.send(HOME);
    at(&mut terminal, 0);
    for (key, time, text) in [("\x1b[C", 1_000_000, "from here"), ("\x1b[C", 2_000_000, "to here")] {
        terminal.send(key);
        at(&mut terminal, time);
        terminal.send(&format!("n{text}\r"));
        terminal.wait_for("The note is kept");
    }
    terminal.send("j");
    terminal.wait_for("round 00:01 to 00:02");
    terminal.wait_for("running");
}

/// The disk takes half of a note: nothing of it stays, and the session is whole as before.
#[test]
fn a_note_that_does_not_fit_on_the_disk_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let path = session(folder.path(), "good");
    // Up to 20 bytes before the next block of 512: the next note crosses it.
    let length = || std::fs::metadata(&path).unwrap().len();
    let line = |text: &str| format!("note 0 {text} 01234567\n").len() as u64;
    let blocks = (length() + line("") + 20).div_ceil(512);
    append_note(&path, 0, &"x".repeat((blocks * 512 - 20 - length() - line("")) as usize)).unwrap();
    assert_eq!(length(), blocks * 512 - 20);
    let before = std::fs::read(&path).unwrap();
    let program = env!("CARGO_BIN_EXE_wheeltap");
    // Without the trap the signal would end the program (POSIX, ulimit and XFSZ).
    let line = format!("trap '' XFSZ; ulimit -f {blocks}; exec {program} replay {}", path.display());
    let mut terminal = Terminal::shell(&line, 120, 40);
    terminal.wait_for("running");
    terminal.send("nthis one does not fit\r");
    terminal.wait_for("was not kept");
    terminal.send("q");
    assert_eq!(std::fs::read(&path).unwrap(), before);
}
