//! The wheel check with the real program in two real terminals: the simulated rover with one fault planted and its
//! control panel in the one, `listen` in the other. Between them a person who reads both screens and presses keys.
//!
//! The person sees the wheels as the panel's terminal draws them; what is planted is told by the simulation alone.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::format_collect)]

#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;
use std::time::Duration;

use portable_pty::CommandBuilder;
use terminal::Terminal;
use without_screen::Running;

const WAIT: Duration = Duration::from_secs(30);
const WHEELS: [(&str, &str); 4] =
    [("FL", "front left"), ("FR", "front right"), ("RL", "rear left"), ("RR", "rear right")];
/// The panel's keys of the moves, and what the plain line calls them.
const MOVES: [(&str, &str); 10] = [
    ("1", "ahead-port"),
    ("2", "ahead"),
    ("3", "ahead-starboard"),
    ("4", "port"),
    ("5", "starboard"),
    ("6", "astern-port"),
    ("7", "astern"),
    ("8", "astern-starboard"),
    ("9", "spin-port"),
    ("0", "spin-starboard"),
];

fn started(folder: &Path, arguments: &[&str]) -> Terminal {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.cwd(folder);
    command.args(arguments);
    let mut terminal = Terminal::run(command, 80, 24);
    terminal.limit(Duration::from_secs(300));
    terminal
}

/// The person between the two terminals.
struct Bench {
    panel: Terminal,
    console: Terminal,
    pace: u32,
}

