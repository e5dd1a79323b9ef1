//! Bytes that are neither frame nor text.

use super::hand_made::{POWER, count, cue, lacks, play, to, unknown};
use wheeltap_parsers::Wire;

const ID: &str = "noise";

#[test]
fn positive() {
    let noise = vec![0x80, 0x00, 0xF8, 0x91, 0x83, 0xFE, 0x80, 0x0A];
    let engine =
        play("cue-line", &[cue(1_000, 1, 1, [0, 0, 0]), (1_300, Wire::ToDrive, noise), cue(1_600, 2, 2, [0, 0, 0])]);
    assert_eq!(count(&engine, ID), 1);
}

/// A stray byte or two right before start-up text come with each start of a board.
#[test]
fn look_alike() {
    let start = [vec![0x00, 0xF8], POWER.as_bytes().to_vec()].concat();
    let engine = play("cue-line", &[(500, Wire::ToDrive, start), cue(1_000, 0, 0, [0, 0, 0])]);
    assert_eq!(count(&engine, ID), 0);
}

/// It needs nothing of the link; what it cannot see is a wire that nobody taps.
#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "way,ahead\n")]);
    assert!(lacks(&engine, ID).is_empty());
    assert_eq!(count(&engine, ID), 0);
}
