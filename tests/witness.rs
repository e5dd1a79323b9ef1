//! A second source of faulted drives, written apart from this program in another language, scores `decode`: what was
//! claimed, missed, and falsely said, by fault, link style and adapter. `tests/witness/README.md` says how to read it.
//!
//! What is not all right is written down in `tests/witness/ledger.txt`, case by case; better and worse both fail here.
//! One case in nine is tried; `WHEELTAP_WITNESS=all` tries all 298, and sound hours besides (some minutes).
#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;

fn python(words: &[&str]) -> (bool, String) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/witness");
    let ran = Command::new("python3").current_dir(folder).args(words).output();
    let ran = ran.expect("this test needs python3 (standard library only): install it and run again");
    let said = String::from_utf8_lossy(&ran.stdout).into_owned();
    (ran.status.success(), said + &String::from_utf8_lossy(&ran.stderr))
}

fn all() -> bool {
    std::env::var("WHEELTAP_WITNESS").is_ok_and(|wanted| wanted == "all")
}

#[test]
fn what_is_claimed_missed_and_falsely_said_is_as_written_down() {
    let part = if all() { "1" } else { "9" };
    let program = env!("CARGO_BIN_EXE_wheeltap");
    let (right, said) = python(&["score.py", program, "--ledger", "ledger.txt", "--part", part, "--jobs", "2"]);
    println!("{said}");
    assert!(right, "{said}");
    let cases = if all() { "298 cases are as" } else { "34 cases are as" };
    assert!(said.contains(cases), "{said}");
}

/// Sound drives of each style, an hour each: no danger and no fault.
#[test]
fn sound_drives_are_not_accused() {
    let hours = if all() { "1" } else { "0.05" };
    let (right, said) = python(&["score.py", env!("CARGO_BIN_EXE_wheeltap"), "--healthy", hours]);
    println!("{said}");
    assert!(right && said.contains("sound drives"), "{said}");
}

/// The ledger's own judge tells what is better, worse, written twice, or false without a reason.
#[test]
fn the_ledger_is_held_against_itself() {
    let (right, said) = python(&["-c", "import ledger; print(ledger.check(), 'cases')"]);
    assert!(right && said.trim() == "6 cases", "{said}");
}
