//! The teach page of the real console: a panel is pressed behind a pretend port, a rover file is written beside the
//! session and used at once, with everything recorded before.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;

use std::time::Duration;

use portable_pty::CommandBuilder;
use terminal::Terminal;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::mecanum::{Motion, Signs};
use wheeltap::session::{SessionSource, WholeCheck};
use wheeltap::source::pseudo_port::PseudoPort;

/// The words of the shipped plain line's panel, in the order in which they are asked for.
const WORDS: [&str; 10] = [
    "ahead",
    "astern",
    "port",
    "starboard",
    "ahead-port",
    "ahead-starboard",
    "astern-port",
    "astern-starboard",
    "spin-port",
    "spin-starboard",
];

struct Bench {
    folder: tempfile::TempDir,
    port: PseudoPort,
    console: Terminal,
}

impl Bench {
    fn new() -> Self {
        Self::with(&[])
    }

    /// With more words behind `listen`.
    fn with(words: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let port = PseudoPort::open(None).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.cwd(folder.path());
        command.args(["listen", port.path().to_str().unwrap(), "--session", "lesson.wheeltap"]);
        command.args(words);
        let mut console = Terminal::run(command, 110, 60);
        console.limit(Duration::from_secs(120));
        console.wait_for("teach");
        Self { folder, port, console }
    }

    /// Puts a line on the wire and waits until the page shows that it was heard.
    fn put(&mut self, line: &str) {
        let shown = format!("heard     {line}");
        let count = |screen: &vt100::Screen| screen.contents().lines().filter(|row| row.trim() == shown).count();
        let before = self.console.look(count);
        self.port.write(format!("{line}\n").as_bytes()).unwrap();
        self.console.wait_until(&shown, Duration::from_secs(20), |screen| count(screen) > before);
    }

    fn teach(&mut self) {
        self.console.send("e");
        self.console.wait_for("RESET (is the lead right?)");
        self.put("eye ok heap 91k net up");
        self.console.send("\r");
        self.console.wait_for("lead, ground and line rate are right");
        for (number, word) in WORDS.into_iter().enumerate() {
            self.console.wait_for(&format!("{:>2} of 15", number + 2));
            self.put(&format!("way,{word}"));
            self.put("way,rest");
            if number == 0 {
                self.console.send("\r");
            }
            self.console.wait_for(&format!("is `{word}`"));
        }
        self.console.wait_for("DUTY CONTROL");
        for line in ["pace,0", "way,ahead", "way,rest", "pace,255"] {
            self.put(line);
        }
        self.console.send("\r");
        self.console.wait_for("EVERYTHING ELSE");
        for line in ["lamp,0", "lamp,255"] {
            self.put(line);
        }
        self.console.send("\r");
        self.console.wait_for("NAME");
        self.console.send("Night cart\r");
        self.console.wait_for("WIRING");
        self.console.send("\r");
    }
}

fn moves(rover: &RoverFile) -> Vec<(String, Option<Motion>, Signs)> {
    let mut rows: Vec<_> =
        rover.meaning.moves.iter().map(|row| (format!("{:?}", row.code), row.motion, row.signs)).collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    rows
}

