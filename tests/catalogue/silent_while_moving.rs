//! Orders that should repeat stop while a wheel is meant to turn.

use super::hand_made::{MS, Read, count, lacks, letter, play, play_then, presses, to};
use wheeltap::findings::Need;

const ID: &str = "silent-while-moving";

fn steady(last: char) -> Vec<Read> {
    (0..40)
        .map(|n| letter(1_000 + n * 50, if n == 39 { last } else { 'A' }, if n == 39 && last == 'N' { 0 } else { 60 }))
        .collect()
}

#[test]
fn positive() {
    assert_eq!(count(&play_then("letter-line", &steady('A'), 3_000), ID), 1);
}

/// The same silence after a rest.
#[test]
fn look_alike() {
    assert_eq!(count(&play_then("letter-line", &steady('N'), 3_000), ID), 0);
}

/// The same silence with orders in it that were hit: a turned bit makes a wrong check, noise, or a line of free text.
#[test]
fn orders_that_were_hit_are_no_silence() {
    for hit in ["D,A,60*0B\n", "\u{c4},A,60*03\n", "E,A,60*03\n"] {
        let mut reads = steady('A');
        reads.extend((40..42).map(|n| to(1_000 + n * 50, hit)));
        let engine = play_then("letter-line", &reads, 3_000);
        let told = engine.findings().into_iter().find(|finding| finding.id == ID);
        // Before the deadline of the last intact order: 300 ms.
        let since = 1_000 + 41 * 50;
        let told = told.map(|told| (told.count, told.first / MS));
        assert_eq!(told, Some((1, since + 150)), "{hit:?}: it ends with the last order that was hit");
    }
}

/// Lines whose ends were hit run together to one record, longer than three periods: they came all the same.
#[test]
fn orders_that_run_together_are_no_silence() {
    let mut reads = steady('A');
    reads.extend((40..42).map(|n| to(1_000 + n * 50, if n == 41 { "D,A,60*0B\n" } else { "\u{c4},A,60*03\u{8a}" })));
    let engine = play_then("letter-line", &reads, 3_000);
    let told = engine.findings().into_iter().find(|finding| finding.id == ID);
    assert_eq!(told.map(|told| (told.count, told.first / MS)), Some((1, 1_000 + 41 * 50 + 150)));
}

/// A board that starts anew says a line or two: none of them is an order that was hit, so the silence is told.
#[test]
fn text_behind_a_start_is_no_order() {
    let mut reads = steady('A');
    reads.extend([to(2_960, "#boot cmd rst=B\n"), to(3_060, "load ok\n"), to(3_120, "net up\n")]);
    assert_eq!(count(&play_then("letter-line", &reads, 3_000), ID), 1);
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(9));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Cadence], 0));
}
