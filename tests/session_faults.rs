//! What goes wrong around sessions: damaged and altered files, full disks, wrong names. Each verb says so, none hides it.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/plain.rs"]
mod plain;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;
use std::process::{Command, Stdio};

use plain::{TALK, plain_session};
use wheeltap::session::{Header, Heard, Recorder, SessionSource, WholeCheck, append_note, append_taught};
use wheeltap::source::Source;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::Wire;
use without_screen::{Ended, Running};

fn run(folder: &Path, words: &[&str]) -> Ended {
    Running::wheeltap(folder, words).end()
}

/// A line with its check, made by another library.
fn sealed(body: &str) -> String {
    format!("{body} {:08X}\n", crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(body.as_bytes()))
}

/// Flips a bit in the last line of `path` that holds `part`, a read and not the rover file; the number of that line.
fn hurt(path: &Path, part: &str) -> usize {
    let mut bytes = std::fs::read(path).unwrap();
    let at = memchr::memmem::rfind(&bytes, part.as_bytes()).unwrap();
    bytes[at] ^= 0x20;
    std::fs::write(path, &bytes).unwrap();
    memchr::memchr_iter(b'\n', &bytes[..at]).count() + 1
}

/// Lines that the check and the reader name.
fn named(path: &Path) -> [Vec<Option<u64>>; 2] {
    let check = WholeCheck::of(path, &mut |_| {}).unwrap();
    let mut session = SessionSource::open(path).unwrap();
    while session.next().unwrap().is_some() {}
    [check.torn(), session.torn()].map(|torn| torn.iter().map(|torn| torn.line).collect())
}

#[test]
fn a_name_that_is_not_there_is_wrong_use() {
    let folder = tempfile::tempdir().unwrap();
    for words in
        [&["decode", "gone.wheeltap", "--check"][..], &["decode", "gone.wheeltap"], &["export", "gone.wheeltap"]]
    {
        let ended = run(folder.path(), words);
        assert_eq!(ended.code(), 2, "{words:?}: {}", ended.err);
        assert!(ended.err.contains("gone.wheeltap: there is no such file"), "{}", ended.err);
    }
}

#[test]
fn standard_input_is_checked_like_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let check = |path: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
        let from = Stdio::from(std::fs::File::open(path).unwrap());
        command.args(["decode", "-", "--check"]).stdin(from).output().unwrap()
    };
    let whole = check(&path);
    let said = String::from_utf8(whole.stdout).unwrap();
    assert!(whole.status.success() && said.starts_with("standard input: every line is whole"), "{said}");
    let line = hurt(&path, "pace");
    let hit = check(&path);
    let said = String::from_utf8(hit.stdout).unwrap();
    assert!(hit.status.code() == Some(1) && said.contains(&format!("line {line} (byte ")), "{said}");
}

#[test]
fn a_full_disk_is_named_with_its_file_and_leaves_none_behind() {
    let folder = tempfile::tempdir().unwrap();
    let lines: Vec<String> = (0..400).map(|n| format!("pace,{}", n % 100)).collect();
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    plain_session(folder.path(), &lines);
    for verb in ["export plain.wheeltap --out table.csv", "bundle plain.wheeltap --out table.csv"] {
        // 8 blocks of 512 bytes; without the trap the signal would end the program (POSIX, ulimit and XFSZ).
        let line = format!("trap '' XFSZ; ulimit -f 8; exec \"$W\" {verb}");
        let mut shell = Command::new("sh");
        shell.args(["-c", &line]).current_dir(folder.path()).env("W", env!("CARGO_BIN_EXE_wheeltap"));
        let ended = shell.output().unwrap();
        let err = String::from_utf8(ended.stderr).unwrap();
        assert_eq!(ended.status.code(), Some(3), "{err}");
        assert!(err.contains("table.csv: cannot be written") && err.contains("Free some space"), "{err}");
        assert!(!folder.path().join("table.csv").exists(), "{verb}");
    }
}

#[test]
fn every_verb_names_a_damaged_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let line = hurt(&path, "pace");
    for words in [
        &["decode", "plain.wheeltap"][..],
        &["decode", "plain.wheeltap", "--strength"],
        &["export", "plain.wheeltap"],
        &["bundle", "plain.wheeltap"],
        &["compare", "plain.wheeltap", "plain.wheeltap"],
        &["diagnose", "plain.wheeltap"],
    ] {
        let ended = run(folder.path(), words);
        let place = format!("line {line} (byte ");
        assert!(ended.err.contains(&place) || ended.text().contains(&place), "{words:?}: {}", ended.err);
    }
}

