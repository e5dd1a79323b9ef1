//! Orders later than their rhythm allows.

use super::hand_made::{Read, count, lacks, letter, play, presses};
use wheeltap::findings::Need;

const ID: &str = "late";

/// Every 50 ms, the sixtieth order late by so much.
fn beat(late: i64, way: char, duty: i64) -> Vec<Read> {
    (0..80).map(|n| letter(1_000 + n * 50 + if n == 60 { late } else { 0 }, way, duty)).collect()
}

#[test]
fn positive() {
    assert_eq!(count(&play("letter-line", &beat(40, 'A', 60)), ID), 1);
}

/// 2 ms are the jitter of a sound sender.
#[test]
fn look_alike() {
    assert_eq!(count(&play("letter-line", &beat(2, 'A', 60)), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(9));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
