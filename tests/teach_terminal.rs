//! The real program teaches in a terminal: a pretend port behind which a panel is pressed, a person who types.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;

use std::time::Duration;

use portable_pty::CommandBuilder;
use terminal::Terminal;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::mecanum::Motion;
use wheeltap::source::pseudo_port::PseudoPort;

/// The moves and their words on this panel, in the order they are asked; the diagonals have no button.
const WORDS: [(Motion, Option<&str>); 10] = [
    (Motion::Forward, Some("ahead")),
    (Motion::Backward, Some("astern")),
    (Motion::Left, Some("port")),
    (Motion::Right, Some("starboard")),
    (Motion::ForwardLeft, None),
    (Motion::ForwardRight, None),
    (Motion::BackwardLeft, None),
    (Motion::BackwardRight, None),
    (Motion::TurnLeft, Some("spin-port")),
    (Motion::TurnRight, Some("spin-starboard")),
];

/// The program, its pretend port and its folder.
struct Bench {
    folder: tempfile::TempDir,
    port: PseudoPort,
    terminal: Terminal,
}

impl Bench {
    fn new(arguments: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let port = PseudoPort::open(None).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.cwd(folder.path());
        command.args(["teach", port.path().to_str().unwrap()]);
        command.args(arguments);
        let mut terminal = Terminal::run(command, 110, 200);
        terminal.limit(Duration::from_secs(120));
        Self { folder, port, terminal }
    }

    /// Puts a line on the wire and waits until the program shows that it heard it.
    fn put(&mut self, line: &str) {
        let shown = format!("heard     {line}");
        let count = |screen: &vt100::Screen| screen.contents().lines().filter(|row| row.trim() == shown).count();
        let before = self.terminal.look(count);
        self.port.write(format!("{line}\n").as_bytes()).unwrap();
        self.terminal.wait_until(&shown, Duration::from_secs(20), |screen| count(screen) > before);
    }

    /// Presses, and lets go once the press was heard.
    fn press(&mut self, word: &str) {
        self.put(&format!("way,{word}"));
        self.put("way,rest");
    }

    fn file(&self, name: &str) -> String {
        std::fs::read_to_string(self.folder.path().join(name)).unwrap()
    }
}

fn heading(motion: Motion) -> String {
    format!("of 15   {}\n", motion.id().replace('-', " ").to_uppercase())
}

#[test]
fn a_lesson_writes_a_rover_file_that_loads_and_a_session_that_teaches_again() {
    let mut bench = Bench::new(&["--out", "mine.toml", "--session", "lesson.wheeltap"]);
    bench.terminal.wait_for("RESET");
    bench.put("tea board 2 is ready now");
    bench.terminal.send("\r");
    bench.terminal.wait_for("lead, ground and line rate are right");
    for (motion, word) in WORDS {
        bench.terminal.wait_for(&heading(motion));
        match word {
            Some(word) => bench.press(word),
            None => bench.terminal.send("skip\r"),
        }
        if motion == Motion::Forward {
            bench.terminal.send("name full ahead\r");
            bench.terminal.wait_for("forward is your `full ahead`");
            bench.terminal.send("\r");
        }
        if let Some(word) = word {
            bench.terminal.wait_for(&format!("{} is `{word}`", motion.id()));
        }
    }
    bench.terminal.wait_for("DUTY CONTROL");
    bench.put("pace,0");
    bench.press("ahead");
    bench.put("pace,255");
    bench.terminal.send("\r");
    bench.terminal.wait_for("EVERYTHING ELSE");
    bench.put("lamp,0");
    bench.put("lamp,40");
    bench.terminal.send("\r");
    bench.terminal.wait_for("no wheel moves: `lamp`");
    bench.terminal.send("Tea trolley\r");
    bench.terminal.wait_for("WIRING");
    bench.terminal.send("FL L298-front M1 3 4 inverted\r");
    bench.terminal.wait_for("FL: L298-front M1, pins 3/4, inverted");
    bench.terminal.send("FR L298-front M2 4 5\r");
    bench.terminal.wait_for("Not taken:");
    bench.terminal.send("\r");
    let screen = bench.terminal.wait_for("mine.toml is written, after 15 prompts");
    assert!(screen.contains("lesson.wheeltap"), "{screen}");
    assert!(bench.terminal.wait_end().success());
    let rover = RoverFile::load("mine.toml", &bench.file("mine.toml")).unwrap();
    assert_eq!((rover.name.as_str(), rover.meaning.moves.len()), ("Tea trolley", 7));
    assert_eq!((rover.meaning.duty.full, rover.meaning.duty.persists), (255_000, true));
    assert_eq!(rover.meaning.moves[0].name, "full ahead");
    again(&bench, &rover);
}

/// The recorded lesson gives the same moves, duty and frames, and what the person said: name, moves' names, wiring.
fn again(bench: &Bench, rover: &RoverFile) {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.cwd(bench.folder.path());
    command.args(["teach", "--from", "lesson.wheeltap", "--out", "again.toml"]);
    let mut terminal = Terminal::run(command, 110, 60);
    terminal.wait_for("again.toml is written");
    assert!(terminal.wait_end().success());
    let second = RoverFile::load("again.toml", &bench.file("again.toml")).unwrap();
    let codes = |rover: &RoverFile| -> Vec<_> {
        rover.meaning.moves.iter().map(|row| (row.code.clone(), row.motion, row.signs)).collect()
    };
    assert_eq!(codes(&second), codes(rover));
    assert_eq!((second.name.as_str(), second.meaning.moves[0].name.as_str()), ("Tea trolley", "full ahead"));
    assert!(bench.file("again.toml").contains("L298-front"));
    assert_eq!((second.meaning.duty, &second.profiles), (rover.meaning.duty, &rover.profiles));
    // What was typed stands in the session too: the rover's name, the person's own names, the wiring.
    assert_eq!(bench.file("again.toml"), bench.file("mine.toml"));
}

#[test]
fn a_file_that_is_there_stays_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), "precious").unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.cwd(folder.path());
    command.args(["teach", "nowhere", "--out", "mine.toml"]);
    let mut terminal = Terminal::run(command, 110, 20);
    terminal.wait_for("mine.toml is there already and stays as it is");
    assert_eq!(terminal.wait_end().exit_code(), 2);
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), "precious");
}

#[test]
fn nothing_is_written_when_the_person_quits_or_presses_nothing() {
    let mut bench = Bench::new(&["--out", "mine.toml", "--no-session"]);
    bench.terminal.wait_for("RESET");
    bench.terminal.send("skip\r");
    bench.terminal.wait_for(&heading(Motion::Forward));
    bench.terminal.send("\r");
    bench.terminal.wait_for("Press the command board's reset");
    bench.terminal.send("write\r");
    bench.terminal.wait_for("No move is learned yet");
    bench.terminal.send("quit\r");
    bench.terminal.wait_for("No rover file was written.");
    assert!(bench.terminal.wait_end().success());
    assert!(!bench.folder.path().join("mine.toml").exists());
}
