//! The tap's own clock, and its sleep.

use super::bench::{Wires, count, found, lacks, presses};
use super::one_rover::rover;
use wheeltap_parsers::{Input, Wire};

const FOR_EVER: &str = "for ever";

#[test]
fn positive() {
    // Ten bytes dated 0.1 ms after the ten before them: the wire needs 0.9 ms for them.
    let facts = |engine: &wheeltap::engine::Engine| engine.link().wire(Wire::ToDrive).unwrap().clone();
    let mut engine = Wires::default().play(&rover("\"learn\"", FOR_EVER), false, 0);
    let facts = facts(&engine);
    for (offset, at) in [(0, 10_000_000), (11, 10_100_000)] {
        let chunk = wheeltap::timing::link::chunk(&facts, Wire::ToDrive, offset, at, 9_999_000, b"o000 ahead\n");
        engine.push(Input::Chunk(chunk));
    }
    engine.finish();
    let clock = found(&engine, "tap-clock").unwrap();
    assert_eq!((clock.count, clock.layer.id()), (1, "tap"));
}

#[test]
fn look_alike() {
    // Frames back to back, as fast as the wire can carry them.
    let mut wires = Wires::default();
    wires.put(1_000, Wire::ToDrive, "o000 ahead\no001 ahead\no002 ahead\no003 ahead\n");
    let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 2_000);
    assert_eq!(count(&engine, "tap-clock") + count(&engine, "tap-asleep"), 0);
}

#[test]
fn cannot_judge() {
    // It needs nothing of the link; without a rate nothing is too close.
    let engine = presses().play(&rover("\"learn\"", FOR_EVER), false, 120_000);
    assert!(lacks(&engine, "tap-clock").is_empty());
    assert_eq!(count(&engine, "tap-clock"), 0);
}
