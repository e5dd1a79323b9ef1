//! The sample sessions in `logs/`: the commands in `logs/README.md` make them again to the byte, they decode to what the
//! plain logs decode to, and `replay` opens them and says what they show.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/terminal.rs"]
mod terminal;

use std::path::{Path, PathBuf};
use std::process::Command;

use terminal::Terminal;
use wheeltap::session::{SessionSource, WholeCheck};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The words of a line of shell, quotes taken off.
fn words(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate();
    parts
        .flat_map(|(n, part)| match n % 2 {
            0 => part.split_whitespace().map(str::to_owned).collect(),
            _ => vec![part.to_owned()],
        })
        .collect()
}

/// Each documented command: its words without the program, and the file it makes.
fn commands() -> Vec<(Vec<String>, PathBuf)> {
    let papers = std::fs::read_to_string(root().join("logs/README.md")).unwrap();
    let lines = papers.lines().filter_map(|line| line.strip_prefix("    wheeltap bundle "));
    let all: Vec<_> = lines
        .map(|line| {
            let mut words = words(line);
            let out = words.pop().unwrap();
            (words, root().join(out))
        })
        .collect();
    assert_eq!(all.len(), 4);
    all
}

fn run(words: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_wheeltap")).args(words).current_dir(root()).output().unwrap();
    assert!(out.status.code().unwrap() <= 1, "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn frames(file: &str, rover: &[&str], span: std::ops::RangeInclusive<i64>) -> Vec<String> {
    let text = run(&[&["decode", file, "--json"], rover].concat());
    let inside = |line: &str| {
        let json: serde_json::Value = serde_json::from_str(line).unwrap();
        json["kind"] == "frame" && span.contains(&json["t_us"].as_i64().unwrap())
    };
    text.lines().filter(|line| inside(line)).map(str::to_owned).collect()
}

#[test]
fn the_documented_commands_make_them_to_the_byte() {
    let folder = tempfile::tempdir().unwrap();
    for (words, file) in commands() {
        let out = folder.path().join(file.file_name().unwrap());
        let mut all = vec!["bundle"];
        all.extend(words.iter().map(String::as_str));
        all.push(out.to_str().unwrap());
        run(&all);
        assert!(std::fs::read(&out).unwrap() == std::fs::read(&file).unwrap(), "{} differs", file.display());
        let check = WholeCheck::of(&file, &mut |_| {}).unwrap();
        assert!(check.is_sound() && check.closed, "{:?}", check.torn());
    }
}

#[test]
fn they_decode_to_what_the_plain_logs_decode_to() {
    for (words, file) in commands() {
        let file = file.to_str().unwrap();
        let rover = ["--rover", "letter-line"];
        let of_log = frames(&words[0], &rover, 0..=i64::MAX);
        if file.contains("part") {
            // Away from its ends a part says what the whole says, at the same times and places.
            let span = 1_000_000..=1_350_000;
            let part = frames(file, &[], span.clone());
            assert!(part.len() > 5);
            let bare = |lines: Vec<String>| -> Vec<String> {
                let place = |line: String| {
                    let json: serde_json::Value = serde_json::from_str(&line).unwrap();
                    format!("{} {} {} {}", json["t_us"], json["wire"], json["offset"], json["fields"])
                };
                lines.into_iter().map(place).collect()
            };
            assert_eq!(bare(part), bare(frames(&words[0], &rover, span)));
        } else {
            assert_eq!(frames(file, &[], 0..=i64::MAX), of_log);
        }
    }
}

#[test]
fn replay_opens_each_and_says_what_it_shows() {
    for (_, file) in commands() {
        let about = SessionSource::open(Path::new(&file)).unwrap().header().about[0].clone();
        let mut terminal = Terminal::wheeltap(&["replay", file.to_str().unwrap()], 120, 40);
        terminal.wait_for("This session says");
        let first: Vec<&str> = about.split(' ').take(5).collect();
        terminal.wait_for(&first.join(" "));
    }
}
