//! What the motors bear and how far the rover runs on, from orders on the wire to the snapshot.
#![allow(missing_docs, clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::snapshot::{MotorLimits, RunOn};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Chunk, Input, Wire};

fn limits(text: &str, bytes: &[u8]) -> MotorLimits {
    let rover = Arc::new(RoverFile::load("rover", text).unwrap());
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "test".to_owned() };
    let mut engine = Engine::new(LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() }, Some(rover));
    let (at, byte_ns) = (1_000_000_000, 86_806);
    engine.push(Input::Chunk(Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: at, hi: at, byte_ns }));
    engine.push(Input::Tick(at + 1_000_000));
    engine.snapshot(at + 1_000_000).motors
}

/// 180 of 255 is 71 %. With 6 V motors the cap on a full pack is 6.0 / (12.6 - 1.8) = 55.5 %: least drop of an L298 at
/// 1 A, ST L298 data sheet, January 2000, page 3.
#[test]
fn a_plain_line_would_not_stop_and_may_be_over_the_cap() {
    let plain = built_in::find("plain-line").unwrap().text;
    let six_volts = plain.replace("rated_volts = 12.0", "rated_volts = 6.0");
    let moving = limits(&six_volts, b"pace,180\nway,port\n");
    assert_eq!((moving.duty_cap, moving.over, moving.run_on), (Some(555), true, RunOn::Never));
    assert_eq!(moving.pack, Some((12_600, false)), "nobody told the pack: a full one is reckoned with");
    let slow = limits(&six_volts, b"pace,120\nway,port\n");
    assert!(!slow.over);
    let resting = limits(&six_volts, b"pace,180\nway,port\nway,rest\n");
    assert_eq!((resting.over, resting.run_on), (false, RunOn::Resting));
    assert_eq!(limits(plain, b"way,port\n").duty_cap, Some(1000), "12 V motors behind an L298 need no cap");
}

/// The golden cue line orders +62 % and a deadline of 300 ms; at 600 mm/s full speed 0.62 * 600 * 0.3 = 111.6 mm.
#[test]
fn a_deadline_bounds_the_way() {
    let cue = built_in::find("cue-line").unwrap().text;
    let line = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    let run_on = limits(cue, line).run_on;
    assert_eq!(run_on, RunOn::Until { length: 300_000_000, millimetres: Some(112) });
    let unknown = cue.lines().filter(|line| !line.starts_with("full_speed_mm_s")).collect::<Vec<_>>().join("\n");
    assert_eq!(limits(&unknown, line).run_on, RunOn::Until { length: 300_000_000, millimetres: None });
}
