//! Sequence numbers are missing, or come out of turn.

use super::hand_made::{Read, SAG, count, cue, lacks, play, presses, to};
use wheeltap::findings::Need;
use wheeltap::findings::attribution::cause::Cause;

fn numbers(numbers: &[i64]) -> Vec<Read> {
    let timed = numbers.iter().zip(0..);
    timed.map(|(number, place)| cue(1_000 + place * 100, *number, place, [0, 0, 0])).collect()
}

#[test]
fn positive() {
    let gap = play("cue-line", &numbers(&[1, 2, 5, 6]));
    assert_eq!(count(&gap, "sequence-gap"), 1);
    let order = play("cue-line", &numbers(&[1, 2, 4, 3, 5]));
    assert_eq!(count(&order, "sequence-order"), 1);
}

/// Two senders on one wire, each with numbers of its own: they are told apart from one that skips.
#[test]
fn positive_where_two_senders_take_turns() {
    let two: Vec<i64> = (0..40).flat_map(|n| [100 + n, 600 + n]).collect();
    let skips: Vec<i64> = (0..80).map(|n| 100 + n * 12).filter(|n| *n < 1_000).collect();
    let says = |numbers_of: &[i64]| {
        let engine = play("cue-line", &numbers(numbers_of));
        let verdict = engine.snapshot(engine.now()).verdict;
        let gaps = engine.findings().into_iter().find(|finding| finding.id == "sequence-gap").unwrap();
        (gaps.says.contains("take turns"), verdict.causes.first().map(|part| part.cause))
    };
    assert_eq!(says(&two), (true, Some(Cause::TwoSenders)));
    assert_eq!(says(&skips), (false, Some(Cause::Skipped)));
}

/// A damaged frame explains its own gap; a restart begins at 0; 999 is followed by 000.
#[test]
fn look_alike() {
    let hit = "c002 p17 drv f+020 s-065 t+000 g2 d30 #0000.\n";
    let engine = play("cue-line", &[cue(1_000, 1, 1, [0, 0, 0]), to(1_100, hit), cue(1_200, 3, 3, [0, 0, 0])]);
    assert_eq!(count(&engine, "sequence-gap"), 0);
    let restart = play("cue-line", &[cue(1_000, 77, 1, [0, 0, 0]), to(1_300, SAG), cue(3_000, 0, 0, [0, 0, 0])]);
    assert_eq!(count(&restart, "sequence-gap"), 0);
    assert_eq!(count(&play("cue-line", &numbers(&[998, 999, 0, 1])), "sequence-gap"), 0);
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert_eq!((lacks(&engine, "sequence-gap"), count(&engine, "sequence-gap")), (vec![Need::Sequence], 0));
}
