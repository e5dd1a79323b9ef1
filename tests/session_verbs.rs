//! `compare`, `export`, `bundle` and `decode --check` with the real program. Tables are read back by Python's own
//! readers, chance is reckoned by Python in exact fractions, JSON is held to the schema.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/plain.rs"]
mod plain;
#[path = "json_schema/schema.rs"]
#[allow(dead_code)]
mod schema;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::{Path, PathBuf};
use std::process::Command;

use plain::{TALK, plain_session, session_in_reads};
use schema::Schema;
use serde_json::Value;
use wheeltap::compare::chance::fisher;
use wheeltap::session::{SessionSource, append_note};
use wheeltap::source::Source;
use wheeltap_parsers::Input;
use without_screen::{Ended, Running};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn log(name: &str) -> String {
    root().join("logs").join(format!("two-chip-{name}.jsonl")).display().to_string()
}

fn python(words: &[&str]) -> String {
    let out = Command::new("python3").arg(root().join("tests/session_witness.py")).args(words).output();
    let out = out.expect("Python 3 is installed");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn run(folder: &Path, words: &[&str]) -> Ended {
    Running::wheeltap(folder, words).end()
}

fn fits(name: &str, text: &str) -> Value {
    let schema = Schema::new(include_str!("golden/decode.schema.json"));
    let line: Value = serde_json::from_str(text).unwrap();
    assert_eq!(schema.fault(name, &line), None, "{line}");
    line
}

#[test]
fn fishers_test_agrees_with_exact_fractions() {
    let mut tables = vec![[3, 4, 1, 4], [0, 10, 5, 10], [2, 9, 0, 12], [10, 1000, 40, 1000], [7, 7, 0, 3]];
    // A spread of tables by a multiplier, so that all shapes come.
    for n in 1..200_u64 {
        let (b, d) = (1 + n * 37 % 90, 1 + n * 53 % 70);
        tables.push([n * 11 % (b + 1), b, n * 17 % (d + 1), d]);
    }
    let words: Vec<String> = tables.iter().flatten().map(ToString::to_string).collect();
    let all: Vec<&str> = std::iter::once("fisher").chain(words.iter().map(String::as_str)).collect();
    let theirs = python(&all);
    assert_eq!(theirs.lines().count(), tables.len());
    for (table, theirs) in tables.iter().zip(theirs.lines()) {
        let [a, b, c, d] = *table;
        let (ours, theirs) = (fisher([a, c], [b, d]), theirs.parse::<f64>().unwrap());
        assert!((ours - theirs).abs() < 1e-6 * theirs.max(1e-12), "{table:?}: {ours}, exactly {theirs}");
    }
}

#[test]
fn compare_says_what_came_and_what_is_more_than_chance() {
    let folder = tempfile::tempdir().unwrap();
    let (good, bad) = (log("good"), log("watchdog"));
    let words = ["compare", &good, &bad, "--rover", "letter-line"];
    let ended = run(folder.path(), &[&words[..], &["--json"]].concat());
    let compared = fits("comparison", ended.text().trim_end());
    let measure = |name: &str| {
        let all = compared["measures"].as_array().unwrap();
        all.iter().find(|one| one["name"] == name).unwrap_or_else(|| panic!("no {name} in {all:?}")).clone()
    };
    // logs/README.md: the drive board's watchdog resets it four times in the one log, in the other only power starts.
    let resets = compared["findings"].as_array().unwrap().iter().find(|one| one["id"] == "reset-watchdog").unwrap();
    assert_eq!((&resets["change"], &resets["a"], &resets["b"]), (&"came".into(), &0.into(), &4.into()));
    // The senders are the same: an order every 50 ms in both.
    let between = measure("time between orders");
    for side in ["a", "b"] {
        let median = between[side]["p10_p50_p90_p99"][1].as_f64().unwrap();
        assert!((median - 50.0).abs() < 0.5, "{median}");
    }
    assert_eq!(between["verdict"], "within chance");
    assert!(compared["findings"].as_array().unwrap().iter().any(|one| one["change"] == "came"), "{compared}");
    assert_eq!(ended.code(), 1);
    let text = run(folder.path(), &words);
    assert!(text.text().contains("came: ") && text.text().contains("Holm"), "{}", text.text());
    let same = run(folder.path(), &["compare", &good, &good, "--rover", "letter-line", "--json"]);
    let compared = fits("comparison", same.text().trim_end());
    assert_eq!(same.code(), 0);
    for one in compared["measures"].as_array().unwrap() {
        assert_ne!(one["verdict"], "more than chance", "{one}");
        assert_eq!(one["a"], one["b"]);
    }
}

/// From ahead straight to a turn: the order that begins the turn is none of the leg before it.
#[test]
fn the_mean_turn_of_a_leg_is_that_of_its_own_orders() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["pace,60", "way,ahead", "way,spin-port", "way,ahead", "way,rest"]);
    let file = path.to_str().unwrap();
    let ended = run(folder.path(), &["compare", file, file, "--json"]);
    let compared = fits("comparison", ended.text().trim_end());
    let legs: Vec<(f64, bool)> = compared["legs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|leg| {
            assert_eq!(leg["turn_percent"][0], leg["turn_percent"][1]);
            (leg["turn_percent"][0].as_f64().unwrap(), leg["move"].as_str().unwrap().contains("spin"))
        })
        .collect();
    assert_eq!(legs.len(), 2, "{}", compared["legs"]);
    for (turn, spins) in legs {
        // Ahead turns nothing; on the spot to port at 60 of 255 is 23.5 % counter-clockwise, plus by ISO 8855.
        assert!((turn - if spins { 23.5 } else { 0.0 }).abs() < 1e-9, "{}", compared["legs"]);
    }
}

