//! `simulate` on one side and `listen` in a real terminal on the other: the screen, the session, and what a kill or a
//! pulled plug leaves of it.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;
use std::time::Duration;

use terminal::Terminal;
use wheeltap::session::SessionSource;
use wheeltap::source::Source;
use wheeltap_parsers::Input;
use without_screen::{Rover, Running};

const WAIT: Duration = Duration::from_secs(30);

fn listen(folder: &Path, rover: &Rover, style: &str) -> Terminal {
    let session = folder.join("one.wheeltap");
    let mut words = vec!["listen"];
    words.extend(rover.ports());
    words.extend(["--rover", style, "--session", session.to_str().unwrap()]);
    let mut tap = Terminal::wheeltap(&words, 160, 40);
    tap.wait_for("FL");
    tap
}

/// Every byte of the session's two wires, in order, and what could not be read.
fn bytes_of(path: &Path) -> ([Vec<u8>; 2], usize) {
    let mut source = SessionSource::open(path).unwrap();
    let mut bytes = [Vec::new(), Vec::new()];
    while let Some(input) = source.next().unwrap() {
        if let Input::Chunk(chunk) = input {
            let wire = &mut bytes[chunk.wire.index()];
            assert_eq!(chunk.offset, wire.len() as u64, "no byte is missing between two reads");
            wire.extend_from_slice(chunk.bytes);
        }
    }
    (bytes, source.torn().len())
}

/// How many bytes the recorder line says it has kept.
fn kept(screen: &str) -> Option<u64> {
    let (_, rest) = screen.split_once("one.wheeltap, ")?;
    rest.split_once(" bytes")?.0.parse().ok()
}

#[test]
fn what_is_on_the_wire_is_on_the_screen_and_in_the_session() {
    let folder = tempfile::tempdir().unwrap();
    let rover = Rover::start(folder.path(), &["--like", "cue-line"]);
    let mut tap = listen(folder.path(), &rover, "cue-line");
    for words in ["listening", "RR", "recording", "none lost"] {
        tap.wait_for(words);
    }
    tap.wait_until("a move in words", WAIT, |screen| {
        let text = screen.contents();
        text.contains("forward") && kept(&text).is_some_and(|count| count > 1000)
    });
    tap.send("nbench, strip of tape on FL\r");
    tap.send("l");
    tap.wait_for("strip of tape");
    tap.send("q");
    assert_eq!(tap.wait_end().exit_code(), 0);
    rover.stop();
    let (bytes, torn) = bytes_of(&folder.path().join("one.wheeltap"));
    assert!(bytes.iter().all(|wire| wire.len() > 100) && torn == 0);
    let text = std::fs::read_to_string(folder.path().join("one.wheeltap")).unwrap();
    assert!(text.lines().last().unwrap().starts_with("end "), "closed in order");
    assert_eq!(text.lines().filter(|line| line.starts_with("note ") && line.contains("strip of tape")).count(), 1);
}

#[test]
fn signals_close_the_session() {
    for signal in ["TERM", "INT", "HUP"] {
        let folder = tempfile::tempdir().unwrap();
        let rover = Rover::start(folder.path(), &[]);
        let mut tap = listen(folder.path(), &rover, "plain-line");
        tap.wait_until("bytes", WAIT, |screen| kept(&screen.contents()).is_some_and(|count| count > 0));
        tap.signal(signal);
        assert_eq!(tap.wait_end().exit_code(), 0, "{signal}");
        tap.look(|screen| assert!(!screen.alternate_screen() && !screen.hide_cursor()));
        let text = std::fs::read_to_string(folder.path().join("one.wheeltap")).unwrap();
        assert!(text.lines().last().unwrap().starts_with("end "), "{signal}: closed in order");
    }
}

#[test]
fn a_closed_window_closes_the_session() {
    let folder = tempfile::tempdir().unwrap();
    let rover = Rover::start(folder.path(), &[]);
    let mut tap = listen(folder.path(), &rover, "plain-line");
    tap.wait_until("bytes", WAIT, |screen| kept(&screen.contents()).is_some_and(|count| count > 0));
    tap.close();
    assert!(tap.wait_end().signal().is_none());
    let text = std::fs::read_to_string(folder.path().join("one.wheeltap")).unwrap();
    assert!(text.lines().last().unwrap().starts_with("end "), "closed in order");
}

