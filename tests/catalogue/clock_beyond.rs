//! A sender's clock that no receiver bears, measured from edges.

use super::hand_made::{MS, count, finding, lacks, play, presses};
use wheeltap::engine::Engine;
use wheeltap::findings::Need;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Input, LineClock, Wire};

const ID: &str = "clock-beyond";

/// A recording of levels whose sender is off by so many parts per million.
fn measured(wire: Wire, ppm: i64) -> Engine {
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "dump".to_owned() };
    let wires = [Some(facts.clone()), Some(facts)];
    let mut engine = Engine::new(LinkFacts { wires, dump: true, ..LinkFacts::default() }, None);
    let clock = LineClock { at: 500 * MS, wire, milli_baud: 115_200_000, error_ppm: Some(ppm), framing_errors: 0 };
    engine.push(Input::Clock(clock));
    engine.push(Input::Tick(1_000 * MS));
    engine.finish();
    engine
}

/// 8.5 % fast, as a divider of 15 in place of 16 makes it from 16 MHz; 8.6 % slow.
#[test]
fn positive() {
    for ppm in [85_069, -86_000] {
        assert_eq!(count(&measured(Wire::ToDrive, ppm), ID), 1, "{ppm}");
    }
    let found = finding(&measured(Wire::ToDrive, -86_000), ID).unwrap();
    assert!(found.says.contains("8.6 % slow"), "{}", found.says);
}

/// 2.1 % fast is what 16 MHz makes of 115,200 baud; a receiver bears it. So does it 4.5 %. The wire back is heard by the
/// command board alone.
#[test]
fn look_alike() {
    for (wire, ppm) in [(Wire::ToDrive, 21_242), (Wire::ToDrive, -45_000), (Wire::FromDrive, 85_069)] {
        assert_eq!(count(&measured(wire, ppm), ID), 0, "{ppm}");
    }
}

/// A tap of a serial line has bytes and no edges, and does not speak of them.
#[test]
fn cannot_judge() {
    assert!(lacks(&play("plain-line", &presses(3)), ID).is_empty());
    assert_eq!(count(&play("plain-line", &presses(3)), ID), 0);
    assert_eq!(Need::Levels.says(), "a recording of the wire's levels");
}
