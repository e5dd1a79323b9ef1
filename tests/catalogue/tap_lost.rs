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
    engine.push(Input::Tick(30_000 * MS));
    engine
}

#[test]
fn positive() {
    let engine = deaf(&Engine::new(play("cue-line", &[]).link().clone(), None));
    assert_eq!((count(&engine, "port-gone"), count(&engine, "bytes-not-kept")), (1, 1));
    let verdict = engine.snapshot(engine.now()).verdict;
    assert_eq!(verdict.causes.first().map(|part| (part.cause, part.count)), Some((Cause::Tap, 2)));
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
