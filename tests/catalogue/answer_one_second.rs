//! A reader that waits a second for an end mark.

use super::bench::{Wires, count, found, lacks, presses};
use super::one_rover::rover;
use wheeltap::findings::Need;
use wheeltap_parsers::Wire;

const FOR_EVER: &str = "for ever";

/// Presses without an end mark: the board reads each line 1000 ms after its last byte, whatever its length.
fn unended(wait: impl Fn(i64) -> i64) -> Wires {
    let mut wires = Wires::default();
    for n in 0..12 {
        let at = 2_000 + n * 3_000 + n * 173 % 400;
        let way = if n % 2 == 0 { "ahead" } else { "rest" };
        wires.put(at, Wire::ToDrive, &format!("o{n:03} {way}")).answer(at + wait(n), n);
    }
    wires
}

#[test]
fn positive() {
    let engine = unended(|n| 1_000 + n % 3).play(&rover("\"on change\"", FOR_EVER), true, 45_000);
    let second = found(&engine, "answer-one-second").unwrap();
    assert_eq!(second.count, 12, "{second:#?}");
    assert!(second.says.contains("whatever the length"), "{}", second.says);
}

#[test]
fn look_alike() {
    // A slow loop, and reports on a clock of their own.
    let rover = rover("\"on change\"", FOR_EVER);
    let slow = unended(|n| 700 + n * 211 % 600).play(&rover, true, 45_000);
    assert_eq!(count(&slow, "answer-one-second"), 0);
    let mut wires = presses();
    (0..100).for_each(|n| {
        wires.answer(1_500 + n * 1_000, n);
    });
    assert_eq!(count(&wires.play(&rover, true, 120_000), "answer-one-second"), 0);
}

#[test]
fn cannot_judge() {
    let engine = unended(|_| 1_000).play(&rover("\"on change\"", FOR_EVER), false, 45_000);
    assert_eq!(lacks(&engine, "answer-one-second"), [Need::Answers]);
    assert_eq!(count(&engine, "answer-one-second"), 0);
}
