//! The command board sends only when something changes, against a deadline.

use super::hand_made::{Read, SAG, count, cue, lacks, play, to};
use wheeltap::findings::Need;

const ID: &str = "sends-on-change";

/// A move kept still for 900 ms, then one of so many panel messages later.
fn still(steps: i64) -> Vec<Read> {
    vec![cue(1_000, 1, 1, [60, 0, 0]), cue(1_900, 2, 1 + steps, [60, 0, 9]), cue(2_100, 3, 2 + steps, [0, 0, 0])]
}

#[test]
fn positive() {
    let engine = play("cue-line", &still(1));
    assert_eq!(count(&engine, ID), 1);
    assert_eq!(count(&engine, "panel-gap"), 0);
}

/// The same gap: by the radio (the panel's counter jumps), by a reset, by a sender that repeats but was held up (the
/// same panel message comes again), by numbers that are missing.
#[test]
fn look_alike() {
    let radio = play("cue-line", &still(5));
    assert_eq!((count(&radio, ID), count(&radio, "panel-gap")), (0, 1));
    let mut reset = still(1);
    reset.push(to(1_100, SAG));
    assert_eq!(count(&play("cue-line", &reset), ID), 0);
    assert_eq!(count(&play("cue-line", &still(0)), ID), 0);
    let missing = [cue(1_000, 1, 1, [60, 0, 0]), cue(1_900, 4, 2, [60, 0, 9]), cue(2_100, 5, 3, [0, 0, 0])];
    assert_eq!(count(&play("cue-line", &missing), ID), 0);
}

/// A board that sends every 50 ms and then stands still for 900 ms: it has a rhythm, so it sends not only on change.
#[test]
fn a_board_that_hangs_is_no_sender_of_changes() {
    let order = |n: i64| cue(1_000 + n * 50 + if n < 100 { 0 } else { 900 }, n, n % 100, [60, 0, n % 7]);
    let engine = play("cue-line", &(0..140).map(order).collect::<Vec<_>>());
    assert_eq!((count(&engine, "lapse"), count(&engine, ID)), (1, 0));
    let verdict = engine.snapshot(engine.now()).verdict;
    assert!(verdict.words().concat().contains("the command board was held up"), "{:?}", verdict.words());
}

/// Both counters are needed: the bead has only one, and its lapses stay unexplained rather than blamed.
#[test]
fn cannot_judge() {
    let golden = [0x05, 0x11, 0x07, 0x1E, 0xBF, 0x04, 0x1E, 0x51, 0xD5, 0x00];
    let rest = [0x03, 0x11, 0x08, 0x01, 0x01, 0x04, 0x1E, 0xCB, 0x12, 0x00];
    let wire = wheeltap_parsers::Wire::ToDrive;
    let engine = play("bead", &[(1_000, wire, golden.to_vec()), (1_900, wire, rest.to_vec())]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::SecondCounter], 0));
    let verdict = engine.snapshot(engine.now()).verdict;
    assert_eq!((verdict.troubles, verdict.unexplained), (1, 1));
    assert!(verdict.words().concat().contains("cannot be told apart on this link"), "{:?}", verdict.words());
}
