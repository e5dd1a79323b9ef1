//! `bundle` with the real program: parts of a rotated recording, sessions that are still written to, names in the rover
//! file. What its list says is in `tests/bundle_list.rs`.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;
#[path = "sessions/plain.rs"]
#[allow(dead_code)]
mod plain;
#[path = "sessions/watched_port.rs"]
mod watched_port;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use plain::{TALK, plain_head, plain_session};
use watched_port::WatchedPort;
use wheeltap::session::{Heard, Line, Recorder, RecorderThread, Rotation, SessionSource, append_note};
use wheeltap::source::Source;
use wheeltap_parsers::{Input, Wire};
use without_screen::{Ended, Running, wait_for};

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
    (2..1_000).take_while(|number| folder.join(format!("a-part{number}.wheeltap")).exists()).count() + 1
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

/// A line that a reader refuses, for its time or its place, was never looked at: it must not go into the bundle.
#[test]
fn a_line_that_no_reader_takes_is_none_of_the_bundle() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["way,port", "pace,71", "way,rest", "way,port", "pace,72", "way,rest"]);
    let whole = std::fs::read(&path).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    let length = reads(&path).iter().map(|(_, _, bytes)| bytes.len()).sum::<usize>() as u64;
    let read = |t_us, offset| Line::Read {
        wire: Wire::ToDrive,
        t_us,
        since_us: 900,
        offset,
        bytes: b"pass Hollow Barn\n".as_slice().into(),
    };
    for lines in [
        vec![read(5_000_000, 0)],
        vec![Line::Tick { t_us: 6_000_000 }, read(5_000_000, length)],
        vec![Line::Tick { t_us: 60_000_000 }, read(5_000_000, length)],
    ] {
        let mut bytes = whole[..last].to_vec();
        for line in lines {
            line.write(&mut bytes);
        }
        std::fs::write(&path, &bytes).unwrap();
        let out = folder.path().join("out.wheeltap");
        let words = ["bundle", path.to_str().unwrap(), "--to", "30", "--out", out.to_str().unwrap()];
        let done = run(folder.path(), &words);
        assert_eq!(done.code(), 0, "{}", done.err);
        assert!(done.text().contains("says: Damaged in the session: "), "{}", done.text());
        assert!(!String::from_utf8_lossy(&std::fs::read(&out).unwrap()).contains("Hollow"));
        assert_eq!(places(&out).len(), reads(&out).len());
        std::fs::remove_file(out).unwrap();
    }
}

#[test]
fn a_session_that_is_still_being_recorded_is_refused_before_anything_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    let words = ["listen", wire.path.to_str().unwrap(), "--session", "a.wheeltap", "--headless"];
    let running = Running::wheeltap(folder.path(), &words);
    wait_for("the program listens", || running.said().contains("Recording to"));
    wire.write(50);
    let words = ["bundle", "a.wheeltap", "--rover", "plain-line", "--out", "out.wheeltap"];
    let refused = run(folder.path(), &words);
    assert_eq!((refused.code(), refused.text()), (2, ""), "{}", refused.err);
    assert!(refused.err.contains("still being recorded") && refused.err.contains("End the recording first"));
    assert!(!folder.path().join("out.wheeltap").exists());
    running.signal("INT");
    assert_eq!(running.end().code(), 0);
    let done = run(folder.path(), &words);
    assert_eq!(done.code(), 0, "{}", done.err);
    assert!(folder.path().join("out.wheeltap").exists());
}

/// The list is longer than a pipe holds, so the program stands in the middle of it while the file is written to.
#[test]
fn a_session_that_is_written_to_meanwhile_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wheeltap");
    let mut recorder = Recorder::create(&path, &plain_head()).unwrap();
    for n in 0..10_000 {
        recorder.keep(&Heard::Note { t_us: n, text: format!("a remark of some length, number {n}").into() });
    }
    recorder.close();
    let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.current_dir(folder.path()).args(["bundle", "a.wheeltap", "--out", "out.wheeltap"]);
    let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut list = vec![0];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut list).unwrap();
    append_note(&path, 5, "one more").unwrap();
    out.read_to_end(&mut list).unwrap();
    let ended = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&ended.stderr).into_owned();
    assert!(list.len() > 300_000 && ended.status.code() == Some(2), "{} {said}", list.len());
    assert!(said.contains("it was written to while the bundle was made"), "{said}");
    assert!(!folder.path().join("out.wheeltap").exists());
}