#[test]
fn the_page_writes_the_rover_file_of_the_link_and_uses_it_for_all_that_was_recorded() {
    let mut bench = Bench::new();
    std::fs::write(bench.folder.path().join("lesson.toml"), "precious").unwrap();
    bench.teach();
    bench.console.wait_for("lesson-2.toml is written");
    bench.console.send("maybe\r");
    bench.console.wait_for("Type yes or no.");
    bench.console.send("yes\r");
    bench.console.wait_for("It is used now");
    bench.console.send("\x1b");
    // A key right behind the escape would be taken for one key with it.
    bench.console.wait_gone("It is used now");
    bench.console.wait_for("Night cart");
    bench.console.send("l");
    // A line recorded before there was a rover file has its meaning now.
    bench.console.wait_until("the meaning of the first rest", Duration::from_secs(20), |screen| {
        let text = screen.contents();
        text.lines().find(|row| row.contains("way,rest")).is_some_and(|row| row.matches("rest").count() == 2)
    });
    bench.console.send("q");
    assert!(bench.console.wait_end().success());
    let folder = bench.folder.path();
    assert_eq!(std::fs::read_to_string(folder.join("lesson.toml")).unwrap(), "precious");
    let taught = std::fs::read_to_string(folder.join("lesson-2.toml")).unwrap();
    let taught = RoverFile::load("lesson-2.toml", &taught).unwrap();
    let file = built_in::find("plain-line").unwrap();
    let shipped = RoverFile::load(file.name, file.text).unwrap();
    assert_eq!(moves(&taught), moves(&shipped));
    assert_eq!(taught.meaning.duty.full, shipped.meaning.duty.full);
    assert_eq!(taught.meaning.duty.persists, shipped.meaning.duty.persists);
    // The session carries it from now on: it is read again without naming a file.
    let inside = SessionSource::open(&folder.join("lesson.wheeltap")).unwrap();
    let text = std::fs::read_to_string(folder.join("lesson-2.toml")).unwrap();
    assert_eq!(inside.rover(), Some(("lesson-2.toml", text.as_str())));
    assert!(WholeCheck::of(&folder.join("lesson.wheeltap"), &mut |_| {}).unwrap().is_sound());
    let session = std::fs::read_to_string(folder.join("lesson.wheeltap")).unwrap();
    for note in ["teach: turn-right", "rover file from here on: lesson-2.toml"] {
        assert!(session.lines().any(|line| line.starts_with("note ") && line.contains(note)), "{note}");
    }
}

#[test]
fn leaving_the_page_keeps_the_lesson_and_quitting_it_writes_nothing() {
    let mut bench = Bench::new();
    bench.console.send("e");
    bench.console.wait_for("RESET (is the lead right?)");
    bench.console.send("skip\r");
    bench.console.wait_for("FORWARD");
    bench.put("way,ahead");
    bench.console.send("\x1b");
    bench.console.wait_gone("FORWARD");
    bench.console.send("e");
    bench.console.wait_for("heard     way,ahead");
    bench.console.send("quit\r");
    bench.console.wait_for("No rover file was written");
    assert!(!bench.folder.path().join("lesson.toml").exists());
}

/// The recording goes on in a second file before the lesson begins: both are read again, and both hold the rover file.
#[test]
fn a_rover_file_is_used_for_all_files_of_a_rotated_recording() {
    let mut bench = Bench::with(&["--rotate", "10kB"]);
    let folder = bench.folder.path().to_owned();
    let [first, second] = ["lesson.wheeltap", "lesson-part2.wheeltap"].map(|name| folder.join(name));
    bench.console.wait_until("a second file", Duration::from_secs(60), |_| {
        bench.port.write(b"way,rest\n").unwrap();
        second.exists()
    });
    bench.teach();
    bench.console.wait_for("lesson.toml is written");
    bench.console.send("yes\r");
    bench.console.wait_for("It is used now");
    bench.console.send("\x1b");
    bench.console.wait_gone("It is used now");
    bench.console.send("q");
    assert!(bench.console.wait_end().success());
    let text = std::fs::read_to_string(folder.join("lesson.toml")).unwrap();
    for file in [first, second] {
        let session = SessionSource::open(&file).unwrap();
        assert_eq!(session.rover(), Some(("lesson.toml", text.as_str())), "{file:?}");
        assert!(WholeCheck::of(&file, &mut |_| {}).unwrap().is_sound(), "{file:?}");
    }
    let decoded = std::process::Command::new(env!("CARGO_BIN_EXE_wheeltap"))
        .current_dir(&folder)
        .args(["decode", "lesson.wheeltap", "--json"])
        .output()
        .unwrap();
    assert!(String::from_utf8(decoded.stdout).unwrap().contains("{\"kind\":\"frame\""));
}
