//! The adapter's own grid, named as the adapter's.

use super::hand_made::{Read, count, cue, finding, lacks, play, play_held, unknown};
use wheeltap::findings::{Layer, Need, Severity};

const ID: &str = "adapter-grid";

/// Orders sent evenly every 20 ms, read on a grid of 16 ms.
fn on_grid() -> Vec<Read> {
    (0..120).map(|n| cue((1_000 + n * 20 + 15) / 16 * 16, n, n % 100, [0, 0, 0])).collect()
}

#[test]
fn positive() {
    let engine = play_held("cue-line", &on_grid(), 17);
    let found = finding(&engine, ID).unwrap();
    assert_eq!((found.count, found.layer, found.severity), (120, Layer::Tap, Severity::Note));
    let ids: Vec<&str> = engine.findings().iter().map(|finding| finding.id).collect();
    // No answer stands on the wire made by hand: that is held against the drive board, and no lateness against anybody.
    assert_eq!(ids, ["answer-missing", ID]);
}

/// The same arrivals on a tap that is exact: what is uneven then is the rover's.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &on_grid()), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&on_grid());
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
