//! Answers that fall further and further behind.

use super::bench::{Wires, count, found, lacks};
use super::one_rover::{MS, rover};
use wheeltap::findings::Need;

const FOR_EVER: &str = "for ever";

/// 50 orders a second, of which 33 are read, through a queue of 18: its length follows from counting alone. Returns
/// the wires and the longest delay.
fn flooded(orders: i64) -> (Wires, i64) {
    let mut wires = Wires::default();
    let (mut free, mut longest) = (0, 0);
    let mut waiting: Vec<i64> = Vec::new();
    for number in 0..orders {
        let at = 1_000 + number * 20;
        wires.order(at, number, "ahead");
        waiting.retain(|read| *read > at);
        if waiting.len() >= 18 {
            continue;
        }
        free = (free + 30).max(at + 5);
        waiting.push(free);
        wires.answer(free, number);
        longest = longest.max(free - at);
    }
    (wires, longest)
}

#[test]
fn positive() {
    let (wires, longest) = flooded(200);
    let engine = wires.play(&rover("20", FOR_EVER), true, 12_000);
    let growing = found(&engine, "answer-growing").unwrap();
    assert_eq!(growing.count, 1, "{growing:#?}");
    assert!(
        growing.says.contains("then kept there") && growing.says.contains("16 orders a second more"),
        "{}",
        growing.says
    );
    let worst = engine.snapshot(0).times.answers.unwrap().longest;
    assert!(worst[0] <= longest * MS && longest * MS <= worst[1], "{longest} ms, {worst:?}");
}

#[test]
fn look_alike() {
    // A drive board that is steadily slow, and one that was away once: neither falls further and further behind.
    let mut wires = Wires::default();
    wires.steady(1_000, 100, 0..100, Some(380));
    assert_eq!(count(&wires.play(&rover("100", FOR_EVER), true, 14_000), "answer-growing"), 0);
    let mut wires = Wires::default();
    wires.steady(1_000, 20, 0..100, Some(6)).steady(3_000, 20, 100..105, None);
    (100..105).for_each(|number| {
        wires.answer(3_105 + number - 100, number);
    });
    wires.steady(3_120, 20, 106..200, Some(6));
    assert_eq!(count(&wires.play(&rover("20", FOR_EVER), true, 8_000), "answer-growing"), 0);
}

#[test]
fn cannot_judge() {
    let (wires, _) = flooded(200);
    let engine = wires.play(&rover("20", FOR_EVER), false, 12_000);
    assert_eq!(lacks(&engine, "answer-growing"), [Need::NumberedAnswers]);
    assert_eq!(count(&engine, "answer-growing"), 0);
}
