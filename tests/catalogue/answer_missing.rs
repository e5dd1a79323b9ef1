//! Orders that were never answered.

use super::bench::{Wires, count, found, lacks};
use super::one_rover::{MS, rover};
use wheeltap::findings::Need;
use wheeltap_parsers::Wire;

const FOR_EVER: &str = "for ever";

#[test]
fn positive() {
    let mut wires = Wires::default();
    wires.steady(1_000, 100, 0..60, Some(6)).steady(7_000, 100, 60..63, None);
    wires.steady(7_300, 100, 63..80, Some(6));
    let engine = wires.play(&rover("100", FOR_EVER), true, 12_000);
    let missing = found(&engine, "answer-missing").unwrap();
    // Dated two seconds after each order.
    assert_eq!((missing.count, missing.first, missing.last), (3, 9_000 * MS, 9_200 * MS), "{missing:#?}");
    let mut wires = Wires::default();
    let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), true, 12_000);
    let never = found(&engine, "answer-missing").unwrap();
    assert!(never.says.contains("Not one") && never.count == 60, "{}", never.says);
}

#[test]
fn look_alike() {
    // The answer was hit on its way back; the last orders are too young to be given up.
    let mut wires = Wires::default();
    wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").put(7_006, Wire::FromDrive, "a0q0 got\n");
    wires.steady(7_100, 100, 61..80, Some(6)).order(9_500, 80, "ahead");
    let engine = wires.play(&rover("100", FOR_EVER), true, 11_000);
    assert_eq!(count(&engine, "answer-missing"), 0);
    assert_eq!(engine.snapshot(0).times.not_judged, 1);
}

#[test]
fn cannot_judge() {
    let mut wires = Wires::default();
    let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), false, 12_000);
    assert_eq!(lacks(&engine, "answer-missing"), [Need::NumberedAnswers]);
    assert_eq!(count(&engine, "answer-missing"), 0);
}
