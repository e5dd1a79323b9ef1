//! What `bundle` lists as removed, held against the bytes of the session and of the bundle, for recordings made by chance.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/plain.rs"]
#[allow(dead_code)]
mod plain;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::{Path, PathBuf};

use plain::plain_head;
use serde_json::Value;
use wheeltap::session::{Heard, Line, Recorder, SessionSource, line};
use wheeltap::source::Source;
use wheeltap_parsers::{Input, Wire};
use without_screen::{Ended, Running};

fn run(folder: &Path, words: &[&str]) -> Ended {
    Running::wheeltap(folder, words).end()
}

/// A small source of chance, the same for the same seed.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % most
    }

    fn one<'a>(&mut self, of: &[&'a [u8]]) -> &'a [u8] {
        of[self.below(of.len())]
    }
}

/// Frames in which a secret may stand; the second is longer than what is kept of a frame for showing.
const FRAMES: &str = r#"
[[frame]]
name = "pass"
wire = ">"
role = "ignored"
line = "pass,<n>"
fields.n = { kind = "decimal", range = [0, 99999999] }

[[frame]]
name = "long"
wire = ">"
role = "ignored"
line = "state,a,bb,ccc,dddd,eeeee,ffffff,ggggggg,hhhhhhhh,iiiiiiiii,jjjjjjjjjj pass,<n>"
fields.n = { kind = "decimal", range = [0, 99999999] }
"#;

/// What may stand on the wire to the drive board.
const PIECES: [&[u8]; 12] = [
    b"way,port\n",
    b"pace,71\n",
    b"way,rest\n",
    b"pass,1234\n",
    b"state,a,bb,ccc,dddd,eeeee,ffffff,ggggggg,hhhhhhhh,iiiiiiiii,jjjjjjjjjj pass,567\n",
    b"net up ssid Hollow Barn psk tin-kettle-7\n",
    b"heap 91k\r\n",
    b"pace,host Barn\n",
    b"ets Jun  8 2016 00:22:57\n",
    b"rst:0x1 (POWERON_RESET),boot:0x13 host=Barn\n",
    b"\x81\x92\xA3 \x80 Hollow Barn \xF4\xE5\xD6\n",
    b"xbox xxxx\n",
];

/// A recording of such pieces, noise and long texts on two wires, with notes and a port that goes away; how often it was
/// not closed and ends in a line of a later version.
fn made(folder: &Path, seed: u64) -> PathBuf {
    let mut dice = Dice(seed);
    let mut wires = [Vec::new(), Vec::new()];
    for _ in 0..60 {
        wires[0].extend(dice.one(&PIECES));
        match dice.below(20) {
            0 => wires[0].extend((0..400).map(|_| 0x80 + dice.below(0x80) as u8)),
            1 => wires[0].extend(b"heap of hay ".repeat(30)),
            _ => {}
        }
        wires[1].extend(dice.one(&[b"seen 02:00:5e:10:00:01\n", b"ok\n", b"\xFF\x00\x81", b"token abc\n"]));
    }
    let mut head = plain_head();
    head.about = vec!["the bench, wifi Hollow Barn".to_owned(), "wheels up".to_owned()];
    let [facts, _] = head.link.wires.clone();
    head.link.wires[1] = facts;
    let (_, rover) = head.rover.as_mut().unwrap();
    *rover = rover.replace("longest = 64 ", "longest = 200 ") + FRAMES + "# bench, psk=tin\n";
    let path = folder.join(format!("made-{seed}.wheeltap"));
    let mut recorder = Recorder::create(&path, &head).unwrap();
    let (mut t_us, mut offsets) = (0, [0, 0]);
    while offsets[0] < wires[0].len() || offsets[1] < wires[1].len() {
        t_us += 1_000 + dice.below(50_000) as i64;
        let wire = Wire::BOTH[dice.below(2)];
        let (bytes, offset) = (&wires[wire.index()], &mut offsets[wire.index()]);
        let read = &bytes[*offset..bytes.len().min(*offset + 1 + dice.below(60))];
        if !read.is_empty() {
            recorder.keep(&Heard::Read { wire, t_us, since_us: 900, offset: *offset as u64, bytes: read.into() });
            *offset += read.len();
        }
        let text = ["RL hums", "joined wifi Hollow Barn", "Passwort: Kessel", "xxx pw x"][dice.below(4)];
        match dice.below(30) {
            0 => recorder.keep(&Heard::Note { t_us, text: text.into() }),
            1 => recorder.keep(&Heard::Gone { t_us, wire, reason: "host barn is gone".into() }),
            2 => recorder.keep(&Heard::Tick { t_us }),
            _ => {}
        }
    }
    if seed.is_multiple_of(2) {
        recorder.close();
    } else {
        drop(recorder);
        let mut bytes = std::fs::read(&path).unwrap();
        Line::Unknown { word: "later".into() }.write(&mut bytes);
        std::fs::write(&path, bytes).unwrap();
    }
    path
}

