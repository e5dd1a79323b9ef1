//! A deadline runs out with a move in force.

use super::hand_made::{count, cue, lacks, play, presses};
use wheeltap::findings::Need;

const ID: &str = "lapse";

#[test]
fn positive() {
    let engine = play("cue-line", &[cue(1_000, 1, 1, [60, 0, 0]), cue(1_900, 2, 2, [0, 0, 0])]);
    assert_eq!(count(&engine, ID), 1);
}

/// The same silence after a rest, and a move renewed within its 300 ms.
#[test]
fn look_alike() {
    let engine = play("cue-line", &[cue(1_000, 1, 1, [0, 0, 0]), cue(1_900, 2, 2, [0, 0, 0])]);
    assert_eq!(count(&engine, ID), 0);
    let moves: Vec<_> = (0..9).map(|n| cue(1_000 + n * 280, n, n, [if n < 8 { 60 } else { 0 }, 0, 0])).collect();
    assert_eq!(count(&play("cue-line", &moves), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Deadline], 0));
}
