//! Frames that did not arrive intact.

use super::hand_made::{count, cue, finding, lacks, play, to, unknown};
use wheeltap::findings::Need;

/// One flipped bit: `3` (33 hex) becomes `2`. And a CR before each LF, which is told as what it is.
#[test]
fn positive() {
    let hit = "c042 p17 drv f+020 s-065 t+000 g2 d30 #A93D.\n";
    let engine = play("cue-line", &[cue(1_000, 41, 16, [0, 0, 0]), to(1_200, hit), cue(1_400, 43, 18, [0, 0, 0])]);
    assert_eq!(count(&engine, "bad-check"), 1);
    let engine = play("plain-line", &[to(1_000, "way,ahead\r\n"), to(2_000, "way,rest\r\n")]);
    let found = finding(&engine, "unknown-word").unwrap();
    assert!(found.count == 2 && found.what_to_do.contains("CR"), "{found:#?}");
}

/// Whole lines of text are text, not damage.
#[test]
fn look_alike() {
    let engine = play(
        "cue-line",
        &[cue(1_000, 41, 16, [0, 0, 0]), to(1_200, "net ok, heap 91k\n"), cue(1_400, 42, 17, [0, 0, 0])],
    );
    assert_eq!(engine.snapshot(engine.now()).wires[0].as_ref().unwrap().damaged, 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "c042 p17 drv f+020 s-065 t+000 g2 d30 #A93D.\n")]);
    assert_eq!((lacks(&engine, "damaged-frames"), count(&engine, "bad-check")), (vec![Need::Meaning], 0));
}
