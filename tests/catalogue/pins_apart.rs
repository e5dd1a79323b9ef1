//! What the pins told a wheel parts from what was meant.

use std::sync::Arc;

use super::hand_made::{MS, count, lacks, play, presses};
use wheeltap::engine::Engine;
use wheeltap::findings::Need;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Chunk, Input, Pins, Place, Told, Wire};

/// `way,ahead` at 180 of 255, and what the chip's pins told RL 3 ms later, thousandths.
fn told(rear_left: i32) -> Engine {
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "dump".to_owned() };
    let link = LinkFacts { wires: [Some(facts), None], dump: true, pins: true, ..LinkFacts::default() };
    let mut engine = Engine::new(link, Some(rover));
    let mut offset = 0;
    for (at, line, duties) in [
        (100, "pace,180\n", [0; 4]),
        (1_000, "way,ahead\n", [706, 706, rear_left, 706]),
        (2_000, "way,rest\n", [0; 4]),
        (3_000, "way,rest\n", [0; 4]),
    ] {
        let (at, bytes) = (at * MS, line.as_bytes());
        engine.push(Input::Chunk(Chunk { wire: Wire::ToDrive, offset, bytes, lo: at, hi: at, byte_ns: 84_635 }));
        offset += bytes.len() as u64;
        engine.push(Input::Pins(Pins { at: at + 3 * MS, place: Place::Chip, wheels: duties.map(Told::Duty) }));
        engine.push(Input::Tick(at + 3 * MS));
    }
    engine.finish();
    engine
}

#[test]
fn positive() {
    assert_eq!(count(&told(-706), "pins-firmware"), 1);
}

/// Within 1 % the pins follow.
#[test]
fn look_alike() {
    assert!(told(698).findings().iter().all(|finding| !finding.id.starts_with("pins-")));
}

#[test]
fn cannot_judge() {
    // A recording of levels in which no pin is known; a tap of a serial line has none, and does not speak of them.
    let dump = LinkFacts { dump: true, ..LinkFacts::default() };
    let rover = play("plain-line", &[]).rover().cloned().map(Arc::new);
    assert_eq!(lacks(&Engine::new(dump, rover), "pins-apart"), [Need::Pins]);
    assert!(lacks(&play("plain-line", &presses(3)), "pins-apart").is_empty());
}