/// Each order is a line, so the moves are known from what is written here: how many of each, whatever one read brings.
#[test]
fn moves_within_one_read_are_counted_each_under_its_name() {
    let words = ["way,ahead", "way,port", "way,rest", "way,ahead", "way,rest", "way,port", "way,rest"];
    let moves = |apart: usize| {
        let folder = tempfile::tempdir().unwrap();
        let path = session_in_reads(folder.path(), &words, apart);
        let file = path.to_str().unwrap();
        let ended = run(folder.path(), &["compare", file, file, "--json"]);
        let compared = fits("comparison", ended.text().trim_end());
        let legs = compared["legs"].as_array().unwrap().iter();
        legs.map(|leg| (leg["move"].as_str().unwrap().to_owned(), leg["a"].as_u64().unwrap())).collect::<Vec<_>>()
    };
    let each = moves(1);
    assert_eq!(each.iter().map(|(_, count)| *count).collect::<Vec<_>>(), [2, 2], "{each:?}");
    for apart in 2..=words.len() {
        assert_eq!(moves(apart), each, "{apart} orders in a read");
    }
}

/// Rows and, by column, how many values and their sum, of what `decode --json` says of frames.
fn expected(decoded: &str) -> (u64, f64, u64) {
    let frames =
        decoded.lines().map(|line| serde_json::from_str::<Value>(line).unwrap()).filter(|line| line["kind"] == "frame");
    let (mut rows, mut times, mut meant) = (0, 0.0, 0);
    for frame in frames {
        rows += 1;
        times += frame["t_us"].as_f64().unwrap();
        meant += u64::from(frame["meant"].get("FL").is_some());
    }
    (rows, times, meant)
}

#[test]
fn exported_tables_are_read_back_by_another_reader() {
    let folder = tempfile::tempdir().unwrap();
    for (name, rover) in [("good", "letter-line"), ("watchdog", "letter-line")] {
        let decoded = run(folder.path(), &["decode", &log(name), "--rover", rover, "--json"]);
        let (rows, times, meant) = expected(decoded.text());
        let mut read = Vec::new();
        for form in ["csv", "json"] {
            let out = folder.path().join(format!("{name}.{form}"));
            let words = ["export", &log(name), "--rover", rover, "--form", form, "--out", out.to_str().unwrap()];
            let ended = run(folder.path(), &words);
            assert_eq!(ended.code(), 0, "{}", ended.err);
            let sums: Value = serde_json::from_str(&python(&[form, out.to_str().unwrap()])).unwrap();
            assert_eq!(sums["rows"].as_u64().unwrap(), rows);
            assert_eq!(sums["columns"]["t_us"][1].as_f64().unwrap().to_bits(), times.to_bits());
            assert_eq!(sums["columns"]["meant_FL"][0].as_u64().unwrap(), meant);
            let again = run(folder.path(), &words);
            assert_eq!(again.code(), 2, "an existing file is never overwritten: {}", again.err);
            read.push(sums);
        }
        assert_eq!(read[0], read[1], "both forms hold the same");
    }
}

