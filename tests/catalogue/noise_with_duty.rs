//! Orders that are hit while wheels turn.

use super::hand_made::{Read, count, cue, finding, lacks, play, presses};
use wheeltap::findings::{Layer, Need};

const ID: &str = "noise-with-duty";

/// Six seconds, half of each at rest, an order every 50 ms; those that are hit lose one bit of one byte.
fn hit(which: impl Fn(usize, bool) -> bool) -> Vec<Read> {
    let moves = |n: usize| n % 20 < 10;
    let order = |n: usize| {
        let mut read = cue(1_000 + n as i64 * 50, n as i64, n as i64 % 100, [if moves(n) { 70 } else { 0 }, 0, 0]);
        if which(n, moves(n)) {
            read.2[6 + n % 30] ^= 1 << (n % 6);
        }
        read
    };
    (0..240).map(order).collect()
}

/// Every fifth order of a move, and none at rest: 24 hits of 240 orders. By chance: one half to the 24th.
#[test]
fn positive() {
    let found = finding(&play("cue-line", &hit(|n, moves| moves && n % 5 == 3)), ID).unwrap();
    assert_eq!((found.count, found.layer), (24, Layer::Wire), "{}", found.says);
}

/// As many hits at rest; too few to tell; and hits that all come at the end, as from a clock that warms up.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &hit(|n, _| n % 10 == 3)), ID), 0);
    assert_eq!(count(&play("cue-line", &hit(|n, moves| moves && n % 60 == 3)), ID), 0);
    assert_eq!(count(&play("cue-line", &hit(|n, moves| moves && n > 180)), ID), 0);
}

/// Where orders do not repeat, rest is silent and nothing can be hit in it.
#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
