//! The wheel sheet in a session: written by the console's own keys, read by a line tool, by a replay, by `diagnose`.
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::{Command, Output};

use wheeltap::rover::built_in;
use wheeltap::session::{Header, Heard, Recorder};
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::Wire;

/// A session of this rover: lines at their times in ms on wire >, notes as they come.
fn session(path: &Path, style: &str, lines: &[(i64, String)], notes: &[(i64, String)]) {
    let file = built_in::find(style).unwrap();
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() };
    let link = LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() };
    let header = Header::new(link, Some((format!("{style}.toml"), file.text.to_owned())));
    let mut recorder = Recorder::create(path, &header).unwrap();
    let mut all: Vec<(i64, bool, &String)> = lines.iter().map(|(at, text)| (*at, false, text)).collect();
    all.extend(notes.iter().map(|(at, text)| (*at, true, text)));
    all.sort_by_key(|(at, ..)| *at);
    let mut offset = 0;
    for (at, is_note, text) in all {
        let t_us = at * 1000;
        if is_note {
            recorder.keep(&Heard::Note { t_us, text: text.as_str().into() });
        } else {
            let bytes = format!("{text}\n").into_bytes();
            let length = bytes.len() as u64;
            recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 1_000, offset, bytes: bytes.into() });
            offset += length;
        }
        recorder.keep(&Heard::Tick { t_us });
    }
    recorder.close();
}

fn diagnose(path: &Path, more: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wheeltap")).arg("diagnose").arg(path).args(more).output().unwrap()
}

fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

/// RR reversed, as a person writes it; the wheel signs follow from the equations of X rollers.
const RR_REVERSED: [&str; 9] = [
    "seen sheet: tape yes, rover \"Moonwagon, plain line\", version \"1.0\", firmware \"\", change \"\"",
    "seen rest at high duty: FL still FR still RL still RR still",
    "seen rollers: FL as-drawn FR as-drawn RL as-drawn RR as-drawn",
    "seen ahead at low duty: FL forward FR forward RL forward RR backward",
    "seen port at low duty: FL backward FR forward RL forward RR hums",
    "seen undo: last",
    "seen port at low duty: FL backward FR forward RL forward RR forward",
    "seen astern at low duty: FL backward FR backward RL backward RR forward",
    "seen spin-port at low duty: FL backward FR forward RL backward RR backward",
];

fn at_each_second(notes: &[&str]) -> Vec<(i64, String)> {
    notes.iter().zip(1..).map(|(text, second)| (second * 1000, (*text).to_owned())).collect()
}

#[test]
fn a_session_with_a_sheet_is_diagnosed_from_its_notes_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("check.wheeltap");
    session(&path, "plain-line", &[(500, "way,rest".to_owned())], &at_each_second(&RR_REVERSED));
    let output = diagnose(&path, &["--json"]);
    assert_eq!(output.status.code(), Some(1), "a fault was found");
    let json = json(&output);
    assert!(json["classes"][0]["members"][0]["wrong"].as_str().unwrap().starts_with("RR reversed"), "{json}");
    let rows = json["sheet"]["rows"].as_array().unwrap();
    let state = |code: &str| rows.iter().find(|row| row["code"] == code).unwrap()["state"].clone();
    assert_eq!([state("rest"), state("ahead"), state("starboard")], ["proven", "seen otherwise", "claimed"]);
    assert_eq!(json["sheet"]["version"], "1.0");
    assert_eq!(json["sheet"]["remarks"].as_array().unwrap().len(), 6, "what was taken back is gone: {json}");
    let text = String::from_utf8(diagnose(&path, &[]).stdout).unwrap();
    for due in ["rover file version 1.0", "seen otherwise: RR backward where forward is meant", "What fits", "claimed"]
    {
        assert!(text.contains(due), "`{due}` is missing in:\n{text}");
    }
}

#[test]
fn a_line_tool_finds_each_remark_and_a_broken_one_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("check.wheeltap");
    let mut notes = at_each_second(&RR_REVERSED);
    notes.push((11_000, "seen starboard at low duty: FL forward FR sideways RL backward RR backward".to_owned()));
    notes.push((12_000, "seen it wobble on the carpet".to_owned()));
    session(&path, "plain-line", &[], &notes);
    let text = std::fs::read_to_string(&path).unwrap();
    let found = text.lines().filter(|line| line.starts_with("note ") && line.contains(" seen ")).count();
    assert_eq!(found, notes.len());
    let json = json(&diagnose(&path, &["--json"]));
    let not_taken = json["not_taken"].as_array().unwrap();
    assert_eq!(not_taken.len(), 1, "{json}");
    assert!(not_taken[0].as_str().unwrap().contains("`sideways` is not known here"), "{json}");
}

