//! A recording that goes on in a new file cuts no order in two, and grows no file beyond what it says.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::{Path, PathBuf};

use heard::{Got, all, header};
use wheeltap::session::{Heard, NewPart, Recorder, RecorderThread, Rotation, SessionSource};
use wheeltap_parsers::Wire;
use without_screen::{Rover, Running, wait_for};

const SIZE: u64 = 20_000;

/// Two wires at 115200 baud, as the adapters hand them over: an order in three reads, its answer in two, then silence for
/// what is left of `every_us`.
fn orders(every_us: i64, count: i64) -> Vec<Heard> {
    let (mut all, mut offsets) = (Vec::new(), [0, 0]);
    for n in 0..count {
        let begins = 1_000_000 + n * every_us;
        let order = format!("order {n:06} forward 40\n");
        let answer = format!("answer {n:06}\n");
        let (order, answer) = (order.as_bytes(), answer.as_bytes());
        let pieces = [
            (Wire::ToDrive, 1_000, &order[..8]),
            (Wire::ToDrive, 2_000, &order[8..16]),
            (Wire::FromDrive, 2_500, &answer[..5]),
            (Wire::ToDrive, 3_000, &order[16..]),
            (Wire::FromDrive, 3_500, &answer[5..]),
        ];
        for (wire, at, bytes) in pieces {
            let offset = &mut offsets[wire.index()];
            all.push(Heard::Read { wire, t_us: begins + at, since_us: 900, offset: *offset, bytes: bytes.into() });
            *offset += bytes.len() as u64;
            // A look in the middle of an order that found nothing on either wire.
            all.push(Heard::Tick { t_us: begins + at + 400 });
        }
        all.push(Heard::Tick { t_us: begins + every_us });
    }
    all
}

/// Records them into files of [`SIZE`] bytes; the files, and what was said of the last.
fn rotated(folder: &Path, heard: &[Heard]) -> (Vec<PathBuf>, Option<NewPart>, u64) {
    rotated_at(folder, heard, Some(SIZE))
}

/// The same with a new file at a size, or where the local day changes.
fn rotated_at(folder: &Path, heard: &[Heard], size: Option<u64>) -> (Vec<PathBuf>, Option<NewPart>, u64) {
    let first = folder.join("a.wheeltap");
    let recorder = Recorder::create(&first, &header()).unwrap();
    let rotation = Rotation::new(first, header(), size, size.is_none());
    let patience = rotation.patience();
    let thread = RecorderThread::start_rotating(recorder, 64 << 20, Some(rotation)).unwrap();
    for one in heard {
        thread.queue().push(one.clone());
    }
    let status = thread.finish();
    let name = |number: usize| match number {
        1 => folder.join("a.wheeltap"),
        number => folder.join(format!("a-part{number}.wheeltap")),
    };
    ((1..1_000).map(name).take_while(|path| path.exists()).collect(), status.newest_part(), patience)
}

/// What one file holds of each wire.
fn texts(path: &Path) -> [String; 2] {
    let mut texts = [Vec::new(), Vec::new()];
    for got in all(&mut SessionSource::open(path).unwrap()) {
        if let Got::Chunk { wire, bytes, .. } = got {
            texts[wire.index()].extend(bytes);
        }
    }
    texts.map(|text| String::from_utf8(text).unwrap())
}

#[test]
fn no_order_lies_half_in_one_file_and_half_in_the_next() {
    // Every 40 ms: beyond the 17 ms that a byte can wait in the adapter.
    let heard = orders(40_000, 1_000);
    let folder = tempfile::tempdir().unwrap();
    let (files, newest, patience) = rotated(folder.path(), &heard);
    assert!(files.len() > 5, "{files:?}");
    assert!(newest.as_ref().is_some_and(|part| part.in_silence && part.number == files.len() as u64), "{newest:?}");
    let mut lines = 0;
    for file in &files {
        assert!(std::fs::metadata(file).unwrap().len() < SIZE + patience, "{file:?}");
        for (text, begins) in texts(file).iter().zip(["order ", "answer "]) {
            assert!(text.ends_with('\n') && text.lines().all(|line| line.starts_with(begins)), "{file:?}: {text}");
            lines += text.lines().count();
        }
    }
    assert_eq!(lines, 2_000);
}

