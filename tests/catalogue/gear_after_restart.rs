//! The gear comes back as the strongest after a restart.

use super::hand_made::{Read, SAG, count, finding, geared, lacks, play, to};
use wheeltap::findings::Need;

const ID: &str = "gear-after-restart";

fn restart(before: i64, after: i64) -> Vec<Read> {
    vec![geared(1_000, 9, 9, [0, 0, 0], before), to(1_400, SAG), geared(4_000, 0, 0, [0, 0, 0], after)]
}

#[test]
fn positive() {
    let found = finding(&play("cue-line", &restart(1, 3)), ID).unwrap();
    assert!(found.says.contains("came back as 3") && found.says.contains("1 of 1 restarts"), "{}", found.says);
}

/// It comes back as the lowest; or the operator chooses gear 3 with no restart; or the first start of all has it.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &restart(3, 1)), ID), 0);
    let chosen = [geared(1_000, 9, 9, [0, 0, 0], 1), geared(2_000, 10, 10, [0, 0, 0], 3)];
    assert_eq!(count(&play("cue-line", &chosen), ID), 0);
    assert_eq!(count(&play("cue-line", &[to(400, SAG), geared(1_000, 0, 0, [0, 0, 0], 3)]), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = play("bead", &[to(400, SAG)]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Gear], 0));
}
