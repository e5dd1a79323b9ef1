//! `export --form parquet`, read back by a reader of another make, and held against the same table as CSV and JSON Lines,
//! which Python's own readers take.
//!
//! The reader is that of `duckdb`: `WHEELTAP_PARQUET_PYTHON` names a Python 3 that has its package, as `.ci/run` makes one.
#![cfg(all(unix, feature = "parquet"))]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::{Value, json};
use without_screen::Running;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn export(folder: &Path, words: &[&str], form: &str, out: &str) -> String {
    let all = [&["export"][..], words, &["--form", form, "--out", out]].concat();
    let ended = Running::wheeltap(folder, &all).end();
    assert_eq!(ended.code(), 0, "{}", ended.err);
    folder.join(out).display().to_string()
}

fn witness(form: &str, file: &str) -> Value {
    let python = std::env::var("WHEELTAP_PARQUET_PYTHON");
    let python = python.expect("WHEELTAP_PARQUET_PYTHON names a Python 3 with the package duckdb");
    let out = Command::new(python).arg(root().join("tests/session_witness.py")).args([form, file]).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).unwrap()
}

/// Orders of the letter line, one every 5 ms: more than one group of rows.
fn long_log(folder: &Path) -> String {
    let orders = ["442c412c36302a30330a", "442c4e2c302a33410a"];
    let line =
        |n: usize| format!("{{\"t_us\":{},\"wire\":\">\",\"hex\":\"{}\"}}\n", (n + 1) * 5_000, orders[n / 7 % 2]);
    let path = folder.join("long.jsonl");
    std::fs::write(&path, (0..40_000).map(line).collect::<String>()).unwrap();
    path.display().to_string()
}

#[test]
fn all_three_forms_hold_the_same_table() {
    let folder = tempfile::tempdir().unwrap();
    let log = |name: &str| root().join("logs").join(name).display().to_string();
    let tables = [
        (log("two-chip-good.jsonl"), "letter-line"),
        (log("two-chip-brownout.jsonl"), "letter-line"),
        (log("moonwagon-evening.jsonl"), "cue-line"),
        (long_log(folder.path()), "letter-line"),
    ];
    let mut most = 0;
    for (n, (file, rover)) in tables.iter().enumerate() {
        let words = [file.as_str(), "--rover", rover];
        let sums = ["csv", "json", "parquet"]
            .map(|form| witness(form, &export(folder.path(), &words, form, &format!("{n}.{form}"))));
        assert!(sums[0]["rows"].as_u64().unwrap() > 100, "{file}");
        assert_eq!(sums[0], sums[1], "{file}: CSV and JSON Lines");
        assert_eq!(sums[0], sums[2], "{file}: CSV and Parquet");
        most = most.max(sums[2]["rows"].as_u64().unwrap());
    }
    assert!(most > 2 * 16_384, "{most} rows are no three groups");
}

#[test]
fn the_columns_are_what_the_dictionary_says() {
    let folder = tempfile::tempdir().unwrap();
    let file = root().join("logs/two-chip-good.jsonl").display().to_string();
    let words = [file.as_str(), "--rover", "letter-line"];
    let table = witness("parquet-columns", &export(folder.path(), &words, "parquet", "a.parquet"));
    let all = [&["export"][..], &words, &["--columns", "--form", "json"]].concat();
    let dictionary = Running::wheeltap(folder.path(), &all).end();
    let expected: Vec<Value> = dictionary
        .text()
        .lines()
        .map(|line| {
            let column: Value = serde_json::from_str(line).unwrap();
            // The names that DuckDB gives the types of the Parquet format.
            let sort = match column["content"].as_str().unwrap() {
                "text" => "VARCHAR",
                "whole" => "BIGINT",
                _ => "DOUBLE",
            };
            let unit = column["unit"].as_str().unwrap();
            let says = column["says"].as_str().unwrap();
            let says = if unit.is_empty() { says.to_owned() } else { format!("{says} ({unit})") };
            json!([column["name"], sort, says])
        })
        .collect();
    assert!(expected.len() > 16);
    assert_eq!(table, Value::Array(expected));
}

#[test]
fn it_needs_a_new_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = root().join("logs/two-chip-good.jsonl").display().to_string();
    let words = ["export", &file, "--rover", "letter-line", "--form", "parquet"];
    let none = Running::wheeltap(folder.path(), &words).end();
    assert!(none.code() == 2 && none.err.contains("--out"), "{}", none.err);
    std::fs::write(folder.path().join("a"), "mine").unwrap();
    let there = Running::wheeltap(folder.path(), &[&words[..], &["--out", "a"]].concat()).end();
    assert_eq!(there.code(), 2, "{}", there.err);
    assert_eq!(std::fs::read_to_string(folder.path().join("a")).unwrap(), "mine");
}
