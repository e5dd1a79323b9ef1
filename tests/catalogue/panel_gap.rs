//! Messages of the panel lost in the air, and two panels.

use super::hand_made::{Read, SAG, count, cue, lacks, play, to};
use wheeltap::findings::Need;

fn panels(panels: &[i64]) -> Vec<Read> {
    panels.iter().zip(0..).map(|(panel, place)| cue(1_000 + place * 100, place, *panel, [0, 0, 0])).collect()
}

#[test]
fn positive() {
    let engine = play("cue-line", &panels(&[90, 91, 92, 97, 98, 99, 0, 1]));
    assert_eq!((count(&engine, "panel-gap"), count(&engine, "two-panels")), (1, 0));
    let two: Vec<i64> = (0..30).map(|n| n / 2 + if n % 2 == 0 { 10 } else { 60 }).collect();
    let engine = play("cue-line", &panels(&two));
    assert!(count(&engine, "two-panels") > 20 && count(&engine, "panel-gap") == 0, "{:#?}", engine.findings());
}

/// Frames hit on the wire make both counters jump; a restart sets both to 0; a repeated order repeats the panel's number.
#[test]
fn look_alike() {
    let wire = [cue(1_000, 1, 1, [0, 0, 0]), cue(1_500, 6, 6, [0, 0, 0]), cue(1_600, 7, 7, [0, 0, 0])];
    assert_eq!(count(&play("cue-line", &wire), "panel-gap"), 0);
    let restart =
        [cue(1_000, 55, 55, [0, 0, 0]), to(1_200, SAG), cue(3_000, 0, 0, [0, 0, 0]), cue(3_100, 1, 1, [0, 0, 0])];
    let engine = play("cue-line", &restart);
    assert_eq!((count(&engine, "panel-gap"), count(&engine, "two-panels")), (0, 0));
    let repeated = play("cue-line", &panels(&[1, 1, 1, 2, 2, 3, 3, 3]));
    assert_eq!((count(&repeated, "panel-gap"), count(&repeated, "two-panels")), (0, 0));
}

#[test]
fn cannot_judge() {
    let engine = play("stave", &[to(500, SAG)]);
    assert_eq!((lacks(&engine, "panel-gap"), count(&engine, "panel-gap")), (vec![Need::SecondCounter], 0));
}
