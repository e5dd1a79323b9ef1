//! `logs/FORMAT.md` is enough to make another reader: one in another language, made from it alone, agrees with ours.
//!
//! It needs Python 3, which the other decoder checks need too.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;

use std::path::{Path, PathBuf};
use std::process::Command;

use heard::{from_bytes, heard, write};
use serde_json::{Value, json};
use wheeltap::session::{SessionSource, WholeCheck};
use wheeltap::source::Source;
use wheeltap_parsers::Input;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn python(words: &[&str]) -> String {
    let out = Command::new("python3").arg(root().join("tests/session_reader.py")).args(words).output();
    let out = out.expect("Python 3 is installed");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn theirs(bytes: &[u8]) -> Vec<Value> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), bytes).unwrap();
    python(&[file.path().to_str().unwrap()]).lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn input(input: &Input<'_>, latency: i64) -> Value {
    match *input {
        Input::Chunk(chunk) => {
            let hex = chunk.bytes.iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"));
            let side = chunk.wire.symbol().to_string();
            json!({"read": side, "t": chunk.hi / 1000, "offset": chunk.offset, "hex": hex})
        }
        Input::Tick(at) => json!({"tick": (at + latency) / 1000}),
        Input::Note { at, text } => json!({"note": text, "t": at / 1000}),
        Input::PortGone { at, wire } => json!({"gone": wire.symbol().to_string(), "t": at / 1000}),
        Input::PortBack { at, wire } => json!({"back": wire.symbol().to_string(), "t": at / 1000}),
        Input::Lost { wire, bytes, .. } => json!({"lost": wire.symbol().to_string(), "count": bytes}),
        Input::Pins(_) | Input::Clock(_) => json!("not in a session"),
    }
}

/// The same of our reader, as a stream: notes stay where they stand in the file.
fn ours(bytes: &[u8]) -> Vec<Value> {
    let mut session = from_bytes(bytes).unwrap();
    let rover = session.rover().map(|(name, text)| json!({"rover": name, "text": text}));
    let mut all: Vec<Value> = rover.into_iter().collect();
    loop {
        let latency = session.link().latency();
        let Some(next) = session.next().unwrap() else { break };
        // That bytes may be missing is no line of the file: our reader says so to the clocks.
        if matches!(next, Input::Lost { bytes: 0, damaged: true, .. }) {
            continue;
        }
        all.push(input(&next, latency));
    }
    all.extend(session.torn().iter().map(|torn| json!({"torn": torn.line, "byte": torn.byte})));
    all
}

fn sample() -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a");
    write(&path, &heard(300), true);
    std::fs::read(path).unwrap()
}

#[test]
fn both_readers_agree_on_a_whole_session() {
    let bytes = sample();
    let ours = ours(&bytes);
    assert!(ours.len() > 350, "{}", ours.len());
    assert_eq!(theirs(&bytes), ours);
}

#[test]
fn both_readers_agree_on_damaged_sessions() {
    let bytes = sample();
    let body = bytes.windows(3).position(|part| part == b"\n> ").unwrap() + 1;
    let mut named = 0;
    // Flipped bits, cut tails and lines taken out, at places spread by a multiplier prime to the length.
    for n in 0..40_usize {
        let at = body + (n * 7_919) % (bytes.len() - body);
        let mut hit = bytes.clone();
        match n % 4 {
            0 | 1 => hit[at] ^= 1 << (n % 8),
            2 => hit.truncate(at),
            _ => {
                let begin = hit[..at].iter().rposition(|&byte| byte == b'\n').unwrap() + 1;
                let end = at + hit[at..].iter().position(|&byte| byte == b'\n').unwrap() + 1;
                hit.drain(begin..end);
            }
        }
        let ours = ours(&hit);
        assert_eq!(theirs(&hit), ours, "case {n} at {at}");
        named += ours.iter().filter(|one| one.get("torn").is_some()).count();
    }
    assert!(named >= 20, "only {named} damaged lines were named");
}

#[test]
fn a_session_written_by_the_other_program_is_read() {
    let file = tempfile::NamedTempFile::new().unwrap();
    python(&["--write", file.path().to_str().unwrap()]);
    let bytes = std::fs::read(file.path()).unwrap();
    let mut session = SessionSource::open(file.path()).unwrap();
    assert_eq!(session.header().about, ["written by another program \u{2014} \\ and LF \n"]);
    assert_eq!(session.rover(), Some(("one rover.toml", "name = \"x\"\t\n")));
    assert_eq!(session.header().offsets(), [100, 50]);
    let mut every = Vec::new();
    while let Some(next) = session.next().unwrap() {
        if let Input::Chunk(chunk) = next {
            every.push(chunk.bytes.to_vec());
        }
    }
    assert_eq!(every, [(0..=255).collect::<Vec<u8>>(), b"  ".to_vec(), b"\\\n".to_vec()]);
    assert_eq!(session.torn(), []);
    assert_eq!(ours(&bytes), theirs(&bytes));
    let check = WholeCheck::of(file.path(), &mut |_| {}).unwrap();
    assert!(check.is_sound() && check.closed, "{:?}", check.torn());
    assert_eq!((check.heard, check.lost, check.lines), ([258, 2], 9, 19));
}

#[test]
fn the_worked_examples_of_the_paper_are_right() {
    let paper = std::fs::read_to_string(root().join("logs/FORMAT.md")).unwrap();
    let example = paper.split("```\n").find(|part| part.starts_with("session 1.2")).unwrap();
    let ours = ours(example.as_bytes());
    assert_eq!(theirs(example.as_bytes()), ours);
    let read = json!({"read": ">", "t": 3_012_345, "offset": 16, "hex": "615c6200"});
    assert!(ours.contains(&read), "{ours:?}");
    assert!(!ours.iter().any(|one| one.get("torn").is_some()), "{ours:?}");
}

#[test]
fn the_whole_check_names_what_the_reader_names() {
    let bytes = sample();
    let folder = tempfile::tempdir().unwrap();
    let path: &Path = &folder.path().join("hit");
    for n in 0..200_usize {
        let mut hit = bytes.clone();
        let at = 900 + (n * 7_919) % (bytes.len() - 900);
        hit[at] ^= 1 << (n % 8);
        std::fs::write(path, &hit).unwrap();
        let mut session = SessionSource::open(path).unwrap();
        while session.next().unwrap().is_some() {}
        let check = WholeCheck::of(path, &mut |_| {}).unwrap();
        let lines = |torn: &[wheeltap::session::TornLine]| torn.iter().map(|torn| torn.line).collect::<Vec<_>>();
        assert_eq!(lines(check.torn()), lines(session.torn()), "byte {at}");
        assert!(!check.is_sound());
    }
}
