//! The drive board obeys for ever.

use super::hand_made::{count, cue, finding, lacks, play, presses, unknown};
use wheeltap::findings::Need;

const ID: &str = "nothing-would-stop-it";

#[test]
fn positive() {
    let found = finding(&play("plain-line", &presses(7)), ID).unwrap();
    assert_eq!(found.count, 7);
    // The second press stands behind `way,ahead` and `way,rest`, line ends included.
    assert_eq!(found.evidence[1].offset, 19);
}

/// The same moves where each order carries a deadline.
#[test]
fn look_alike() {
    let moves: Vec<_> = (0..7).map(|n| cue(1_000 + n * 200, n, n, [60 * (n % 2), 0, 0])).collect();
    assert_eq!(count(&play("cue-line", &moves), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&presses(7));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