/// Names of a network, a person and a device in every place of the rover file that the link does not show, and in its name.
#[test]
fn no_name_in_the_rover_file_leaves_in_the_list_or_the_bundle() {
    let secrets = ["Hollow", "Kettle", "Barn", "Quince", "Medlar", "Sloe", "Anna", "Bullace"];
    for name in ["/srv/Anna/wifi-Bullace.toml", "C:\\Anna\\wifi-Bullace.toml"] {
        let folder = tempfile::tempdir().unwrap();
        let mut head = plain_head();
        let (file, text) = head.rover.as_mut().unwrap();
        *file = name.to_owned();
        for (old, new) in [
            ("name = \"Moonwagon, plain line\"", "name = \"Moonwagon ssid Hollow\""),
            ("version = \"1.0\"", "version = \"1.0 psk Kettle\""),
            ("command_board = \"Glimcot GC2\"", "command_board = \"GC2 host Barn\""),
            ("drive_board = \"Trudgeon TR4\"", "drive_board = \"TR4 wi\\u0066i Quince\""),
        ] {
            assert!(text.contains(old), "{old}");
            *text = text.replace(old, new);
        }
        let driver = text.split("[[driver]]\nname = \"").nth(1).unwrap().split('"').next().unwrap().to_owned();
        *text = text.replace(&format!("\"{driver}\""), "'token Medlar'");
        text.push_str("# psk = Sloe\n");
        let path = folder.path().join("a.wheeltap");
        let mut recorder = Recorder::create(&path, &head).unwrap();
        for (n, line) in TALK.iter().enumerate() {
            let (t_us, offset) = (100_000 * (n as i64 + 1), TALK[..n].iter().map(|line| line.len() as u64 + 1).sum());
            let bytes = format!("{line}\n").into_bytes().into();
            recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 900, offset, bytes });
        }
        recorder.close();
        let done = run(folder.path(), &["bundle", "a.wheeltap", "--out", "out.wheeltap"]);
        assert_eq!(done.code(), 0, "{}", done.err);
        let (removed, stays) = done.text().split_once("Stays:").unwrap();
        let bundle = String::from_utf8(std::fs::read(folder.path().join("out.wheeltap")).unwrap()).unwrap();
        for secret in secrets {
            assert!(!stays.contains(secret) && !bundle.contains(secret), "{secret} of {name}: {stays}");
        }
        assert!(bundle.contains("Moonwagon ssid") && stays.contains("Rover: Moonwagon ssid "), "{stays}");
        for told in ["the rover file's own name: 12 bytes", "the folders that the rover file lies in"] {
            assert!(removed.contains(told), "{told}: {removed}");
        }
        // It is read as before: the same frames, of the same meaning.
        let frames = |file: &str| -> Vec<String> {
            let ended = run(folder.path(), &["decode", file, "--json"]);
            ended.text().lines().filter(|line| line.starts_with("{\"kind\":\"frame\"")).map(str::to_owned).collect()
        };
        assert!(frames("out.wheeltap").len() >= 4);
        assert_eq!(frames("out.wheeltap"), frames("a.wheeltap"));
    }
}

/// A finding that quotes a line of free text: what is overwritten on the wire does not stand in the head either.
#[test]
fn what_a_finding_quotes_is_overwritten_too() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["way,port", "pace,71", "poce,93", "way,rest", "poce,93", "way,port"]);
    let found = run(folder.path(), &["decode", path.to_str().unwrap()]);
    assert!(found.text().contains("first \"poce,93\""), "{}", found.text());
    let done = run(folder.path(), &["bundle", path.to_str().unwrap(), "--out", "out.wheeltap"]);
    assert!(done.text().contains("first \"xxxxxxx\", where \"xxxxxxx\" would"), "{}", done.text());
    let bundle = std::fs::read_to_string(folder.path().join("out.wheeltap")).unwrap();
    assert!(!bundle.contains("poce") && !bundle.contains(",93"), "{bundle}");
}

/// Two drivers whose names differ in nothing but what looks like a password: in the bundle they would be one.
#[test]
fn a_rover_file_that_would_say_something_else_in_a_bundle_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let file = include_str!("../src/rover/files/plain-line.toml");
    for (names, terminals, refused) in [
        (["token 7", "token 8"], ["M1", "M2"], true),
        (["A", "B"], ["pw 1", "pw 2"], true),
        (["token 7", "B"], ["pw 1", "M2"], false),
    ] {
        let mut text = file.to_owned();
        for (old, new) in ["Oxpair A", "Oxpair B", "\"M1\"", "\"M2\""].into_iter().zip([
            names[0].to_owned(),
            names[1].to_owned(),
            format!("\"{}\"", terminals[0]),
            format!("\"{}\"", terminals[1]),
        ]) {
            assert!(text.contains(old));
            text = text.replace(old, &new);
        }
        std::fs::write(folder.path().join("r.toml"), text).unwrap();
        let words = ["bundle", path.to_str().unwrap(), "--rover", "r.toml", "--out", "out.wheeltap"];
        let done = run(folder.path(), &words);
        assert_eq!(done.code(), if refused { 2 } else { 0 }, "{names:?} {terminals:?}: {}", done.err);
        assert_eq!(done.err.contains("would be called the same"), refused, "{}", done.err);
        assert_eq!(folder.path().join("out.wheeltap").exists(), !refused);
    }
}