/// Rows joined where a sentence goes on.
fn one_text(screen: &str) -> String {
    screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The key for a wheel as the panel draws it: the word in the box under its name.
fn seen(screen: &str, wheel: &str) -> char {
    let rows: Vec<Vec<char>> = screen.lines().map(|row| row.chars().collect()).collect();
    let name: Vec<char> = format!("┌─{wheel}─").chars().collect();
    let at = |row: &Vec<char>| row.windows(name.len()).position(|part| part == name);
    let (y, x) = rows.iter().enumerate().find_map(|(y, row)| Some((y, at(row)?))).unwrap();
    let word: String = rows[y + 1][x..].iter().skip(1).take_while(|c| **c != '│').collect();
    match word.trim_matches(|c: char| !c.is_ascii_alphabetic()) {
        "forward" => '8',
        "BACKWARD" => '2',
        "still" => '5',
        "hums" => '0',
        other => panic!("{wheel} does `{other}`:\n{screen}"),
    }
}

impl Bench {
    fn new(folder: &Path, fault: &str) -> Self {
        let mut panel = started(folder, &["simulate", "--link", "port", "--fault", fault, "--reveal"]);
        panel.wait_for("CONTROL PANEL");
        panel.wait_for("0:01");
        let mut console = started(folder, &["listen", "port", "--rover", "plain-line", "--session", "check.wheeltap"]);
        console.wait_for("recording check.wheeltap");
        console.send("k");
        console.wait_for("Press Enter when all of that is done");
        console.send("\r");
        Self { panel, console, pace: 140 }
    }

    /// Waits until the console asks something, and gives it as one text.
    fn asked(&mut self) -> String {
        let asks = [
            "then press `",
            "Where did the TOP",
            "no wheel may turn",
            "which way do its top",
            "DIAGNOSED",
            "ACCEPTED",
            "where did the rover go",
        ];
        one_text(&self.console.wait_until("a question", WAIT, |screen| {
            let text = one_text(&screen.contents());
            asks.iter().any(|asks| text.contains(asks))
        }))
    }

    /// The pace in steps of twenty of 255.
    fn pace(&mut self, pace: u32) {
        while self.pace != pace {
            self.panel.send(if self.pace < pace { "+" } else { "-" });
            self.pace = if self.pace < pace { self.pace + 20 } else { self.pace - 20 };
            self.panel.wait_for(&format!("pace {} of 255", self.pace));
        }
    }

    /// Presses a move until the console has heard it and the wheels turn; the keys for what is seen of them; lets go.
    fn press(&mut self, name: &str, high: bool) -> String {
        self.pace(if high { 180 } else { 80 });
        let key = MOVES.iter().find(|(_, known)| *known == name).unwrap().0;
        self.panel.send(key);
        self.panel.wait_gone("nowhere, it stands");
        self.console.wait_until("the order heard", WAIT, |screen| {
            let text = one_text(&screen.contents());
            text.contains(&format!("You ordered `{name}`")) || text.contains(&format!("`{name}` was ordered"))
        });
        let panel = self.panel.screen();
        let keys: String = WHEELS.iter().map(|(wheel, _)| seen(&panel, wheel)).collect();
        self.panel.send(" ");
        self.panel.wait_for("nowhere, it stands");
        keys
    }

    /// Answers for four wheels, one key each, when the console asks for it.
    fn answer(&mut self, keys: &str, prompts: impl Fn(usize) -> String) {
        for (place, key) in keys.chars().enumerate() {
            self.console.wait_for(&prompts(place));
            self.console.send(&key.to_string());
        }
    }

    fn answer_wheels(&mut self, keys: &str) {
        self.answer(keys, |place| format!("{}, {}: 8 top to nose", WHEELS[place].0, WHEELS[place].1));
    }

    /// Follows the console until it shows `end`.
    fn follow(&mut self, end: &str) -> String {
        for _ in 0..40 {
            let text = self.asked();
            if text.contains(end) {
                return text;
            }
            if text.contains("no wheel may turn") {
                let panel = self.panel.screen();
                let keys: String = WHEELS.iter().map(|(wheel, _)| seen(&panel, wheel)).collect();
                self.answer_wheels(&keys);
                self.console.wait_gone("no wheel may turn");
            } else if text.contains("which way do its top") {
                self.answer("1111", |place| format!("{}, {}: 1 runs as drawn", WHEELS[place].0, WHEELS[place].1));
                self.console.wait_gone("1 runs as drawn");
            } else {
                let rest = text.split("then press `").nth(1).unwrap_or_else(|| panic!("nothing to follow:\n{text}"));
                let (name, how) = rest.split_once('`').unwrap();
                let (name, high) = (name.to_owned(), how.trim_start().starts_with("at high speed"));
                let keys = self.press(&name, high);
                self.answer_wheels(&keys);
                self.console.wait_gone("You ordered `");
            }
        }
        panic!("`{end}` never came:\n{}", self.console.screen());
    }
}

/// The lines of the sheet in a session file, as a line tool finds them.
fn sheet_lines(path: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().filter(|line| line.starts_with("note ") && line.contains(" seen ")).map(str::to_owned).collect()
}

#[test]
fn a_reversed_motor_is_found_repaired_accepted_kept_and_replayed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("check.wheeltap");
    let mut bench = Bench::new(folder.path(), "leads-reversed-rr");

    // A wrong answer, taken back: the same move is asked again, and nothing of it stays in the diagnosis.
    let text = bench.asked();
    assert!(text.contains("no wheel may turn"), "rest comes first, for safety: {text}");
    bench.answer_wheels("8888");
    bench.console.wait_gone("no wheel may turn");
    bench.console.send("u");
    bench.console.wait_for("Taken back: seen rest: FL forward FR forward RL forward RR forward");
    bench.console.wait_for("no wheel may turn");

    let found = bench.follow("DIAGNOSED");
    assert!(found.contains("RR reversed"), "{found}");
    assert!(found.contains("CHANGE, this one only: Exchange the two motor leads of RR at Oxpair B M2."), "{found}");

    // The repair of the simulated rover, then the proof.
    bench.panel.send("rl4");
    bench.panel.wait_for("the two leads of RR's motor are turned round");
    bench.console.send("p");
    bench.console.wait_gone("DIAGNOSED");
    let accepted = bench.follow("ACCEPTED");
    assert!(accepted.contains("LAST PROOF"), "{accepted}");

    // The slide on the floor: a question of the floor, ACCEPTED stays in view, and stands afterwards.
    bench.press("port", false);
    let slide = one_text(&bench.console.screen());
    assert!(slide.contains("ACCEPTED stands") && slide.contains("where did the rover go"), "{slide}");
    bench.console.send("4");
    bench.console.wait_for("Did it turn?");
    bench.console.send("5");
    let text = one_text(&bench.console.wait_for("The slide on the floor went to the left"));
    assert!(text.contains("ACCEPTED"), "{text}");

    bench.console.send("q");
    assert!(bench.console.wait_end().success());
    bench.panel.send("q");
    bench.panel.wait_for("Planted: The two leads of RR's motor are exchanged");
    assert!(bench.panel.wait_end().success());

    // The sheets stand in the session: by a line tool, by `diagnose`, by a replay.
    let lines = sheet_lines(&path);
    assert_eq!(lines.iter().filter(|line| line.contains("seen sheet:")).count(), 2, "{lines:#?}");
    assert!(lines.iter().any(|line| line.contains("on the floor: went left turned none")), "{lines:#?}");
    let ended = Running::wheeltap(folder.path(), &["diagnose", "check.wheeltap", "--json"]).end();
    let json: serde_json::Value = serde_json::from_str(ended.text()).unwrap();
    assert_eq!((ended.code(), json["accepted"].as_bool()), (0, Some(true)), "{json}");
    assert_eq!(json["sheet"]["change"], "Exchange the two motor leads of RR at Oxpair B M2.");
    let mut replay = started(folder.path(), &["replay", "check.wheeltap"]);
    replay.wait_for("running");
    replay.send("k\x1b[F");
    let text = one_text(&replay.wait_for("The slide on the floor went to the left"));
    assert!(text.contains("ACCEPTED"), "{text}");
    replay.send("q");
    assert!(replay.wait_end().success());
}

