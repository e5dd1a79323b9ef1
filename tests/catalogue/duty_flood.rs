//! A duty control that fills the line.

use super::hand_made::{Read, count, lacks, play, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "duty-flood";

fn paces(step: i64) -> Vec<Read> {
    (0..60).map(|n| to(1_000 + n * step, &format!("pace,{}\n", 100 + n))).collect()
}

#[test]
fn positive() {
    assert_eq!(count(&play("plain-line", &paces(20)), ID), 1);
}

/// A slow hand; and moves as fast as the flood, which set more than the duty.
#[test]
fn look_alike() {
    assert_eq!(count(&play("plain-line", &paces(100)), ID), 0);
    let moves: Vec<_> =
        (0..60).map(|n| to(1_000 + n * 20, if n % 2 == 0 { "way,port\n" } else { "way,rest\n" })).collect();
    assert_eq!(count(&play("plain-line", &moves), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&paces(20));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
