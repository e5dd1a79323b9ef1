//! Orders that should repeat stop while a wheel is meant to turn.

use super::hand_made::{Read, count, lacks, letter, play, play_then, presses};
use wheeltap::findings::Need;

const ID: &str = "silent-while-moving";

fn steady(last: char) -> Vec<Read> {
    (0..40)
        .map(|n| letter(1_000 + n * 50, if n == 39 { last } else { 'A' }, if n == 39 && last == 'N' { 0 } else { 60 }))
        .collect()
}

#[test]
fn positive() {
    assert_eq!(count(&play_then("letter-line", &steady('A'), 3_000), ID), 1);
}

/// The same silence after a rest.
#[test]
fn look_alike() {
    assert_eq!(count(&play_then("letter-line", &steady('N'), 3_000), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(9));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