/// A log holds no notes: the check works in a replay of one all the same, and says how to keep it.
#[test]
fn the_check_works_in_a_replay_of_a_log_and_says_how_to_keep_it() {
    let folder = tempfile::tempdir().unwrap();
    let line = |at: u64, text: &str| {
        let hex: String = format!("{text}\n").bytes().map(|byte| format!("{byte:02x}")).collect();
        format!("{{\"t_us\":{at},\"wire\":\">\",\"hex\":\"{hex}\"}}\n")
    };
    let log = [(100_000, "pace,80"), (200_000, "way,rest"), (400_000, "way,port"), (900_000, "way,rest")];
    let text: String = log.iter().map(|(at, text)| line(*at, text)).collect();
    std::fs::write(folder.path().join("drive.jsonl"), text).unwrap();
    let mut replay = started(folder.path(), &["replay", "drive.jsonl", "--rover", "plain-line"]);
    replay.wait_for("replay");
    replay.send("k\x1b[F");
    replay.wait_for("Press Enter when all of that is done");
    replay.send("\r");
    let said = one_text(&replay.wait_for("In view until you quit"));
    assert!(said.contains("wheeltap bundle LOG --rover FILE --out NAME"), "{said}");
    replay.wait_for("no wheel may turn");
    replay.send("5555");
    replay.wait_gone("no wheel may turn");
    assert!(replay.screen().contains("1 answer,"), "{}", replay.screen());
    replay.send("q");
    assert!(replay.wait_end().success());
    assert!(
        Running::wheeltap(
            folder.path(),
            &["bundle", "drive.jsonl", "--rover", "plain-line", "--out", "drive.wheeltap"]
        )
        .end()
        .code()
            == 0
    );
    let mut kept = started(folder.path(), &["replay", "drive.wheeltap"]);
    kept.wait_for("replay");
    kept.send("k\x1b[F");
    kept.wait_for("Press Enter when all of that is done");
    kept.send("\r");
    kept.wait_for("The note is kept in the session");
    kept.send("q");
    assert!(kept.wait_end().success());
    assert_eq!(sheet_lines(&folder.path().join("drive.wheeltap")).len(), 1);
}
