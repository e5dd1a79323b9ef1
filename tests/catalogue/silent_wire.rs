//! A tapped wire on which nothing was ever heard.

use super::hand_made::{back, count, finding, got, lacks, play, play_then, presses, to, unknown};
use wheeltap::findings::Layer;

const ID: &str = "silent-wire";

/// The drive board speaks, the wire to it is silent: the command board's UART does not come out there.
#[test]
fn positive() {
    let engine = play_then("cue-line", &[got(1_000, 1)], 40_000);
    let found = finding(&engine, ID).unwrap();
    assert_eq!((found.count, found.layer), (1, Layer::CommandBoard));
    assert!(found.says.contains("wire >") && found.what_to_do.contains("default pins"), "{found:#?}");
}

/// Garbage of a wrong line rate is no silence; nor are 20 s without a press.
#[test]
fn look_alike() {
    let garbage = play_then("cue-line", &[to(1_000, "\u{7f}~\u{7f}~"), back(1_100, "x\n")], 40_000);
    assert_eq!(count(&garbage, ID), 0);
    assert_eq!(count(&play_then("cue-line", &[got(1_000, 1)], 20_000), ID), 0);
}

/// It needs nothing of the link, but a wire that nobody taps is not called silent.
#[test]
fn cannot_judge() {
    let mut long = presses(2);
    long.push(to(60_000, "way,rest\n"));
    let engine = play("plain-line", &long);
    assert_eq!(count(&engine, ID), 0, "only one wire is tapped");
    assert!(lacks(&unknown(&[]), ID).is_empty());
}
