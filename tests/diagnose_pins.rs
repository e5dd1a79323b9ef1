//! `diagnose` on a value-change dump: a move counts by the time its wheels were driven, not by its last instant.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/made_dump.rs"]
mod made_dump;
#[allow(dead_code, reason = "the schema's own words are held by another test")]
#[path = "json_schema/schema.rs"]
mod schema;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;

use serde_json::{Value, json};

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
    assert!(best.contains("every wheel is driven as meant"), "{}\n{}", ended.text(), ended.err);
    assert!(!ended.err.contains("not taken"), "{}", ended.err);
}

#[test]
fn a_wheel_driven_now_this_way_and_now_that_is_named_and_not_taken() {
    let folder = tempfile::tempdir().unwrap();
    let ended = diagnosed(folder.path(), 250, 0);
    let named = ended.err.lines().find(|line| line.contains("not taken")).unwrap_or_default();
    assert!(named.contains("RR in `ahead` from 0.1"), "{}", ended.err);
    assert!(named.contains("driven forward 5") && named.contains("backward 4"), "{named}");
    assert!(ended.text().lines().nth(1).unwrap().contains("every wheel is driven as meant"), "{}", ended.text());
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
    let first = ended.text().lines().next().unwrap_or_default();
    assert!(first.starts_with("Wrong, as seen: an input of RR is open."), "{}", ended.err);
    assert_eq!(ended.code(), 1);
    let ended = Running::wheeltap(folder.path(), &[&words[..], &["--json"]].concat()).end();
    let told: Value = serde_json::from_str(ended.text()).unwrap();
    assert_eq!((&told["open_inputs"], ended.code()), (&json!(["RR"]), 1));
    assert_eq!(schema().fault("diagnosis", &told), None, "{told}");
}

fn schema() -> schema::Schema {
    schema::Schema::new(include_str!("golden/decode.schema.json"))
}

/// Moves of a press and release link, each for 500 ms, and how the wheels are meant: FL, FR, RL, RR.
const MOVES: [(&str, [i64; 4]); 4] = [
    ("way,ahead\n", [1, 1, 1, 1]),
    ("way,port\n", [-1, 1, 1, -1]),
    ("way,spin-port\n", [-1, 1, -1, 1]),
    ("way,astern\n", [-1, -1, -1, -1]),
];

/// Pins at both ends, told what `chip` and `far` make of the levels: plus drives IN1. The left side is mounted mirrored.
fn both_ends(chip: impl Fn([i64; 4]) -> [i64; 4], far: impl Fn([i64; 4]) -> [i64; 4]) -> (MadeDump, [Wheels; 2]) {
    let mut dump = MadeDump::default();
    let wire = dump.signal("mcu.tx2", '1');
    let ends = [Wheels::at(&mut dump, "chip"), Wheels::at(&mut dump, "wheel")];
    dump.send(50 * MS, wire, b"pace,180\n", 1e9 / 115_200.0);
    for (number, (order, way)) in (0..).zip(MOVES) {
        let at = (100 + number * 1_000) * MS;
        dump.send(at, wire, order.as_bytes(), 1e9 / 115_200.0);
        dump.send(at + 500 * MS, wire, b"way,rest\n", 1e9 / 115_200.0);
        let [fl, fr, rl, rr] = way;
        let levels = [-fl, fr, -rl, rr].map(|way| way * DUTY);
        let span = (at + 2 * MS, at + 502 * MS);
        ends[0].told(&mut dump, span, chip(levels));
        ends[1].told(&mut dump, span, far(levels));
    }
    dump.ends(5_000 * MS);
    (dump, ends)
}

fn told(dump: &MadeDump) -> (String, Value, i32) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("made.vcd"), dump.text()).unwrap();
    let words = ["diagnose", "made.vcd", "--rover", "plain-line"];
    let text = Running::wheeltap(folder.path(), &words).end();
    let ended = Running::wheeltap(folder.path(), &[&words[..], &["--json"]].concat()).end();
    assert_eq!(text.code(), ended.code());
    let json: Value = serde_json::from_str(ended.text()).unwrap();
    assert_eq!(schema().fault("diagnosis", &json), None, "{json}");
    (text.text().to_owned(), json, ended.code())
}

#[test]
fn sound_pins_are_told_to_be_driven_as_meant() {
    let (text, json, code) = told(&both_ends(|levels| levels, |levels| levels).0);
    assert_eq!((code, &json["at_pins"]["place"], &json["repair"]), (0, &Value::Null, &Value::Null), "{text}");
    assert!(!text.contains("Change:"), "{text}");
}

/// Plugs of FL and FR exchanged behind the chip: one fault in the loom, though both wheels also turn the other way, for
/// the motors of the left side are mounted mirrored.
#[test]
fn plugs_exchanged_across_are_one_fault_of_the_loom() {
    let (text, json, code) = told(&both_ends(|levels| levels, |[fl, fr, rl, rr]| [fr, fl, rl, rr]).0);
    assert_eq!((code, &json["at_pins"]["place"]), (1, &json!("loom")), "{text}");
    assert_eq!(json["repair"]["wrong"], "outputs exchanged: FL and FR");
    assert!(text.contains("First: Rest the rover, pull the pack's plug"), "{text}");
}

/// The same levels wrong at both ends: the program, whose repair touches no lead.
#[test]
fn what_is_wrong_at_the_chip_is_the_program() {
    let turned = |[fl, fr, rl, rr]: [i64; 4]| [fl, fr, rl, -rr];
    let (text, json, code) = told(&both_ends(turned, turned).0);
    assert_eq!((code, &json["at_pins"]["place"]), (1, &json!("firmware")), "{text}");
    let change = json["repair"]["change"].as_str().unwrap();
    assert!(change.starts_with("In the drive board's program turn the sign of RR"), "{change}");
    assert!(!text.contains("motor plug") && !text.contains("motor leads"), "{text}");
}

/// Nothing moves a pin: no order reaches the drive board, whatever its table says.
#[test]
fn pins_that_never_move_are_put_down_to_the_wire() {
    let (text, json, code) = told(&both_ends(|_| [0; 4], |_| [0; 4]).0);
    assert_eq!((code, &json["at_pins"]["place"]), (1, &json!("wire")), "{text}");
}

/// Half the duty, each wheel the right way: directions are sound, and that is not all that is said.
#[test]
fn a_wrong_duty_is_told_beside_sound_directions() {
    let half = |levels: [i64; 4]| levels.map(|level| level / 2);
    let (text, json, code) = told(&both_ends(half, half).0);
    assert_eq!((code, &json["at_pins"]["place"]), (1, &Value::Null), "{text}");
    assert_eq!(json["at_pins"]["parted"].as_array().unwrap().len(), 4);
    assert!(text.contains("0.50 times the duty"), "{text}");
}

/// Both ends float for a while in a move: the chip starts anew, no lead is off.
#[test]
fn a_chip_that_floats_is_no_open_lead() {
    let (mut dump, ends) = both_ends(|levels| levels, |levels| levels);
    for wheel in ends.iter().flat_map(|end| end.0) {
        dump.set(3_200 * MS, wheel[0], 'z');
    }
    let (text, json, _) = told(&dump);
    assert_eq!(json["open_inputs"], json!([]), "{text}");
}
