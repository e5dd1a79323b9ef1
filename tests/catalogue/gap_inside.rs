//! Frames whose end came late inside them.

use super::bench::{count, found, lacks, presses};
use super::one_rover::rover;
use wheeltap::findings::Need;
use wheeltap_parsers::Wire;

const FOR_EVER: &str = "for ever";

#[test]
fn positive() {
    let mut wires = presses();
    wires.put(200_000, Wire::ToDrive, "o500 ahead").put(200_040, Wire::ToDrive, "\n");
    let engine = wires.play(&rover("\"on change\"", FOR_EVER), false, 210_000);
    let gap = found(&engine, "gap-inside").unwrap();
    assert_eq!(gap.count, 1, "{gap:#?}");
    assert!(gap.says.contains("at least 39 ms"), "{}", gap.says);
}

#[test]
fn look_alike() {
    // Two reads brought one line, but its bytes followed on each other.
    let mut wires = presses();
    wires.put(200_000, Wire::ToDrive, "o500 ah").put(200_001, Wire::ToDrive, "ead\n");
    let engine = wires.play(&rover("\"on change\"", FOR_EVER), false, 210_000);
    assert_eq!(count(&engine, "gap-inside"), 0);
}

#[test]
fn cannot_judge() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("no-rate.jsonl");
    let rows = "{\"t_us\":1000,\"wire\":\">\",\"hex\":\"6f303030206168656164\"}\n{\"t_us\":50000,\"wire\":\">\",\"hex\":\"0a\"}\n";
    std::fs::write(&log, rows).unwrap();
    let mut source = wheeltap::source::open::open(log.to_str().unwrap()).unwrap();
    let mut engine = wheeltap::engine::Engine::new(source.link().clone(), Some(rover("\"learn\"", FOR_EVER)));
    while let Some(input) = source.next().unwrap() {
        engine.push(input);
    }
    engine.finish();
    assert_eq!(lacks(&engine, "gap-inside"), [Need::LineRate]);
    assert_eq!(count(&engine, "gap-inside"), 0);
}