#[test]
fn a_bundle_of_a_damaged_session_says_so_in_its_head() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let line = hurt(&path, "pace");
    // The recorder was cut off as well: the closing line is gone.
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, &text[..text.rfind("end ").unwrap()]).unwrap();
    let done = run(folder.path(), &["bundle", "plain.wheeltap", "--out", "part.wheeltap"]);
    assert_eq!(done.code(), 0, "{}", done.err);
    let bundle = SessionSource::open(&folder.path().join("part.wheeltap")).unwrap();
    let about = bundle.header().about.join("\n");
    assert!(about.contains(&format!("Damaged in the session: line {line} (byte ")), "{about}");
    assert!(about.contains("The session was not closed"), "{about}");
    let again = run(folder.path(), &["bundle", "part.wheeltap", "--out", "again.wheeltap", "--about", "second hand"]);
    assert_eq!(again.code(), 0, "{}", again.err);
    let again = SessionSource::open(&folder.path().join("again.wheeltap")).unwrap();
    let kept = &again.header().about;
    for text in &bundle.header().about {
        assert_eq!(kept.iter().filter(|other| *other == text).count(), 1, "{text} in {kept:?}");
    }
    assert!(kept.iter().any(|text| text == "second hand"), "{kept:?}");
}

#[test]
fn a_bundle_of_a_part_lists_what_goes_in_that_part() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    append_note(&path, 300_000, "pw=tin-kettle-7, on my hotspot Hollow Barn").unwrap();
    let part = run(folder.path(), &["bundle", "plain.wheeltap", "--to", "0.32"]);
    assert!(part.text().contains("such as: net up ssid Hollow Barn"), "{}", part.text());
    assert!(!part.text().contains("heap 91k"), "it comes after the part: {}", part.text());
    assert!(part.text().contains("note at 0.300 s: pw=xxxxxxxxxxxx, on my hotspot xxxxxxxxxxx"), "{}", part.text());
    let whole = run(folder.path(), &["bundle", "plain.wheeltap"]);
    assert!(whole.text().contains("heap 91k"), "{}", whole.text());
}

#[test]
fn a_taught_rover_file_stands_for_the_whole_session() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let text = "name = \"Night cart\"\n\n# two  spaces, a tab\t and \u{fc}\n";
    append_note(&path, 300_000, "before").unwrap();
    append_taught(&path, "first.toml", "# not this one").unwrap();
    append_taught(&path, "night cart.toml", text).unwrap();
    append_note(&path, 310_000, "after").unwrap();
    let session = SessionSource::open(&path).unwrap();
    assert_eq!(session.rover(), Some(("night cart.toml", text)));
    assert_eq!(named(&path), [Vec::new(), Vec::new()]);
    // The reader of another make, made from the paper, says the same.
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/session_reader.py");
    let out = Command::new("python3").arg("-B").arg(script).arg(&path).output().unwrap();
    let first = String::from_utf8(out.stdout).unwrap().lines().next().unwrap().to_owned();
    let first: serde_json::Value = serde_json::from_str(&first).unwrap();
    assert_eq!(first, serde_json::json!({"rover": "night cart.toml", "text": text}));
    // A file longer than the reader's first look at the end of the session.
    let long = "# a comment that goes on and on\n".repeat(4_000);
    append_taught(&path, "long.toml", &long).unwrap();
    assert_eq!(SessionSource::open(&path).unwrap().rover(), Some(("long.toml", long.as_str())));
}

#[test]
fn what_stands_behind_the_closing_line_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    append_note(&path, 300_000, "a note may").unwrap();
    assert_eq!(named(&path), [Vec::new(), Vec::new()]);
    let text = std::fs::read_to_string(&path).unwrap();
    let lines = text.lines().count() as u64;
    for body in ["tick 9000000", "> 9000000 1000 9999 abc", "volts 7"] {
        std::fs::write(&path, text.clone() + &sealed(body)).unwrap();
        let expected = vec![Some(lines + 1)];
        assert_eq!(named(&path), [expected.clone(), expected], "{body}");
        assert_eq!(run(folder.path(), &["decode", "plain.wheeltap", "--check"]).code(), 1);
    }
}