/// All lines of one kind, as `of` takes them.
fn texts(path: &Path, of: impl Fn(Line<'_>) -> Option<(i64, String)>) -> Vec<(i64, String)> {
    let bytes = std::fs::read(path).unwrap();
    bytes.split(|byte| *byte == b'\n').filter_map(|line| of(line::parse(line).ok()?)).collect()
}

fn note(line: Line<'_>) -> Option<(i64, String)> {
    if let Line::Note { t_us, text } = line { Some((t_us, text.into_owned())) } else { None }
}

fn gone(line: Line<'_>) -> Option<(i64, String)> {
    if let Line::Gone { t_us, reason, .. } = line { Some((t_us, reason.into_owned())) } else { None }
}

fn about(line: Line<'_>) -> Option<(i64, String)> {
    if let Line::About { text } = line { Some((0, text.into_owned())) } else { None }
}

/// The bytes that differ, each of which has to be an x now.
fn changed<'a>(before: &'a [u8], after: &'a [u8]) -> Vec<usize> {
    assert_eq!(before.len(), after.len());
    let places: Vec<usize> = (0..before.len()).filter(|at| before[*at] != after[*at]).collect();
    assert!(places.iter().all(|at| after[*at] == b'x'), "{}", String::from_utf8_lossy(after));
    places
}

/// Bytes that differ in texts of one kind, and in how many texts.
fn changed_texts(before: &[(i64, String)], after: &[(i64, String)]) -> (u64, u64) {
    assert!(before.len() <= after.len());
    let each = before.iter().zip(after).map(|(old, new)| {
        assert_eq!(old.0, new.0);
        changed(old.1.as_bytes(), new.1.as_bytes()).len() as u64
    });
    each.fold((0, 0), |(bytes, texts), count| (bytes + count, texts + u64::from(count > 0)))
}

/// The stretch of a wire that `decode --json` names: its kind, and how many bytes of it stand before `offset`.
fn lies_in<'d>(decoded: &'d [Value], wire: &str, offset: u64) -> (&'d Value, u64) {
    let holds = |line: &&Value| {
        let begins = line["offset"].as_u64().unwrap();
        line["wire"] == wire && (begins..begins + line["len"].as_u64().unwrap()).contains(&offset)
    };
    let line = decoded.iter().find(holds).unwrap();
    (line, offset - line["offset"].as_u64().unwrap())
}

/// Under which heading a changed byte has to be listed; decode keeps 256 bytes of what is no frame.
fn heading(line: &Value, before: u64) -> &'static str {
    match (line["kind"].as_str().unwrap(), line["class"] == "free", before < 256) {
        ("text", true, _) => "free text",
        ("text", false, true) => "names and addresses in start-up text",
        ("text", false, false) => "ends of long start-up text",
        ("damage", _, true) => "names and addresses in damaged frames",
        ("damage", _, false) => "ends of long damaged pieces",
        ("noise", _, true) => "text in noise",
        ("noise", _, false) => "ends of long noise",
        _ => "names and addresses in good frames",
    }
}

/// Every read, with its wire.
fn wire_reads(path: &Path) -> BTreeMap<(u64, &'static str), Vec<u8>> {
    let mut session = SessionSource::open(path).unwrap();
    let mut all = BTreeMap::new();
    while let Some(input) = session.next().unwrap() {
        if let Input::Chunk(chunk) = input {
            let wire = if chunk.wire == Wire::ToDrive { ">" } else { "<" };
            all.insert((chunk.offset, wire), chunk.bytes.to_vec());
        }
    }
    all
}

