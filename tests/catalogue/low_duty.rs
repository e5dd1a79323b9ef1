//! Moves at a duty that may not start a wheel.

use super::hand_made::{Read, count, finding, lacks, play, to, unknown};
use wheeltap::findings::{Need, Severity};

const ID: &str = "low-duty";

fn moves(pace: i64, lasts: i64) -> Vec<Read> {
    vec![to(500, &format!("pace,{pace}\n")), to(1_000, "way,ahead\n"), to(1_000 + lasts, "way,rest\n")]
}

/// 40 of 255 are 16 %.
#[test]
fn positive() {
    let found = finding(&play("plain-line", &moves(40, 900)), ID).unwrap();
    assert_eq!((found.count, found.severity), (1, Severity::Note), "it is a question, no fault");
    assert!(found.says.contains("more than 16 %"), "{}", found.says);
    // `pace,40` has 8 bytes and `way,ahead` 10, line ends included: the rest that ended the move begins at byte 18.
    assert_eq!(found.evidence[0].offset, 18);
}

/// Half duty; a short touch; a move that begins weak and is then raised; and rest.
#[test]
fn look_alike() {
    assert_eq!(count(&play("plain-line", &moves(128, 900)), ID), 0);
    assert_eq!(count(&play("plain-line", &moves(40, 200)), ID), 0);
    let mut raised = moves(40, 900);
    raised.push(to(1_200, "pace,180\n"));
    assert_eq!(count(&play("plain-line", &raised), ID), 0);
    assert_eq!(count(&play("plain-line", &moves(0, 900)), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&moves(40, 900));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