#[test]
fn exported_times_follow_iso_8601_and_columns_have_a_dictionary() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["way,port", "pace,71", "way,rest"]);
    let file = path.to_str().unwrap();
    let iso = run(folder.path(), &["export", file, "--time", "iso"]);
    let rows: Vec<&str> = iso.text().split("\r\n").collect();
    // The session begins at 1777707000.25 s: 2026-05-02T09:30:00.25+02:00; the first line is whole at 0.102 s.
    assert!(rows[1].starts_with("2026-05-02T09:30:00.352000+02:00,102000,"), "{}", rows[1]);
    let dictionary = run(folder.path(), &["export", file, "--columns"]);
    let names: Vec<&str> = dictionary.text().lines().map(|line| line.split(',').next().unwrap().trim()).collect();
    assert_eq!(names, rows[0].split(',').collect::<Vec<_>>());
    let log = run(folder.path(), &["export", &log("good"), "--rover", "letter-line", "--time", "iso"]);
    assert_eq!(log.code(), 2, "a log without a wall clock has no time of day");
    let none = run(folder.path(), &["export", &self::log("good")]);
    assert!(none.code() == 2 && none.err.contains("--rover"), "{}", none.err);
}

fn reads(path: &Path) -> Vec<(i64, u64, Vec<u8>)> {
    let mut session = SessionSource::open(path).unwrap();
    let mut all = Vec::new();
    while let Some(input) = session.next().unwrap() {
        if let Input::Chunk(chunk) = input {
            all.push((chunk.hi / 1000, chunk.offset, chunk.bytes.to_vec()));
        }
    }
    assert_eq!(session.torn(), []);
    all
}

#[test]
fn a_bundle_keeps_orders_and_covers_names_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    append_note(&path, 250_000, "joined wifi Hollow Barn, RL hums").unwrap();
    let (file, out) = (path.to_str().unwrap(), folder.path().join("for-helper.wheeltap"));
    let shown = run(folder.path(), &["bundle", file]);
    assert!(shown.code() == 0 && shown.text().contains("Nothing is written yet"), "{}", shown.text());
    assert!(shown.text().contains("such as: net up ssid Hollow Barn"), "{}", shown.text());
    let done = run(folder.path(), &["bundle", file, "--out", out.to_str().unwrap(), "--about", "the bench, wheels up"]);
    assert_eq!(done.code(), 0, "{}", done.err);
    let bytes = std::fs::read(&out).unwrap();
    for secret in ["Hollow", "Barn", "tin-kettle", "02:00:5e", "A5069RR4", "heap 91k"] {
        assert!(memchr::memmem::find(&bytes, secret.as_bytes()).is_none(), "{secret} is still there");
    }
    for kept in ["the bench, wheels up", "way,port", "pace,71", "RL hums"] {
        let there = memchr::memmem::find(&bytes, kept.as_bytes()).is_some();
        assert!(
            there || reads(&out).concat_bytes().windows(kept.len()).any(|part| part == kept.as_bytes()),
            "{kept} is gone"
        );
    }
    let (before, after) = (reads(&path), reads(&out));
    assert_eq!(before.len(), after.len());
    for (old, new) in before.iter().zip(&after) {
        assert_eq!((old.0, old.1, old.2.len()), (new.0, new.1, new.2.len()));
    }
    // The orders say the same: every frame of the session stands in the bundle, at its place and time.
    let frames = |file: &str| -> Vec<String> {
        let ended = run(folder.path(), &["decode", file, "--json"]);
        ended.text().lines().filter(|line| line.starts_with("{\"kind\":\"frame\"")).map(str::to_owned).collect()
    };
    assert_eq!(frames(out.to_str().unwrap()), frames(file));
    assert!(frames(file).len() >= 4);
    let check = run(folder.path(), &["decode", out.to_str().unwrap(), "--check"]);
    assert!(check.code() == 0 && check.text().contains("closed by the recorder"), "{}", check.text());
    let again = run(folder.path(), &["bundle", file, "--out", out.to_str().unwrap()]);
    assert_eq!(again.code(), 2, "an existing file is never overwritten: {}", again.err);
}

trait Bytes {
    fn concat_bytes(&self) -> Vec<u8>;
}

impl Bytes for Vec<(i64, u64, Vec<u8>)> {
    fn concat_bytes(&self) -> Vec<u8> {
        self.iter().flat_map(|(_, _, bytes)| bytes.clone()).collect()
    }
}

