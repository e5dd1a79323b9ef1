//! Orders that waited and came one upon the other.

use super::bench::{Wires, count, found, lacks, presses};
use super::one_rover::{MS, rover};
use wheeltap::findings::Need;
use wheeltap_parsers::{Input, Wire};

const FOR_EVER: &str = "for ever";

#[test]
fn positive() {
    let mut wires = Wires::default();
    wires.steady(1_000, 50, 0..200, None).steady(11_180, 2, 200..204, None).steady(11_200, 50, 204..240, None);
    let engine = wires.play(&rover("50", FOR_EVER), false, 14_000);
    let bunched = found(&engine, "bunched").unwrap();
    assert_eq!(bunched.count, 1, "{bunched:#?}");
    assert!(bunched.says.contains("at least 229 ms"), "{}", bunched.says);
}

#[test]
fn look_alike() {
    // A silence with one order at its end; and a tap that looked away, so that many come in one read.
    let mut wires = Wires::default();
    wires.steady(1_000, 50, 0..200, None).steady(11_200, 50, 200..240, None);
    let rover = rover("50", FOR_EVER);
    assert_eq!(count(&wires.play(&rover, false, 14_000), "bunched"), 0);
    let mut wires = Wires::default();
    let mut engine = wires.steady(1_000, 50, 0..200, None).play(&rover, false, 10_960);
    let text: String = (200..204).fold(String::new(), |text, n| text + &format!("o{n:03} ahead\n"));
    let facts = engine.link().wire(Wire::ToDrive).unwrap().clone();
    let asleep =
        wheeltap::timing::link::chunk(&facts, Wire::ToDrive, 200 * 11, 11_180 * MS, 10_960 * MS, text.as_bytes());
    engine.push(Input::Chunk(asleep));
    engine.finish();
    assert_eq!(count(&engine, "bunched") + count(&engine, "late"), 0);
    assert_eq!(count(&engine, "tap-asleep"), 1);
    assert_eq!(engine.snapshot(0).times.together[0], 3, "counted, not flagged");
}

#[test]
fn cannot_judge() {
    let engine = presses().play(&rover("\"learn\"", FOR_EVER), false, 120_000);
    assert_eq!((lacks(&engine, "bunched"), count(&engine, "bunched")), (vec![Need::Cadence], 0));
}
