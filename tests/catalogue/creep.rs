//! A stick that rests off its middle.

use super::hand_made::{Read, count, cue, finding, lacks, play, presses};
use wheeltap::findings::{Layer, Need};

const ID: &str = "creep";

/// Four moves of a second each with a second and a half of this between them, an order every 100 ms.
fn between(small: impl Fn(i64) -> [i64; 3]) -> Vec<Read> {
    let order = |n: i64| cue(1_000 + n * 100, n, n % 100, if n % 25 < 10 { [60, 0, 0] } else { small(n) });
    (0..100).map(order).collect()
}

#[test]
fn positive() {
    let found = finding(&play("cue-line", &between(|_| [5, 0, 0])), ID).unwrap();
    assert_eq!((found.count, found.layer), (4, Layer::Panel), "{}", found.says);
}

/// A true rest between; a slow move of a hand that is never quite still; one slow move in the session.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &between(|_| [0, 0, 0])), ID), 0);
    assert_eq!(count(&play("cue-line", &between(|n| [5 + n % 3, 0, 0])), ID), 0);
    let once = between(|n| if n < 25 { [5, 0, 0] } else { [0, 0, 0] });
    assert_eq!(count(&play("cue-line", &once), ID), 0);
}

/// Where only presses are sent, a small duty that stays is one that somebody chose.
#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
