//! `bundle` with the real program: parts of a rotated recording, and a list that is held against the bytes of the session
//! and of the bundle.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/plain.rs"]
#[allow(dead_code)]
mod plain;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::{Path, PathBuf};

use plain::plain_head;
use wheeltap::session::{Heard, Recorder, RecorderThread, Rotation, SessionSource, append_note};
use wheeltap::source::Source;
use wheeltap_parsers::{Input, Wire};
use without_screen::{Ended, Running};

fn run(folder: &Path, words: &[&str]) -> Ended {
    Running::wheeltap(folder, words).end()
}

/// A recording of plain lines, one every 100 ms, that goes on in new files; how many files there are.
fn rotated(folder: &Path) -> usize {
    let first = folder.join("a.wheeltap");
    let recorder = Recorder::create(&first, &plain_head()).unwrap();
    let thread = RecorderThread::start_rotating(
        recorder,
        64 << 20,
        Some(Rotation::new(first, plain_head(), Some(20_000), false)),
    );
    let thread = thread.unwrap();
    let mut offset = 0;
    for n in 0..1_000 {
        let text = ["way,port\n", "net up ssid Hollow Barn\n", "pace,71\n", "way,rest\n"][n % 4].as_bytes();
        let t_us = 100_000 * (n as i64 + 1);
        thread.queue().push(Heard::Read { wire: Wire::ToDrive, t_us, since_us: 900, offset, bytes: text.into() });
        thread.queue().push(Heard::Tick { t_us: t_us + 90_000 });
        offset += text.len() as u64;
    }
    thread.finish();
    (2..).take_while(|number| folder.join(format!("a-part{number}.wheeltap")).exists()).count() + 1
}

/// Time, place and bytes of every read.
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

fn places(path: &Path) -> Vec<(i64, u64, usize)> {
    reads(path).iter().map(|(at, offset, bytes)| (*at, *offset, bytes.len())).collect()
}

/// What `decode --check` says of where a session begins.
fn begins(folder: &Path, file: &str) -> String {
    let check = run(folder, &["decode", file, "--check"]);
    assert!(check.code() == 0 && check.text().contains("every line is whole"), "{}", check.text());
    let (_, words) = check.text().split_once("begins mid-way, at ").unwrap();
    words.lines().next().unwrap().to_owned()
}

#[test]
fn a_bundle_of_a_later_file_begins_where_that_file_does() {
    let folder = tempfile::tempdir().unwrap();
    assert!(rotated(folder.path()) > 2);
    let own = begins(folder.path(), "a-part2.wheeltap");
    let header = SessionSource::open(&folder.path().join("a-part2.wheeltap")).unwrap().header().clone();
    assert!(header.begins_us() > 1_000_000 && own.contains("(part 2)"), "{own}");
    // A remark of what came before stays in the whole of it.
    append_note(&folder.path().join("a-part2.wheeltap"), 500_000, "the first file").unwrap();
    let bundle = |name: &str, ends: &[&str]| -> PathBuf {
        let words = [&["bundle", "a-part2.wheeltap", "--out", name], ends].concat();
        let done = run(folder.path(), &words);
        assert_eq!(done.code(), 0, "{}", done.err);
        folder.path().join(name)
    };
    let whole = bundle("whole.wheeltap", &[]);
    assert_eq!(begins(folder.path(), "whole.wheeltap"), own);
    assert_eq!(SessionSource::open(&whole).unwrap().header().part, header.part);
    assert_eq!(places(&whole), places(&folder.path().join("a-part2.wheeltap")));
    assert!(std::fs::read_to_string(&whole).unwrap().contains("the first file"));
    // Asked to begin before it, it begins where it does.
    let early = bundle("early.wheeltap", &["--from", "1"]);
    assert_eq!(SessionSource::open(&early).unwrap().header().part, header.part);
    assert_eq!(places(&early), places(&whole));
    // Asked to begin inside it, it begins there.
    let from_us = header.begins_us() + 2_000_000;
    let later = bundle("later.wheeltap", &["--from", &format!("{:.6}", from_us as f64 / 1e6)]);
    let inside: Vec<_> = places(&whole).into_iter().filter(|(at, ..)| *at >= from_us).collect();
    assert_eq!(places(&later), inside);
    let session = SessionSource::open(&later).unwrap();
    assert_eq!((session.header().begins_us(), session.header().offsets()[0]), (from_us, inside[0].1));
    assert!(begins(folder.path(), "later.wheeltap").contains("(part 2)"));
    // A bundle of a bundle, too.
    let words = ["bundle", "later.wheeltap", "--out", "again.wheeltap"];
    assert_eq!(run(folder.path(), &words).code(), 0);
    assert_eq!(begins(folder.path(), "again.wheeltap"), begins(folder.path(), "later.wheeltap"));
    let none = run(folder.path(), &["bundle", "a-part2.wheeltap", "--to", "1"]);
    assert!(none.code() == 2 && none.err.contains("which begins at "), "{}", none.err);
    for file in [whole, early, later] {
        assert!(!std::fs::read_to_string(file).unwrap().contains("Hollow"));
    }
}