/// The screen counts bytes that the recorder has written; a kill may cost the read in hand, and no other.
fn killed_at(moment: u64) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.wheeltap");
    let rover = Rover::start(folder.path(), &["--like", "stave"]);
    let mut tap = listen(folder.path(), &rover, "stave");
    let screen =
        tap.wait_until("bytes kept", WAIT, |screen| kept(&screen.contents()).is_some_and(|count| count > moment));
    let shown = kept(&screen).unwrap();
    tap.signal("KILL");
    tap.wait_end();
    let (bytes, torn) = bytes_of(&path);
    let in_session: u64 = bytes.iter().map(|wire| wire.len() as u64).sum();
    assert!(in_session >= shown, "{shown} bytes were shown as kept, {in_session} are there");
    assert!(torn <= 1, "at most the last line is torn");
    let decoded = Running::wheeltap(folder.path(), &["decode", "one.wheeltap", "--json"]).end();
    assert!(decoded.code() <= 1, "{}", decoded.err);
    // Its records tile each wire: every byte is in one of them (RFC 8259 objects, one a line).
    let mut ends = [0u64; 2];
    for line in decoded.text().lines() {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        if let Some(len) = line["len"].as_u64() {
            let end = &mut ends[usize::from(line["wire"] == "<")];
            assert_eq!(line["offset"].as_u64(), Some(*end), "{line}");
            *end += len;
        }
    }
    assert_eq!(ends, [bytes[0].len() as u64, bytes[1].len() as u64]);
    let mut replay = Terminal::wheeltap(&["replay", path.to_str().unwrap()], 120, 40);
    for words in ["replay", "FL", "Moonwagon"] {
        replay.wait_for(words);
    }
    replay.send("\x1b[F");
    replay.wait_until("a duty at the end", WAIT, |screen| screen.contents().contains('%'));
    replay.send("q");
    assert_eq!(replay.wait_end().exit_code(), 0);
}

#[test]
fn a_kill_costs_at_most_the_read_in_hand() {
    for moment in [50, 333, 700] {
        killed_at(moment);
    }
}

#[test]
fn a_port_that_goes_and_comes_back_is_shown_and_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let rover = Rover::start(folder.path(), &["--like", "cue-line"]);
    let mut tap = listen(folder.path(), &rover, "cue-line");
    tap.wait_until("bytes", WAIT, |screen| kept(&screen.contents()).is_some_and(|count| count > 100));
    rover.stop();
    tap.wait_until("the loss", WAIT, |screen| screen.contents().contains("GONE") || screen.contents().contains("gone"));
    let before = kept(&tap.screen()).unwrap();
    let again = Rover::start(folder.path(), &["--like", "cue-line"]);
    tap.wait_until("more bytes", WAIT, |screen| kept(&screen.contents()).is_some_and(|count| count > before + 100));
    tap.send("q");
    assert_eq!(tap.wait_end().exit_code(), 0);
    again.stop();
    let text = std::fs::read_to_string(folder.path().join("one.wheeltap")).unwrap();
    for word in ["gone ", "back "] {
        for wire in [" > ", " <"] {
            let there = text.lines().any(|line| line.starts_with(word) && line.contains(wire));
            assert!(there, "`{word}` of wire {wire}");
        }
    }
    let decoded = Running::wheeltap(folder.path(), &["decode", "one.wheeltap", "--json"]).end();
    assert_eq!(decoded.code(), 1, "the loss of the port is a fault");
    let finding = |id: &str| decoded.text().contains(&format!("\"kind\":\"finding\",\"id\":\"{id}\""));
    assert!(finding("port-gone"));
    // Nobody listened: nothing may be claimed of the orders of that time.
    assert!(!finding("lapse") && !finding("silent-while-moving") && !finding("late"), "{}", decoded.text());
}
