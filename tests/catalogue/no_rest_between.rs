//! A release that may never have been sent.

use super::hand_made::{count, cue, lacks, play, presses, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "no-rest-between";

#[test]
fn positive() {
    let engine = play("plain-line", &[to(1_000, "way,ahead\n"), to(2_000, "way,port\n"), to(3_000, "way,rest\n")]);
    assert_eq!(count(&engine, ID), 1);
}

/// The last release is never sent: nothing but a remark comes for two minutes. So too where the same move is sent again.
#[test]
fn positive_where_the_move_stands() {
    let mut lines = presses(20);
    lines.extend([
        to(60_000, "way,ahead\n"),
        to(61_000, "way,ahead\n"),
        to(180_000, "lamp,3\n"),
        to(181_000, "lamp,4\n"),
    ]);
    let engine = play("plain-line", &lines);
    assert_eq!((count(&engine, "move-stands"), count(&engine, ID)), (1, 0));
}

/// A long hold among long holds; too few before it; one that ends in time; a link on which orders run out.
#[test]
fn look_alike_where_a_move_stands() {
    let end = |from: i64| [to(from, "way,ahead\n"), to(from + 120_000, "lamp,3\n"), to(from + 121_000, "lamp,4\n")];
    let mut long = presses(20);
    long.extend([to(60_000, "way,port\n"), to(75_000, "way,rest\n")]);
    long.extend(end(80_000));
    assert_eq!(count(&play("plain-line", &long), "move-stands"), 0);
    let mut few = presses(3);
    few.extend(end(60_000));
    assert_eq!(count(&play("plain-line", &few), "move-stands"), 0);
    let mut ends = presses(20);
    ends.extend([to(60_000, "way,port\n"), to(85_000, "way,rest\n"), to(200_000, "lamp,3\n")]);
    assert_eq!(count(&play("plain-line", &ends), "move-stands"), 0);
    let drive: Vec<_> = (0..9).map(|n| cue(1_000 + n * 200, n, n, [40, 0, 0])).collect();
    assert_eq!(count(&play("cue-line", &drive), "move-stands"), 0);
}

/// A rest between; the same move again; a stick that turns while it drives.
#[test]
fn look_alike() {
    assert_eq!(count(&play("plain-line", &presses(20)), ID), 0);
    let again = [to(1_000, "way,ahead\n"), to(1_500, "way,ahead\n"), to(2_500, "way,rest\n")];
    assert_eq!(count(&play("plain-line", &again), ID), 0);
    let stick: Vec<_> = (0..9).map(|n| cue(1_000 + n * 200, n, n, [40, 0, n * 8])).collect();
    assert_eq!(count(&play("cue-line", &stick), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning, Need::Moves], 0));
    let engine = play("cue-line", &[cue(1_000, 1, 1, [40, 0, 0])]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Moves], 0));
}
