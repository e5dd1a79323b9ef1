//! Single answers that took longer than usual.

use super::bench::{Wires, count, found, lacks};
use super::one_rover::rover;
use wheeltap::findings::Need;

const FOR_EVER: &str = "for ever";

#[test]
fn positive() {
    let mut wires = Wires::default();
    wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").answer(7_070, 60);
    wires.steady(7_100, 100, 61..80, Some(6));
    let engine = wires.play(&rover("100", FOR_EVER), true, 10_000);
    let late = found(&engine, "answer-late").unwrap();
    assert_eq!(late.count, 1, "{late:#?}");
    assert!(late.says.contains("at least 69 ms"), "{}", late.says);
}

#[test]
fn look_alike() {
    let mut wires = Wires::default();
    wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").answer(7_025, 60);
    let engine = wires.play(&rover("100", FOR_EVER), true, 10_000);
    assert_eq!(count(&engine, "answer-late"), 0);
}

#[test]
fn cannot_judge() {
    let mut wires = Wires::default();
    let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), false, 10_000);
    assert_eq!(lacks(&engine, "answer-late"), [Need::NumberedAnswers]);
    assert_eq!(count(&engine, "answer-late"), 0);
}
