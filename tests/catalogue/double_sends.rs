//! The same order twice for one press.

use super::hand_made::{count, lacks, play, presses, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "double-sends";

#[test]
fn positive() {
    let twice: Vec<_> =
        presses(10).into_iter().flat_map(|(at, wire, line)| [(at, wire, line.clone()), (at + 4, wire, line)]).collect();
    assert_eq!(count(&play("plain-line", &twice), ID), 20);
}

/// A quick finger, and the same press again after 200 ms.
#[test]
fn look_alike() {
    let quick = [to(1_000, "way,ahead\n"), to(1_050, "way,rest\n"), to(1_100, "way,ahead\n"), to(1_150, "way,rest\n")];
    assert_eq!(count(&play("plain-line", &quick), ID), 0);
    assert_eq!(count(&play("plain-line", &[to(1_000, "way,rest\n"), to(1_200, "way,rest\n")]), ID), 0);
}

/// A sender that repeats, slow to find its rhythm: nothing of it was a press.
#[test]
fn look_alike_that_repeats() {
    let uneven: Vec<_> =
        presses(10).into_iter().flat_map(|(at, wire, line)| [(at, wire, line.clone()), (at + 4, wire, line)]).collect();
    let from = uneven.last().map_or(0, |(at, ..)| *at);
    let even = (1..=600).map(|n| to(from + n * 50, "way,ahead\n"));
    assert_eq!(count(&play("plain-line", &uneven.into_iter().chain(even).collect::<Vec<_>>()), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "way,rest\n"), to(1_004, "way,rest\n")]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
