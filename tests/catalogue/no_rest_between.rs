//! A release that may never have been sent.

use super::hand_made::{count, cue, lacks, play, presses, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "no-rest-between";

#[test]
fn positive() {
    let engine = play("plain-line", &[to(1_000, "way,ahead\n"), to(2_000, "way,port\n"), to(3_000, "way,rest\n")]);
    assert_eq!(count(&engine, ID), 1);
}

/// A rest between; the same move again; a stick that turns while it drives.
#[test]
fn look_alike() {
    assert_eq!(count(&play("plain-line", &presses(20)), ID), 0);
    let again = [to(1_000, "way,ahead\n"), to(1_500, "way,ahead\n"), to(2_500, "way,rest\n")];
    assert_eq!(count(&play("plain-line", &again), ID), 0);
    let stick: Vec<_> = (0..9).map(|n| cue(1_000 + n * 200, n, n, [40, 0, n * 8])).collect();
    assert_eq!(count(&play("cue-line", &stick), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning, Need::Moves], 0));
    let engine = play("cue-line", &[cue(1_000, 1, 1, [40, 0, 0])]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Moves], 0));
}