#[test]
fn after_a_repair_only_the_new_sheet_counts() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("check.wheeltap");
    let mut notes = at_each_second(&RR_REVERSED);
    let again =
        "seen sheet: tape yes, rover \"Moonwagon, plain line\", version \"1.0\", firmware \"\", change \"leads of RR\"";
    let ahead = "seen ahead at low duty: FL forward FR forward RL forward RR forward";
    notes.extend([again, ahead].iter().zip(11..).map(|(text, second)| (second * 1000, (*text).to_owned())));
    session(&path, "plain-line", &[], &notes);
    let json = json(&diagnose(&path, &["--json"]));
    assert_eq!(json["sheet"]["change"], "leads of RR");
    let rows = json["sheet"]["rows"].as_array().unwrap();
    assert!(rows.iter().filter(|row| row["state"] == "proven").all(|row| row["code"] == "ahead"), "{json}");
}

/// Orders of the cue line: forward 40 % with a trim, then a rest, some times over; then slides to the left.
fn driven(forward: i64, left: i64) -> Vec<(i64, String)> {
    let mut lines = Vec::new();
    let mut at = 1_000;
    let mut sequence = 0;
    for (f, s, trim) in [(40, 0, forward), (0, 40, left)] {
        for run in 0..4 {
            for step in 0..24 {
                let (f, s, trim) = if step < 20 { (f, s, trim + run % 2) } else { (0, 0, 0) };
                lines.push((at, cue(sequence, f, s, trim)));
                sequence = (sequence + 1) % 1000;
                at += 50;
            }
        }
    }
    lines
}

/// The check is worked out bit by bit: polynomial 0x1021, start 0x5A17, over everything up to the space before `#`.
fn cue(sequence: i64, f: i64, s: i64, t: i64) -> String {
    let body = format!("c{sequence:03} p{:02} drv f{f:+04} s{s:+04} t{t:+04} g3 d30 ", sequence % 100);
    let crc = body.bytes().fold(0x5A17_u16, |crc, byte| {
        (0..8).fold(crc ^ u16::from(byte) << 8, |crc, _| if crc & 0x8000 == 0 { crc << 1 } else { crc << 1 ^ 0x1021 })
    });
    format!("{body}#{crc:04X}.")
}

#[test]
fn the_drivers_turn_correction_names_one_wheel_as_a_hint() {
    let folder = tempfile::tempdir().unwrap();
    // Clockwise while driving forward, counter-clockwise while sliding left: the yaw of a reversed FL is the opposite
    // in both (forward +, left -), worked out by hand from the wheel equations.
    let path = folder.path().join("drive.wheeltap");
    session(&path, "cue-line", &driven(-8, 9), &[]);
    let output = diagnose(&path, &["--json"]);
    let json = json(&output);
    let turns = json["turn_corrections"].as_array().unwrap();
    let of = |name: &str| turns.iter().find(|turn| turn["move"] == name).unwrap_or_else(|| panic!("{name}: {json}"));
    assert_eq!((of("forward")["runs"].as_i64(), of("forward")["sign"].as_i64()), (Some(4), Some(-1)), "{json}");
    assert_eq!(of("left")["sign"].as_i64(), Some(1));
    assert_eq!(json["correction_taken"], true);
    let wrong = |place: usize| json["classes"][place]["members"][0]["wrong"].as_str().unwrap_or_default().to_owned();
    assert!((0..3).any(|place| wrong(place).starts_with("FL ")), "{json}");
    let text = String::from_utf8(diagnose(&path, &[]).stdout).unwrap();
    assert!(text.contains("Mean turn correction, forward: -7.5 % of full, 4 runs"), "{text}");
    assert!(text.contains("no wheel sheet") && text.contains("a hint, no proof"), "{text}");
}

#[test]
fn a_link_without_a_turn_of_its_own_shows_no_correction() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("drive.wheeltap");
    let lines: Vec<(i64, String)> =
        (0..40).map(|n| (1000 + n * 700, if n % 2 == 0 { "way,ahead" } else { "way,rest" }.to_owned())).collect();
    session(&path, "plain-line", &lines, &[]);
    let output = diagnose(&path, &["--json"]);
    assert_eq!(output.status.code(), Some(0), "nothing is claimed");
    let json = json(&output);
    assert_eq!(
        (json["turn_corrections"].as_array().unwrap().len(), json["correction_taken"].as_bool()),
        (0, Some(false))
    );
}
