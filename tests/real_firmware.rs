//! Three logs of two real firmware images for an 8-bit microcontroller, run in a chip simulator: every byte explained,
//! wheel signs from kinematics equal to what the pins did, each reset named with its cause.
//!
//! Truth (FL FR RL RR, per cent), read from the direction pins and the duty on the enable pins: see `logs/README.md`.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::event::{Event, Happening};
use wheeltap::findings::Finding;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::Duties;
use wheeltap_parsers::{TextClass, Value, Wire};

fn read(name: &str) -> (Vec<Event>, Vec<Finding>) {
    let path = format!("{}/logs/{name}", env!("CARGO_MANIFEST_DIR"));
    let file = built_in::find("letter-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let mut source = wheeltap::source::open::open(&path).unwrap();
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    let mut events = Vec::new();
    while let Some(input) = source.next().unwrap() {
        events.extend_from_slice(engine.push(input));
    }
    events.extend_from_slice(engine.finish());
    (events, engine.findings())
}

/// The events tile each wire from byte 0 to its end.
fn assert_tiles(events: &[Event]) {
    for wire in Wire::BOTH {
        let mut next = 0;
        for event in events.iter().filter(|event| event.wire == Some(wire) && event.len > 0) {
            assert_eq!(event.offset, next, "{event:?}");
            next += event.len;
        }
        assert!(next > 0);
    }
}

#[test]
fn the_good_run_has_no_byte_unexplained_and_signs_equal_to_the_pins() {
    let (events, findings) = read("two-chip-good.jsonl");
    assert_tiles(&events);
    let mut meant: BTreeMap<(usize, i64), Duties> = BTreeMap::new();
    for event in &events {
        match &event.what {
            Happening::Damage { .. } | Happening::Noise { .. } => panic!("unexplained: {event:?}"),
            Happening::Text { class, .. } => {
                assert!(matches!(class, TextClass::Start { start_up: Some(_), .. }), "{event:?}");
            }
            Happening::Frame(frame) if event.wire == Some(Wire::ToDrive) => {
                let values: Vec<Value<'_>> = frame.values.iter().collect();
                let [Value::Word(code), Value::Int(duty)] = values[..] else { panic!("{values:?}") };
                meant.insert((code, duty), frame.meant.unwrap());
            }
            _ => {}
        }
    }
    // Order of the move table: A Z P K U O N.
    let truth: [((usize, i64), Duties); 7] = [
        ((0, 60), [600, 600, 600, 600]),
        ((1, 40), [-400, -400, -400, -400]),
        ((2, 80), [-800, 800, 800, -800]),
        ((3, 80), [800, -800, -800, 800]),
        ((4, 50), [-500, 500, -500, 500]),
        ((5, 50), [500, -500, 500, -500]),
        ((6, 0), [0, 0, 0, 0]),
    ];
    assert_eq!(meant, truth.into_iter().collect());
    assert!(findings.is_empty(), "{findings:#?}");
}

#[test]
fn the_brown_out_is_named_with_the_frame_it_cut() {
    let (events, findings) = read("two-chip-brownout.jsonl");
    assert_tiles(&events);
    let ids: Vec<&str> = findings.iter().map(|finding| finding.id).collect();
    assert!(ids.contains(&"reset-brown-out"), "{findings:#?}");
    let found = findings.iter().find(|finding| finding.id == "reset-brown-out").unwrap();
    assert_eq!(found.count, 1);
    assert!(found.says.contains("command board"), "{}", found.says);
    let damage = events.iter().filter(|event| matches!(event.what, Happening::Damage { .. })).count();
    assert_eq!(damage, 1, "only the frame that was cut");
    assert!(!events.iter().any(|event| matches!(event.what, Happening::Noise { .. })));
}

#[test]
fn the_watchdog_resets_are_counted() {
    let (events, findings) = read("two-chip-watchdog.jsonl");
    assert_tiles(&events);
    let found = findings.iter().find(|finding| finding.id == "reset-watchdog").unwrap();
    assert_eq!(found.count, 4, "{found:#?}");
    assert!(found.says.contains("drive board"), "{}", found.says);
    assert!(!events.iter().any(|event| matches!(event.what, Happening::Noise { .. })), "no noise");
}
