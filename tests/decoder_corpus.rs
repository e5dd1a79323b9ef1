//! The inputs that fuzzing found worth keeping, each tried again.
//!
//! Fuzzing itself: `cargo install cargo-fuzz`, then in `parsers`, for each target listed by `cargo fuzz list`,
//! `cargo fuzz run -s none TARGET -- -max_total_time=600`. What it finds goes into `parsers/fuzz/corpus/TARGET/`.
#![allow(clippy::unwrap_used)]

#[path = "../parsers/fuzz/attempt.rs"]
mod attempt;

use std::fs;
use std::path::PathBuf;

use attempt::{TARGETS, attempt};

fn corpus() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/parsers/fuzz/corpus"))
}

#[test]
fn every_input_kept_still_passes() {
    for target in TARGETS {
        let mut tried = 0;
        for entry in fs::read_dir(corpus().join(target)).unwrap() {
            attempt(target, &fs::read(entry.unwrap().path()).unwrap());
            tried += 1;
        }
        assert!(tried > 0, "{target}: nothing is kept");
    }
}

#[test]
fn every_target_is_a_program_and_has_its_inputs() {
    let list = |folder: PathBuf| {
        let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let mut names: Vec<String> = names.map(|path| path.file_stem().unwrap().to_string_lossy().into()).collect();
        names.sort();
        names
    };
    let mut due = TARGETS.map(str::to_owned);
    due.sort();
    assert_eq!(list(corpus()), due);
    assert_eq!(list(corpus().parent().unwrap().join("targets")), due);
}