/// Lines that another program wrote with a right check and wrong fields: the check refuses what the reader refuses.
#[test]
fn the_check_refuses_the_fields_that_the_reader_refuses() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made.wheeltap");
    let head = sealed("session 1.1 other - -") + &sealed("link > 115200 8N1 0 bench") + &sealed("> 1000 10 0 ab\\0A");
    let mut wrong = 0;
    for body in [
        "> 2000 10 3 cd",
        "> 02000 10 3 cd",
        "> 2000 010 3 cd",
        "> 2000 10 03 cd",
        "> 2000 10 3",
        "> 2000 10 3 ",
        "> 2000 10  cd",
        "> 2000 10 3 \\41",
        "> 2000 10 3 \\0a",
        "> 2000 10 3 \\0",
        "> 2000 10 3 caf\u{e9}",
        "> 2305843009213693 10 3 cd",
        "> 2305843009213694 10 3 cd",
        "> 2000 99999999999999999999 3 cd",
        "> 2000 10 281474976710657 cd",
        "> -5 10 3 cd",
        "> 999 10 3 cd",
        "< 2000 10 0 cd",
        "lost 500 > 7",
        "tick 0",
        "session 1.1 other - -",
        "end 2000 3 3 0 0",
        "end 2000 3 3 0",
        "end 2000 9 3 0",
    ] {
        std::fs::write(&path, head.clone() + &sealed(body) + &sealed("note 5 x")).unwrap();
        let [check, reader] = named(&path);
        assert_eq!(check, reader, "{body}");
        wrong += check.len();
    }
    assert_eq!(wrong, 20, "the first, sixth, twelfth and 23rd alone are right");
}

#[test]
fn a_plain_log_begins_at_zero() {
    let folder = tempfile::tempdir().unwrap();
    for (line, right) in [
        (r#"{"t_us":-1,"wire":">","hex":"41"}"#, false),
        // Nothing had been waiting since before the log began.
        (r#"{"t_us":5,"e_us":-3,"wire":">","hex":"41"}"#, true),
    ] {
        std::fs::write(folder.path().join("log.jsonl"), format!("{line}\n")).unwrap();
        let ended = run(folder.path(), &["decode", "log.jsonl"]);
        if right {
            assert_eq!(ended.code(), 0, "{}", ended.err);
            continue;
        }
        assert!(ended.code() == 2 && ended.err.contains("t_us") && ended.err.contains("line 1"), "{}", ended.err);
    }
}

/// A recorder that was killed has put no closing line; what it taught is found all the same, wherever the file ends.
#[test]
fn a_taught_rover_file_is_found_after_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("killed.wheeltap");
    let facts =
        WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 1_000_000, port: "tap".to_owned() };
    let link = LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() };
    let mut recorder = Recorder::create(&path, &Header::new(link, None)).unwrap();
    let text = include_str!("../src/rover/files/plain-line.toml");
    let keep = |recorder: &mut Recorder, n: u64| {
        let bytes = b"way,ahead\nway,rest\n".repeat(20);
        let (t_us, offset) = (n as i64 * 10_000, n * bytes.len() as u64);
        recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 900, offset, bytes: bytes.into() });
    };
    for n in 0..2_000 {
        keep(&mut recorder, n);
    }
    let before = std::fs::metadata(&path).unwrap().len();
    for (name, text) in [("first.toml", "# not this one"), ("night cart.toml", text)] {
        recorder.keep(&Heard::Taught { t_us: 20_000_000, name: name.into(), text: text.into() });
    }
    let first = std::fs::metadata(&path).unwrap().len();
    for n in 2_000..12_000 {
        keep(&mut recorder, n);
    }
    drop(recorder);
    let whole = std::fs::read(&path).unwrap();
    assert!(whole.len() as u64 > first + (4 << 20), "more than what is searched: {}", whole.len());
    let rover = |length: u64| {
        std::fs::write(&path, &whole[..length as usize]).unwrap();
        SessionSource::open(&path).unwrap().rover().map(|(name, text)| (name.to_owned(), text.to_owned()))
    };
    let taught = Some(("night cart.toml".to_owned(), text.to_owned()));
    let step = (whole.len() as u64 - first) / 60;
    for length in (0..=60).map(|n| first + n * step).chain([first, whole.len() as u64]) {
        assert_eq!(rover(length), taught, "cut at {length} of {}", whole.len());
    }
    assert_eq!(rover(before), None);
    std::fs::write(&path, &whole).unwrap();
    assert_eq!(named(&path), [vec![], vec![]]);
    // The reader made from the paper alone says the same.
    let theirs = Command::new("python3").arg("tests/session_reader.py").arg(&path).output().unwrap();
    let theirs = String::from_utf8(theirs.stdout).unwrap();
    assert!(theirs.contains("night cart.toml"), "{}", theirs.lines().next().unwrap_or_default());
}

/// Set for the copy of the test below that may write no more than a little.
const LIMITED: &str = "WHEELTAP_TEST_LIMITED";

