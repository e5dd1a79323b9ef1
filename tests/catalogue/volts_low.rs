//! The pack is under its limit while a wheel is meant to turn. The limit of the rover file is that of a pack of three
//! cells under load (common practice, no source).

use super::hand_made::{Read, back, checked, count, cue, finding, lacks, play, presses};
use wheeltap::findings::{Need, Severity};

const ID: &str = "volts-low";

/// Orders every 100 ms, each answered with the volts of its time, tenths.
fn driven(f: i64, volts: impl Fn(i64) -> i64) -> Vec<Read> {
    let one = |n: i64| {
        let (at, told) = (1_000 + n * 100, volts(n));
        [cue(at, n, n, [f, 0, 0]), back(at + 6, &checked(&format!("a{n:03} got v{told:03} e00 ")))]
    };
    (0..30).flat_map(one).collect()
}

#[test]
fn positive() {
    let found = finding(&play("cue-line", &driven(60, |n| if n < 10 { 104 } else { 97 })), ID).unwrap();
    assert_eq!((found.count, found.severity), (1, Severity::Danger));
    assert!(found.says.contains("limit of 9.9 V") && found.says.contains("lowest 9.7 V"), "{}", found.says);
}

/// The dip of a hard start, over within a second; the same volts at rest; and exactly the limit.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &driven(100, |n| if n < 9 { 92 } else { 108 })), ID), 0);
    assert_eq!(count(&play("cue-line", &driven(0, |_| 97)), ID), 0);
    assert_eq!(count(&play("cue-line", &driven(60, |_| 99)), ID), 0);
}

/// The plain line has no answers, so no volts.
#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert!(lacks(&engine, ID).contains(&Need::Volts));
    assert_eq!(count(&engine, ID), 0);
}
