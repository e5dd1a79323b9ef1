//! The same order twice for one press.

use super::hand_made::{count, lacks, play, presses, to, unknown};
use wheeltap::findings::Need;
use wheeltap_parsers::Wire;

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

/// A sender whose rhythm shows only after a while: what looked like presses sent twice were its repeats.
#[test]
fn look_alike_that_repeats() {
    // Golden frames of the ladder, as `tests/witness/links.py` has them too.
    let moves = [0xA7, 0x3C, 0x09, 0x21, 0x6C, 0x02, 0x1A, 0xFF, 0x1A, 0xFF, 0x6C, 0x02, 0x3F];
    let rest = [0xA7, 0x3C, 0x09, 0x21, 0, 0, 0, 0, 0, 0, 0, 0, 0x2D];
    let order = |at, frame: [u8; 13]| (at, Wire::ToDrive, frame.to_vec());
    let uneven = (0..40).map(|n| (1_000 + n * 700 + n * n * 37 % 400, if n % 2 == 0 { moves } else { rest }));
    let uneven: Vec<_> = uneven.flat_map(|(at, frame)| [order(at, frame), order(at + 4, frame)]).collect();
    assert!(count(&play("ladder", &uneven), ID) > 20);
    let even = (0..600).map(|n| order(40_000 + n * 50, moves));
    assert_eq!(count(&play("ladder", &uneven.into_iter().chain(even).collect::<Vec<_>>()), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "way,rest\n"), to(1_004, "way,rest\n")]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
