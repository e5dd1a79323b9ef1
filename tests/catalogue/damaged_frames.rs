//! Frames that did not arrive intact.

use super::hand_made::{Read, checked, count, cue, finding, lacks, play, to, unknown};
use wheeltap::findings::{Layer, Need};

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

/// Orders that are right but for one thing that the rover file states, and hits: the check parts what was sent so from what
/// was hit on the way.
#[test]
fn a_check_tells_what_was_sent_so() {
    let order = |n: i64, verb: &str| checked(&format!("c{n:03} p{n:02} {verb} f+040 s+000 t+000 g2 d30 "));
    let layer = |made: &dyn Fn(i64) -> String, id: &str| {
        let lines: Vec<Read> = (0..60).map(|n| to(1_000 + n * 100, &made(n))).collect();
        finding(&play("cue-line", &lines), id).map(|finding| finding.layer)
    };
    let small = |n: i64| order(n, "drv").replace(|c: char| c.is_ascii_uppercase(), "?");
    let lower = |n: i64| {
        let text = order(n, "drv");
        let (body, check) = text.split_at(text.len() - 6);
        format!("{body}{}", check.to_ascii_lowercase())
    };
    let hit = |n: i64| order(n, "drv").replace("040", if n % 3 == 0 { "041" } else { "040" });
    assert_eq!(layer(&lower, "bad-check"), Some(Layer::CommandBoard));
    assert_eq!(layer(&|n| order(n, "DRV"), "unknown-word"), Some(Layer::CommandBoard));
    assert_eq!(layer(&hit, "bad-check"), Some(Layer::Wire));
    assert_eq!(layer(&small, "bad-check"), Some(Layer::Wire));
}
