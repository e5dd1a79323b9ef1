//! `decode`, `replay` and `diagnose` on a value-change dump: the real program, its lines against the published schema,
//! the console in a real terminal.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "pins/made_dump.rs"]
mod made_dump;
#[path = "json_schema/schema.rs"]
mod schema;
#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;

use made_dump::{MadeDump, Wheels};
use schema::Schema;
use serde_json::Value;
use terminal::Terminal;
use without_screen::Running;

const MS: i64 = 1_000_000;

/// Ahead at 71 % with RR's input leads crossed behind the chip, then to port, then rest. The rover file of the plain line
/// has the left side's motors mirrored.
fn dump(folder: &Path) -> String {
    let mut dump = MadeDump::default();
    let wire = dump.signal("mcu.tx2", '1');
    let wheels = [Wheels::at(&mut dump, "chip"), Wheels::at(&mut dump, "wheel")];
    for (at, text) in [(50, "pace,180\n"), (100, "way,ahead\n"), (700, "way,port\n"), (1_300, "way,rest\n")] {
        dump.send(at * MS, wire, text.as_bytes(), 1e9 / 115_200.0);
    }
    let d = 706;
    for (place, sign) in wheels.iter().zip([1, -1]) {
        place.told(&mut dump, (102 * MS, 702 * MS), [-d, d, -d, sign * d]);
        place.told(&mut dump, (702 * MS, 1_302 * MS), [d, d, -d, sign * -d]);
        place.told(&mut dump, (1_302 * MS, 1_303 * MS), [0; 4]);
    }
    dump.send(2_000 * MS, wire, b"way,rest\n", 1e9 / 115_200.0);
    dump.ends(2_500 * MS);
    let path = folder.join("made.vcd");
    std::fs::write(&path, dump.text()).unwrap();
    path.display().to_string()
}

#[test]
fn decode_says_what_was_seen_and_every_line_fits_the_schema() {
    let folder = tempfile::tempdir().unwrap();
    let file = dump(folder.path());
    let ended = Running::wheeltap(folder.path(), &["decode", &file, "--rover", "plain-line", "--json"]).end();
    assert_eq!(ended.code(), 1, "{}", ended.err);
    for words in ["Wire > is mcu.tx2, 115", "RR at the wheel: wheel.rr.in1, wheel.rr.in2, wheel.rr.en."] {
        assert!(ended.err.contains(words), "{words}: {}", ended.err);
    }
    let schema = Schema::new(include_str!("golden/decode.schema.json"));
    assert_eq!(schema.unknown_keywords(), Vec::<String>::new());
    let lines: Vec<Value> = ended.text().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    for line in &lines {
        assert_eq!(schema.fault("decoded", line), None, "{line}");
    }
    let events = |name: &str| lines.iter().filter(|line| line["event"] == name).cloned().collect::<Vec<_>>();
    let pins = events("pins");
    let ahead = pins.iter().find(|line| line["place"] == "wheel" && line["seen"]["FR"] == 70.6).unwrap();
    assert_eq!([&ahead["seen"]["FL"], &ahead["seen"]["RR"]], [&Value::from(70.6), &Value::from(-70.6)]);
    assert!((ahead["t_us"].as_i64().unwrap() - 102_000).abs() < 1_200, "{ahead}");
    let clock = events("clock");
    assert!((clock[0]["baud"].as_f64().unwrap() - 115_200.0).abs() < 20.0, "{clock:?}");
    let loom = lines.iter().find(|line| line["id"] == "pins-loom").unwrap();
    assert_eq!((loom["wheel"].as_str(), loom["layer"].as_str()), (Some("RR"), Some("driver")));
}

#[test]
fn diagnose_names_the_leads_and_says_what_was_not_seen() {
    let folder = tempfile::tempdir().unwrap();
    let file = dump(folder.path());
    let ended = Running::wheeltap(folder.path(), &["diagnose", &file, "--rover", "plain-line"]).end();
    let text = ended.text();
    assert!(text.contains("Wrong: RR is driven the other way") && text.contains("In: the loom"), "{text}");
    assert!(ended.err.contains("Seen were the pins, not the wheels"), "{}", ended.err);
    let ended = Running::wheeltap(folder.path(), &["diagnose", &file]).end();
    assert_eq!(ended.code(), 2);
    assert!(ended.err.contains("needs a rover file"), "{}", ended.err);
}

#[test]
fn the_options_belong_to_dumps() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bytes"), b"way,port\n").unwrap();
    let ended = Running::wheeltap(folder.path(), &["decode", "bytes", "--wire", "tx"]).end();
    assert_eq!(ended.code(), 2);
    assert!(ended.err.contains("--wire and --pins choose signals of a value-change dump"), "{}", ended.err);
    let ended = Running::wheeltap(folder.path(), &["decode", "bytes", "--pins", "moon=1"]).end();
    assert_eq!(ended.code(), 2);
    assert!(ended.err.contains("such as FL=in1,in2,en"), "{}", ended.err);
}

#[test]
fn the_console_shows_what_was_seen_beside_what_is_meant() {
    let folder = tempfile::tempdir().unwrap();
    let file = dump(folder.path());
    let mut console = Terminal::wheeltap(&["replay", &file, "--rover", "plain-line"], 120, 40);
    let end = std::time::Duration::from_secs(30);
    console.wait_for("replay");
    // To the beginning, then forward a record at a time: the first order to move, and the pins that follow it.
    console.wait_until("seen", end, |screen| {
        let text = screen.contents();
        text.contains("seen -71 %") && text.contains("meant +71 %") && text.contains("seen at the pins")
    });
    console.send("w");
    console.wait_until("the page of wheels", end, |screen| screen.contents().contains("at the pins of the wheel"));
    console.send("q");
    assert_eq!(console.wait_end().exit_code(), 0);
}

/// What was found of a leg is known only 300 ms later than it began. Its place shows the instant itself: the order of that
/// instant, none that came later, and what was found there.
#[test]
fn a_place_of_what_was_found_shows_its_own_instant() {
    let folder = tempfile::tempdir().unwrap();
    let file = dump(folder.path());
    let mut console = Terminal::wheeltap(&["replay", &file, "--rover", "plain-line"], 120, 40);
    // Played to its end, so read to its end.
    console.wait_until("the end", std::time::Duration::from_secs(30), |screen| screen.contents().contains("way,rest"));
    console.send("\x1b[H");
    console.wait_gone("way,ahead");
    let found = (0..8).any(|_| {
        console.send("]");
        let step = std::time::Duration::from_secs(2);
        console.try_until(step, |screen| screen.contents().contains("A place of: pins-loom")).is_ok()
    });
    let screen = console
        .wait_until("its order", std::time::Duration::from_secs(10), |screen| screen.contents().contains("way,ahead"));
    assert!(found && screen.contains("A place of: pins-loom"), "{screen}");
    assert!(!screen.contains("way,port") && !screen.contains("nothing found so far"), "{screen}");
    console.send("q");
    assert_eq!(console.wait_end().exit_code(), 0);
}