/// What the list has to say, reckoned from the session and the bundle alone.
fn due(folder: &Path, session: &Path, bundle: &Path, part: Range<i64>) -> BTreeSet<String> {
    let decoded = run(folder, &["decode", session.to_str().unwrap(), "--json"]);
    let lines = decoded.text().lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    let decoded: Vec<Value> = lines.filter(|line| line["len"].is_u64()).collect();
    let (before, after) = (wire_reads(session), wire_reads(bundle));
    let (mut bytes, mut frames, mut known) = (BTreeMap::<&str, u64>::new(), BTreeSet::new(), BTreeSet::new());
    for ((offset, wire), after) in &after {
        for at in changed(&before[&(*offset, *wire)], after) {
            let (line, inside) = lies_in(&decoded, wire, offset + at as u64);
            *bytes.entry(heading(line, inside)).or_default() += 1;
            if line["kind"] == "frame" {
                frames.insert((*wire, line["offset"].as_u64()));
            }
        }
        for at in 0..after.len() {
            let (line, _) = lies_in(&decoded, wire, offset + at as u64);
            if line["kind"] == "text" && line["class"] != "free" {
                known.insert((*wire, line["offset"].as_u64()));
            }
        }
    }
    let mut due: BTreeSet<String> = bytes.iter().map(|(what, bytes)| format!("{what}: {bytes} bytes")).collect();
    if !frames.is_empty() {
        due.insert(format!("{} good frames are hit and will be read as damaged", frames.len()));
    }
    let inside = |texts: Vec<(i64, String)>| texts.into_iter().filter(|(at, _)| part.contains(at)).collect::<Vec<_>>();
    for (of, what) in [
        (note as fn(Line<'_>) -> Option<(i64, String)>, "notes"),
        (gone, "reasons for which a port went away"),
        (about, "sentences that it says of itself"),
    ] {
        let old = texts(session, of);
        let old = if what.starts_with("sentences") { old } else { inside(old) };
        let new = texts(bundle, of);
        assert!(what.starts_with("sentences") || new.len() == old.len());
        let (bytes, count) = changed_texts(&old, &new);
        if bytes > 0 {
            due.insert(format!("names and addresses in {what}: {bytes} bytes in {count} of them"));
        }
    }
    let [old, new] = [session, bundle].map(|path| SessionSource::open(path).unwrap().rover().unwrap().1.to_owned());
    let rover = changed(old.as_bytes(), new.as_bytes()).len();
    due.insert(format!("names and addresses in comments and names of the rover file: {rover} bytes"));
    due.insert("the name of the port".to_owned());
    if texts(session, |line| if let Line::Unknown { .. } = line { Some((0, String::new())) } else { None }).len() == 1 {
        due.insert("1 whole line of a kind that is not known here".to_owned());
    }
    due.insert(match known.len() {
        0 => "orders, answers, times".to_owned(),
        1 => "answers, one piece of known".to_owned(),
        many => format!("answers, {many} pieces of known"),
    });
    due
}

/// What the list says: its lines under "Removed" but the examples, and of what stays the start-up text.
fn listed(shown: &str) -> BTreeSet<String> {
    let (removed, stays) = shown.split_once("Stays:\n").unwrap();
    let lines = removed.lines().skip(1).filter(|line| !line.contains("such as: ")).map(str::trim);
    let mut listed: BTreeSet<String> =
        lines.filter(|line| *line != "nothing on the wires").map(str::to_owned).collect();
    let (_, kept) = stays.lines().next().unwrap().split_once("orders, ").unwrap();
    let kept = kept.split(" start-up text").next().unwrap().trim_end_matches(", wall clock");
    listed.insert(format!("{}{kept}", if kept.contains("known") { "" } else { "orders, " }));
    listed
}

/// Whatever stands in a session, and whatever part is asked for: each byte that differs is listed under its heading, and
/// nothing else is.
#[test]
fn the_list_is_what_the_bundle_lacks_of_the_session_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    let mut headings = BTreeSet::new();
    for seed in 1..=24 {
        let session = made(folder.path(), seed);
        let ends_us = SessionSource::open(&session).unwrap().length().unwrap();
        let mut dice = Dice(seed + 1_000);
        let from = dice.below(ends_us as usize / 2) as i64;
        let to = from + 1 + dice.below(ends_us as usize / 2) as i64;
        let seconds = |at: i64| format!("{}.{:06}", at / 1_000_000, at % 1_000_000);
        let out = folder.path().join(format!("bundle-{seed}.wheeltap"));
        let mut words = vec!["bundle".to_owned(), session.display().to_string()];
        let part = match seed % 3 {
            0 => i64::MIN..i64::MAX,
            1 => from..i64::MAX,
            _ => from..to + 1,
        };
        if part.start >= 0 {
            words.extend(["--from".to_owned(), seconds(from)]);
        }
        if part.end < i64::MAX {
            words.extend(["--to".to_owned(), seconds(to)]);
        }
        let mut words: Vec<&str> = words.iter().map(String::as_str).collect();
        let only_shown = run(folder.path(), &words);
        words.extend(["--out", out.to_str().unwrap()]);
        let done = run(folder.path(), &words);
        assert_eq!((only_shown.code(), done.code()), (0, 0), "{}", done.err);
        let shown = only_shown.text().strip_suffix("Nothing is written yet: name a file with --out FILE.\n").unwrap();
        assert_eq!(shown, done.text());
        let listed = listed(shown);
        assert_eq!(listed, due(folder.path(), &session, &out, part), "seed {seed}, {words:?}: {shown}");
        headings.extend(listed.iter().map(|line| line.split(':').next().unwrap().to_owned()));
        let check = run(folder.path(), &["decode", out.to_str().unwrap(), "--check"]);
        assert!(check.code() == 0 && check.text().contains("every line is whole"), "{}", check.text());
    }
    for met in ["free text", "names and addresses in start-up text", "names and addresses in damaged frames"] {
        assert!(headings.contains(met), "{headings:?}");
    }
    for met in ["names and addresses in good frames", "text in noise", "ends of long noise", "the name of the port"] {
        assert!(headings.contains(met), "{headings:?}");
    }
}
