//! `diagnose` on a value-change dump: a move counts by the time its wheels were driven, not by its last instant.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/made_dump.rs"]
mod made_dump;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;

use made_dump::{MadeDump, Wheels};
use without_screen::{Ended, Running};

const MS: i64 = 1_000_000;
const DUTY: i64 = 706;

const ORDERS: [(i64, &str); 3] = [(50, "pace,180\n"), (100, "way,ahead\n"), (700, "way,rest\n")];

/// Ahead from 100 ms to 700 ms. RR is driven backward for the last `backward` ms of it, and all rest for the last `rest`.
/// The rover file of the plain line has the left side's motors mirrored.
fn diagnosed(folder: &Path, backward: i64, rest: i64) -> Ended {
    let mut dump = MadeDump::default();
    let wire = dump.signal("mcu.tx2", '1');
    let wheels = Wheels::at(&mut dump, "wheel");
    for (at, text) in ORDERS {
        dump.send(at * MS, wire, text.as_bytes(), 1e9 / 115_200.0);
    }
    let [turns, rests] = [700 - backward - rest, 700 - rest];
    wheels.told(&mut dump, (102 * MS, turns * MS), [-DUTY, DUTY, -DUTY, DUTY]);
    if backward > 0 {
        wheels.told(&mut dump, (turns * MS, rests * MS), [-DUTY, DUTY, -DUTY, -DUTY]);
    }
    wheels.told(&mut dump, (rests * MS, 701 * MS), [0; 4]);
    dump.send(2_000 * MS, wire, b"way,rest\n", 1e9 / 115_200.0);
    dump.ends(2_500 * MS);
    std::fs::write(folder.join("made.vcd"), dump.text()).unwrap();
    Running::wheeltap(folder, &["diagnose", "made.vcd", "--rover", "plain-line"]).end()
}

#[test]
fn a_rest_at_the_last_instant_is_not_what_was_seen() {
    let folder = tempfile::tempdir().unwrap();
    let ended = diagnosed(folder.path(), 0, 30);
    let best = ended.text().lines().nth(1).unwrap();
    assert!(best.contains("nothing wrong"), "{}\n{}", ended.text(), ended.err);
    assert!(!ended.err.contains("not taken"), "{}", ended.err);
}

#[test]
fn a_wheel_driven_now_this_way_and_now_that_is_named_and_not_taken() {
    let folder = tempfile::tempdir().unwrap();
    let ended = diagnosed(folder.path(), 250, 0);
    let named = ended.err.lines().find(|line| line.contains("not taken")).unwrap_or_default();
    assert!(named.contains("RR in `ahead` from 0.1"), "{}", ended.err);
    assert!(named.contains("driven forward 5") && named.contains("backward 4"), "{named}");
    assert!(ended.text().lines().nth(1).unwrap().contains("nothing wrong"), "{}", ended.text());
}

/// IN1 of RR floats from the first order on: that is what is wrong, whatever else fits, and the exit code says so.
#[test]
fn an_open_input_is_said_to_be_wrong() {
    let mut dump = MadeDump::default();
    let wire = dump.signal("mcu.tx2", '1');
    let wheels = Wheels::at(&mut dump, "wheel");
    for (at, text) in ORDERS {
        dump.send(at * MS, wire, text.as_bytes(), 1e9 / 115_200.0);
    }
    wheels.told(&mut dump, (102 * MS, 701 * MS), [-DUTY, DUTY, -DUTY, DUTY]);
    dump.set(102 * MS, wheels.0[3][0], 'z');
    dump.ends(2_500 * MS);
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("made.vcd"), dump.text()).unwrap();
    let words = ["diagnose", "made.vcd", "--rover", "plain-line"];
    let ended = Running::wheeltap(folder.path(), &words).end();
    assert_eq!(ended.text().lines().next(), Some("Wrong, as seen: an open input of RR. Beside that:"), "{}", ended.err);
    assert_eq!(ended.code(), 1);
    let ended = Running::wheeltap(folder.path(), &[&words[..], &["--json"]].concat()).end();
    let told: serde_json::Value = serde_json::from_str(ended.text()).unwrap();
    assert_eq!((&told["open_inputs"], ended.code()), (&serde_json::json!(["RR"]), 1));
}