/// A silence shorter than a byte may wait in the adapter proves nothing at first; but it is better than none.
#[test]
fn where_only_the_looks_show_a_silence_it_is_taken_later() {
    let folder = tempfile::tempdir().unwrap();
    let (files, newest, patience) = rotated(folder.path(), &orders(15_000, 1_000));
    assert!(files.len() > 4 && newest.is_some_and(|part| part.in_silence), "{files:?}");
    for file in files.iter().rev().skip(1) {
        let length = std::fs::metadata(file).unwrap().len();
        assert!((SIZE + patience / 2..SIZE + patience).contains(&length), "{file:?}: {length}");
        assert!(texts(file).iter().all(|text| text.ends_with('\n')), "{file:?}");
    }
}

#[test]
fn where_no_wire_is_ever_silent_a_file_grows_no_further_than_it_says() {
    let read = |n: i64| Heard::Read {
        wire: Wire::ToDrive,
        t_us: 1_000_000 + n * 1_000,
        since_us: 900,
        offset: n as u64 * 11,
        bytes: b"order order".as_slice().into(),
    };
    let folder = tempfile::tempdir().unwrap();
    let heard: Vec<Heard> = (0..5_000).flat_map(|n| [read(n), Heard::Tick { t_us: 1_000_500 + n * 1_000 }]).collect();
    let (files, newest, patience) = rotated(folder.path(), &heard);
    assert!(files.len() > 4 && newest.is_some_and(|part| !part.in_silence), "{files:?}");
    let longest_line = 100;
    for file in &files {
        assert!(std::fs::metadata(file).unwrap().len() < SIZE + patience + 2 * longest_line, "{file:?}");
    }
}

/// Midnight comes in the middle of an order, and the file is not large: it waits for the silence behind the answer.
#[test]
fn a_day_that_changes_waits_for_silence() {
    let folder = tempfile::tempdir().unwrap();
    let mut heard = orders(40_000, 50);
    let midnight = heard.iter().position(|one| one.t_us() == 2_001_000).unwrap() + 1;
    // 2026-05-03T00:00:00+02:00, and a second of the day that the recording began in; a day of RFC 3339.
    let wall = |t_us, unix_s: i64| Heard::Wall { t_us, unix_us: unix_s * 1_000_000, offset_min: 120 };
    heard.insert(midnight, wall(2_001_100, 1_777_759_200));
    heard.insert(midnight / 2, wall(heard[midnight / 2].t_us(), 1_777_759_199));
    let (files, newest, _) = rotated_at(folder.path(), &heard, None);
    assert_eq!(files.len(), 2, "{files:?}");
    assert!(newest.is_some_and(|part| part.in_silence && part.number == 2));
    let [first, second] = [0, 1].map(|file| texts(&files[file]));
    // The 26th order begins at 2 s; it and its answer stand in the first file to their ends.
    for (wire, begins) in [(0, "order 000026 "), (1, "answer 000026\n")] {
        assert_eq!(first[wire].lines().count(), 26);
        assert!(first[wire].ends_with('\n') && second[wire].starts_with(begins), "{}", second[wire]);
        assert_eq!(second[wire].lines().count(), 24);
    }
    assert!(std::fs::metadata(&files[0]).unwrap().len() < SIZE);
}

/// The whole program on a pretend port: it says which file it goes on in, a reader of that file is told that it begins
/// mid-way, and what cannot be a size is answered with what can.
#[test]
fn each_new_file_is_named_and_says_that_it_begins_midway() {
    let folder = tempfile::tempdir().unwrap();
    let run = |words: &[&str]| Running::wheeltap(folder.path(), words).end();
    let said = run(&["listen", "no-port", "--rotate", "20KB"]).err;
    assert!(["`day`", "kB, MB or GB", "20kB"].iter().all(|part| said.contains(part)), "{said}");
    let rover = Rover::start(folder.path(), &["--like", "cue-line", "--panel", "off"]);
    let port = rover.ports()[0].to_owned();
    let words = ["listen", &port, "--rover", "cue-line", "--session", "a.wheeltap", "--rotate", "10kB", "--headless"];
    let running = Running::wheeltap(folder.path(), &words);
    wait_for("a new file is named", || running.said().contains("goes on in a-part2.wheeltap, part 2. Every wire was"));
    running.signal("INT");
    assert_eq!(running.end().code(), 0);
    rover.stop();
    let decoded = run(&["decode", "a-part2.wheeltap"]);
    assert!(decoded.err.contains("a-part2.wheeltap begins mid-way, at "), "{}", decoded.err);
    let checked = run(&["decode", "a-part2.wheeltap", "--check"]);
    assert!(
        checked.text().contains("begins mid-way, at ") && checked.text().contains("(part 2)"),
        "{}",
        checked.text()
    );
    let first = run(&["decode", "a.wheeltap"]);
    assert!(!first.err.contains("mid-way") && !first.text().contains("not whole"), "{} {}", first.err, first.text());
}