/// A note for which there is no room is not kept, and nothing of it stays. The room is a limit on the size of files
/// (`ulimit -f`, POSIX: in units of 512 bytes); the note reaches over it.
#[test]
fn a_note_without_room_leaves_nothing_behind() {
    if let Ok(path) = std::env::var(LIMITED) {
        let error = append_note(Path::new(&path), 1_000, &"no room ".repeat(2_500)).unwrap_err();
        println!("told: {error}");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let before = std::fs::read(&path).unwrap();
    let line = format!(
        "trap '' XFSZ; ulimit -f {}; exec \"$0\" --exact --nocapture a_note_without_room_leaves_nothing_behind",
        before.len() / 512 + 2
    );
    let program = std::env::current_exe().unwrap();
    let ended = Command::new("/bin/sh").args(["-c", &line]).arg(program).env(LIMITED, &path).output().unwrap();
    let said = String::from_utf8_lossy(&ended.stdout).into_owned();
    assert!(said.contains("told: ") && said.contains("the note was not kept"), "{said}");
    assert!(std::fs::read(&path).unwrap() == before, "a part of the note stayed");
    append_note(&path, 1_000, "room").unwrap();
    assert!(WholeCheck::of(&path, &mut |_| {}).unwrap().is_sound());
}

/// Lost while recording and damaged since are two causes: the words, the finding and its advice say which.
#[test]
fn a_record_damaged_on_the_disk_is_not_said_to_be_lost_by_the_recorder() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    hurt(&path, "pace");
    let ended = run(folder.path(), &["decode", path.to_str().unwrap()]);
    for part in ["7 bytes are missing here: the session is damaged", "FAULT: 7 bytes are missing: lines of the session"]
    {
        assert!(ended.text().contains(part), "{part}: {}", ended.text());
    }
    for part in ["could not be kept", "full, slow"] {
        assert!(!ended.text().contains(part), "{part}: {}", ended.text());
    }
    let json = run(folder.path(), &["decode", path.to_str().unwrap(), "--json"]);
    assert!(json.text().contains(r#""event":"missing""#) && !json.text().contains(r#""event":"lost""#));
    // What the recorder itself says it could not keep is told as before.
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &["way,port"]);
    let mut bytes = std::fs::read(&path).unwrap();
    bytes.truncate(memchr::memmem::rfind(&bytes, b"\nend ").unwrap() + 1);
    bytes.extend(sealed("lost 3000000 > 7").as_bytes());
    std::fs::write(&path, bytes).unwrap();
    let ended = run(folder.path(), &["decode", path.to_str().unwrap()]);
    assert!(ended.text().contains("7 bytes were received but could not be kept"), "{}", ended.text());
}

/// Any whole lines taken out of a rover file that was taught, its first and last among them: named, and not used.
#[test]
fn a_taught_rover_file_with_lines_missing_is_named_and_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let path = plain_session(folder.path(), &TALK);
    let head = SessionSource::open(&path).unwrap().rover().map(|(name, _)| name.to_owned());
    append_taught(&path, "first.toml", "# the one before").unwrap();
    append_taught(&path, "mine.toml", "a = 1\nb = 2\nc = 3\n").unwrap();
    let whole = std::fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let begins = lines.iter().rposition(|line| line.starts_with("taught mine.toml")).unwrap();
    assert_eq!((lines.len() - begins, named(&path)), (6, [Vec::new(), Vec::new()]));
    for (from, to) in (begins..lines.len()).flat_map(|from| (from + 1..=lines.len()).map(move |to| (from, to))) {
        if from == begins && to == lines.len() {
            continue;
        }
        let cut = [&lines[..from], &lines[to..]].concat().concat();
        std::fs::write(&path, &cut).unwrap();
        let [checked, read] = named(&path);
        assert!(!checked.is_empty() && checked == read, "without lines {from}..{to}: {checked:?} {read:?}");
        let name = SessionSource::open(&path).unwrap().rover().map(|(name, _)| name.to_owned());
        assert!(name != head && name.as_deref() == Some("first.toml"), "without lines {from}..{to}: {name:?}");
        let theirs = Command::new("python3").args(["-B", "tests/session_reader.py"]).arg(&path).output().unwrap();
        let theirs = String::from_utf8(theirs.stdout).unwrap();
        let torn = theirs.lines().filter(|line| line.contains("\"torn\"")).count();
        assert!(torn == checked.len() && theirs.contains("first.toml"), "without lines {from}..{to}: {theirs}");
    }
    let check = run(folder.path(), &["decode", path.to_str().unwrap(), "--check"]);
    assert!(check.code() == 1 && check.text().contains("taught rover file"), "{}", check.text());
}
