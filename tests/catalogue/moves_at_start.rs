//! The first order after a start is a move.

use super::hand_made::{POWER, Read, SAG, count, cue, finding, lacks, play, presses, to};
use wheeltap::findings::{Need, Severity};

const ID: &str = "moves-at-start";

/// A board that starts in mid-run, and what it sends first, every 100 ms.
fn anew(first: [i64; 3], text: &str) -> Vec<Read> {
    let before = (0..10).map(|n| cue(1_000 + n * 100, n, n, [60, 0, 0]));
    let after = (0..10).map(|n| cue(4_500 + n * 100, n, n, if n == 0 { first } else { [60, 0, 0] }));
    before.chain([to(2_000, text)]).chain(after).collect()
}

#[test]
fn positive() {
    let found = finding(&play("cue-line", &anew([60, 0, 0], SAG)), ID).unwrap();
    assert_eq!((found.count, found.severity), (1, Severity::Fault));
    let on: Vec<Read> = [to(300, POWER)].into_iter().chain(anew([0, 0, 0], SAG)).collect();
    assert_eq!(count(&play("cue-line", &on), ID), 1, "switched on with the stick pushed");
}

/// A program that drives by itself as soon as it is switched on; a rest first, and then the move; a glued order, which no reader of lines obeys, with a rest behind it.
#[test]
fn look_alike() {
    let by_itself: Vec<Read> = (0..10).map(|n| cue(1_000 + n * 100, n, n, [60, 0, 0])).collect();
    assert_eq!(count(&play("cue-line", &[vec![to(950, POWER)], by_itself].concat()), ID), 0);
    assert_eq!(count(&play("cue-line", &anew([0, 0, 0], SAG)), ID), 0);
    let mut glued = anew([0, 0, 0], SAG);
    let at = glued.iter().position(|read| read.0 == 4_500).unwrap();
    glued.insert(at, to(4_400, "ok heap 91k "));
    glued.insert(at + 1, cue(4_410, 999, 99, [60, 0, 0]));
    assert_eq!(count(&play("cue-line", &glued), ID), 0);
    let mut hit = anew([60, 0, 0], SAG);
    let at = hit.iter().position(|read| read.0 == 4_500).unwrap();
    let (_, wire, mut bytes) = cue(4_400, 999, 99, [0; 3]);
    bytes[6] ^= 0x10;
    hit.insert(at, (4_400, wire, bytes));
    assert_eq!(count(&play("cue-line", &hit), ID), 0, "the order before the move was hit: it may have been the rest");
}

/// The plain line sends only what is pressed: a press is what begins.
#[test]
fn cannot_judge() {
    let mut reads = vec![to(500, SAG)];
    reads.extend(presses(3));
    let engine = play("plain-line", &reads);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