#[test]
fn a_part_between_two_notes_keeps_its_times_and_places() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    append_note(&path, 640_000, "second").unwrap();
    append_note(&path, 310_000, "first").unwrap();
    let out = folder.path().join("part.wheeltap");
    let words =
        ["bundle", path.to_str().unwrap(), "--from-note", "1", "--to-note", "2", "--out", out.to_str().unwrap()];
    let done = run(folder.path(), &words);
    assert_eq!(done.code(), 0, "{}", done.err);
    let inside: Vec<_> = reads(&path).into_iter().filter(|(at, ..)| (310_000..=640_000).contains(at)).collect();
    let places = |all: &[(i64, u64, Vec<u8>)]| all.iter().map(|one| (one.0, one.1, one.2.len())).collect::<Vec<_>>();
    assert_eq!(places(&reads(&out)), places(&inside));
    assert!(inside.len() > 3 && inside[0].1 > 0);
    let session = SessionSource::open(&out).unwrap();
    assert_eq!((session.header().begins_us(), session.header().offsets()[0]), (310_000, inside[0].1));
    let check = run(folder.path(), &["decode", out.to_str().unwrap(), "--check", "--json"]);
    assert_eq!(fits("check", check.text().trim_end())["damaged"].as_array().unwrap().len(), 0);
    let wrong = run(folder.path(), &["bundle", path.to_str().unwrap(), "--from-note", "3"]);
    assert!(wrong.code() == 2 && wrong.err.contains("2 notes"), "{}", wrong.err);
}

#[test]
fn the_whole_check_names_a_damaged_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let mut bytes = std::fs::read(&path).unwrap();
    let at = memchr::memmem::find(&bytes, b"pace").unwrap();
    bytes[at] ^= 0x20;
    std::fs::write(&path, &bytes).unwrap();
    let line = memchr::memchr_iter(b'\n', &bytes[..at]).count() as u64 + 1;
    let check = run(folder.path(), &["decode", path.to_str().unwrap(), "--check", "--json"]);
    let found = fits("check", check.text().trim_end());
    assert_eq!(found["damaged"][0]["line"].as_u64(), Some(line));
    assert_eq!((check.code(), found["damaged"].as_array().unwrap().len()), (1, 1));
}

/// One bit turned in any line of the rover file inside: what is left may read well and mean something else, so it is not
/// used. With the file named the session is read as ever.
#[test]
fn a_rover_file_that_is_damaged_inside_a_session_is_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let bytes = std::fs::read(root().join("logs/two-chip-good.wheeltap")).unwrap();
    let starts: Vec<usize> = memchr::memmem::find_iter(&bytes, b"\nfile ").collect();
    assert!(starts.len() > 20);
    let path = folder.path().join("hurt.wheeltap");
    let last = starts.len() - 1;
    for number in [0, 1, last / 2, last - 1, last] {
        let mut hurt = bytes.clone();
        hurt[starts[number] + 7] ^= 0x01;
        std::fs::write(&path, &hurt).unwrap();
        let line = memchr::memchr_iter(b'\n', &bytes[..=starts[number]]).count() + 1;
        let ended = run(folder.path(), &["decode", "hurt.wheeltap"]);
        assert_eq!(ended.code(), 2, "{}", ended.err);
        assert!(ended.err.contains(&format!("damaged at line {line} ")), "{}", ended.err);
        assert!(ended.err.contains("Name the rover file itself with --rover"), "{}", ended.err);
        let named = run(folder.path(), &["decode", "hurt.wheeltap", "--rover", "letter-line"]);
        assert!(named.code() <= 1 && named.text().contains("forward"), "{}", named.err);
    }
}

/// What is shown as removed was removed, counted byte by byte; what was not removed is not named.
#[test]
fn a_bundle_shows_what_it_removes_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["way,rest", "heap 91k", "way,rest", "heap 90k", "way,rest"]);
    let shown = run(folder.path(), &["bundle", path.to_str().unwrap()]).text().to_owned();
    let (removed, stays) = shown.split_once("Stays:").unwrap();
    // Eight letters twice; their line ends stay. In the rover file the 11 letters of the name in its last comment.
    for due in ["free text: 16 bytes", "comments and names of the rover file: 11 bytes", "the name of the port"] {
        assert!(removed.contains(due), "{due}: {shown}");
    }
    assert!(!removed.contains("notes") && !stays.contains("start-up text"), "{shown}");
    append_note(&path, 250_000, "Passwort: Kessel").unwrap();
    let shown = run(folder.path(), &["bundle", path.to_str().unwrap()]).text().to_owned();
    assert!(shown.contains("notes: 6 bytes in 1 of them") && shown.contains("Passwort: xxxxxx"), "{shown}");
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/logs/two-chip-brownout.jsonl");
    let shown = run(folder.path(), &["bundle", log, "--rover", "letter-line"]).text().to_owned();
    let (removed, stays) = shown.split_once("Stays:").unwrap();
    assert!(removed.contains("nothing on the wires") && !removed.contains("comments"), "{shown}");
    // Both boards' first start and the one after the sag.
    assert!(stays.contains("3 pieces of known start-up text"), "{shown}");
}
