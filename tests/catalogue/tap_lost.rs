//! Times at which the tap itself was deaf.

use super::hand_made::{MS, count, cue, lacks, play, play_then};
use wheeltap::engine::Engine;
use wheeltap::findings::attribution::cause::Cause;
use wheeltap_parsers::{Input, Wire};

fn deaf(engine: &Engine) -> Engine {
    let mut engine = engine.clone();
    let wire = Wire::ToDrive;
    engine.push(Input::PortGone { at: 20_000 * MS, wire });
    engine.push(Input::PortBack { at: 25_000 * MS, wire });
    engine.push(Input::Lost { at: 26_000 * MS, since: 26_000 * MS, wire, bytes: 300, damaged: false });
    engine.push(Input::Lost { at: 28_000 * MS, since: 27_000 * MS, wire, bytes: 20, damaged: true });
    engine.push(Input::Tick(30_000 * MS));
    engine
}

#[test]
fn positive() {
    let engine = deaf(&Engine::new(play("cue-line", &[]).link().clone(), None));
    for id in ["port-gone", "bytes-not-kept", "bytes-missing"] {
        assert_eq!(count(&engine, id), 1, "{id}");
    }
    let verdict = engine.snapshot(engine.now()).verdict;
    let mut causes: Vec<(Cause, u64)> = verdict.causes.iter().map(|part| (part.cause, part.count)).collect();
    causes.sort();
    assert_eq!(causes, [(Cause::Tap, 1), (Cause::NotKept, 1), (Cause::FileDamaged, 1)]);
}

/// A wire that is silent for as long with its port open.
#[test]
fn look_alike() {
    let engine = play_then("cue-line", &[cue(1_000, 1, 1, [0, 0, 0])], 25_000);
    assert_eq!((count(&engine, "port-gone"), count(&engine, "bytes-not-kept")), (0, 0));
}

/// It needs nothing of the link: a tap always knows when it was deaf.
#[test]
fn cannot_judge() {
    let engine = Engine::new(play("plain-line", &[]).link().clone(), None);
    assert!(lacks(&engine, "tap").is_empty() && engine.findings().is_empty());
}
