//! What was printed live is what the recorded session decodes to, line by line; and no cutting changes what is said.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "live_and_replay/inputs.rs"]
mod inputs;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::path::Path;
use std::sync::Arc;

use proptest::prelude::*;
use wheeltap::engine::Engine;
use wheeltap::report::json;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::simulation::{Fault, Settings, Style};
use wheeltap::source::Source;
use wheeltap::source::simulated::{Adapter, SimulatedSource};
use wheeltap::timing::link::LinkFacts;
use wheeltap_parsers::{Input, Wire};

use inputs::Heard;
use without_screen::{Rover, Running, wait_for};

/// Both outputs, line by line.
#[track_caller]
fn same(live: &str, again: &str) {
    for (number, (one, other)) in live.lines().zip(again.lines()).enumerate() {
        assert_eq!(one, other, "line {} differs", number + 1);
    }
    assert_eq!(live.lines().count(), again.lines().count(), "as many lines");
}

/// How `listen` is asked to end.
enum End {
    Interrupt,
    /// Ctrl-C in a shell stops the rover too: the port hangs up.
    RoverFirst,
}

/// Listens, without a screen, to `style` until `frames` frames were printed; gives its output and that of `decode`.
#[track_caller]
fn listened(folder: &Path, style: Style, arguments: &[&str], frames: usize, end: &End) -> (String, String) {
    let name = style.name();
    let simulate: Vec<&str> = ["--like", name].iter().chain(arguments).copied().collect();
    let rover = Rover::start(folder, &simulate);
    assert_eq!(rover.back.is_some(), style.answers(), "{name}: a wire back where the style answers");
    let mut listen = vec!["listen"];
    listen.extend(rover.ports());
    listen.extend(["--rover", name, "--session", "one.wheeltap", "--headless", "--json"]);
    let mut tap = Running::wheeltap(folder, &listen);
    wait_for("frames", || {
        assert!(!tap.over(), "listen has ended: {}", tap.said());
        tap.written().matches("\"kind\":\"frame\"").count() >= frames
    });
    if matches!(end, End::RoverFirst) {
        rover.stop();
        wait_for("the loss of the port", || tap.written().contains("port-gone"));
    }
    tap.signal("INT");
    let live = tap.end();
    assert_eq!(live.code(), 0, "{}", live.err);
    let again = Running::wheeltap(folder, &["decode", "one.wheeltap", "--json"]).end();
    assert!(again.err.is_empty(), "{}", again.err);
    assert!(again.code() <= 1);
    (live.text().to_owned(), again.text().to_owned())
}

#[track_caller]
fn live_is_replay(style: Style, arguments: &[&str], frames: usize, end: &End) {
    let folder = tempfile::tempdir().unwrap();
    let (live, again) = listened(folder.path(), style, arguments, frames, end);
    assert!(live.lines().last().unwrap().starts_with("{\"kind\":\"summary\""));
    same(&live, &again);
}

#[test]
fn plain_line() {
    live_is_replay(Style::PlainLine, &[], 6, &End::Interrupt);
}

#[test]
fn cue_line_both_wires() {
    live_is_replay(Style::CueLine, &[], 100, &End::Interrupt);
}

#[test]
fn stave_both_wires() {
    live_is_replay(Style::Stave, &[], 100, &End::Interrupt);
}

#[test]
fn bead_both_wires() {
    live_is_replay(Style::Bead, &[], 100, &End::Interrupt);
}

#[test]
fn ladder() {
    live_is_replay(Style::Ladder, &[], 80, &End::Interrupt);
}

#[test]
fn a_port_that_hangs_up() {
    live_is_replay(Style::CueLine, &[], 60, &End::RoverFirst);
    live_is_replay(Style::PlainLine, &[], 4, &End::RoverFirst);
}

/// What one engine says of these inputs, as `decode --json` prints it.
fn said(link: &LinkFacts, rover: Option<&Arc<RoverFile>>, inputs: &[Heard]) -> Vec<String> {
    let mut engine = Engine::new(link.clone(), rover.cloned());
    let mut lines = Vec::new();
    for input in inputs {
        let events = engine.push(input.input());
        lines.extend(events.iter().filter_map(|event| json::event(event, rover.map(AsRef::as_ref))));
    }
    lines.extend(engine.finish().iter().filter_map(|event| json::event(event, rover.map(AsRef::as_ref))));
    lines.extend(engine.findings().iter().map(json::finding));
    lines.push(json::summary(&engine));
    lines.iter().map(ToString::to_string).collect()
}

/// A rover for some seconds, as its tap heard it.
fn heard(style: Style, seed: u64, faults: &[Fault], adapter: Adapter, seconds: i64) -> (LinkFacts, Vec<Heard>) {
    let mut settings = Settings::demo(style, seed);
    settings.faults = faults.to_vec();
    let mut source = SimulatedSource::new(&settings, adapter).ends_at(seconds * 1_000_000_000);
    let mut inputs = Vec::new();
    while let Some(input) = source.next().unwrap() {
        inputs.push(Heard::of(&input));
    }
    (source.link().clone(), inputs)
}

/// An order under way when the port goes says nothing of what was sent while nobody listened.
#[test]
fn a_port_that_went_away_is_no_lapse() {
    let (link, inputs) = heard(Style::CueLine, 1, &[], Adapter::None, 8);
    let file = built_in::find("cue-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let mut engine = Engine::new(link, Some(rover));
    let mut moving = None;
    for input in &inputs {
        engine.push(input.input());
        if engine.now() > 3_000_000_000 && engine.snapshot(engine.now()).wheels[0].meant.is_some_and(|duty| duty != 0) {
            moving = Some(engine.now());
            break;
        }
    }
    let at = moving.expect("a wheel is meant to turn");
    for (later, back) in [(0, false), (5_000_000_000, true)] {
        let wire = Wire::ToDrive;
        let at = at + later;
        engine.push(if back { Input::PortBack { at, wire } } else { Input::PortGone { at, wire } });
        engine.push(Input::Tick(at + 4_000_000_000));
        assert_eq!(engine.snapshot(at).wheels[0].meant, None, "what is in force is not known");
    }
    let findings = engine.findings();
    let ids: Vec<&str> = findings.iter().map(|finding| finding.id).collect();
    assert!(ids.contains(&"port-gone") && !ids.contains(&"lapse") && !ids.contains(&"silent-while-moving"), "{ids:?}");
}

/// One reader slept while the other did not: what the first had waiting was on the wire all the time, as its answers show.
#[test]
fn a_reader_that_slept_is_no_lapse() {
    for style in [Style::CueLine, Style::Stave] {
        let (link, inputs) = heard(style, 1, &[], Adapter::Timer { ms: 1 }, 12);
        let file = built_in::find(style.name()).unwrap();
        let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
        let sound = said(&link, Some(&rover), &inputs);
        let false_claim = ["lapse", "silent-while-moving", "no-answer"];
        // What may have been is counted, and claims nothing.
        let claims = |line: &&String| {
            let claim = |claim: &&str| line.contains(&format!("\"event\":\"{claim}\""));
            false_claim.iter().any(claim) && !line.contains("\"certain\":false")
        };
        assert_eq!(sound.iter().find(claims), None, "{style:?} is not sound");
        for begins in (2..10).map(|second| i64::from(second) * 1_000_000_000) {
            let asleep = begins..begins + 1_200_000_000;
            let mut slept = Vec::new();
            let mut waiting: Option<(u64, Vec<u8>, i64, i64)> = None;
            for input in &inputs {
                match input {
                    Heard::Chunk { wire: Wire::ToDrive, offset, bytes, lo, hi, byte_ns } if asleep.contains(hi) => {
                        let (_, all, ..) = waiting.get_or_insert((*offset, Vec::new(), *lo, *byte_ns));
                        all.extend(bytes);
                    }
                    // A tick says that both found nothing.
                    Heard::Other(Input::Tick(at)) if asleep.contains(at) => {}
                    input => {
                        if input.input().at() >= asleep.end
                            && let Some((offset, bytes, lo, byte_ns)) = waiting.take()
                        {
                            let hi = asleep.end;
                            slept.push(Heard::Chunk { wire: Wire::ToDrive, offset, bytes, lo, hi, byte_ns });
                        }
                        slept.push(input.clone());
                    }
                }
            }
            let found = said(&link, Some(&rover), &slept);
            assert_eq!(found.iter().find(claims), None, "{style:?}, asleep from {begins} ns on");
        }
    }
}

fn adapters() -> impl Strategy<Value = Adapter> {
    prop_oneof![Just(Adapter::None), (1u8..=20).prop_map(|ms| Adapter::Timer { ms })]
}

fn faults() -> impl Strategy<Value = Vec<Fault>> {
    prop::collection::vec(prop::sample::select(Fault::all()), 0..3)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Ticks put elsewhere (as often as wanted, wherever they are true), and reads cut in any way.
    #[test]
    fn no_cutting_changes_what_is_said(
        style in prop::sample::select(Style::ALL.to_vec()),
        seed in 0u64..1000,
        faults in faults(),
        adapter in adapters(),
        with_rover in prop::bool::weighted(0.8),
        trouble in 0u16..400,
        cuts in any::<u64>(),
        share in 0u8..=100,
    ) {
        let (link, mut inputs) = heard(style, seed, &faults, adapter, 8);
        inputs::troubled(&mut inputs, seed + 1, trouble);
        let file = built_in::find(style.name()).unwrap();
        let rover = with_rover.then(|| Arc::new(RoverFile::load(file.name, file.text).unwrap()));
        let whole = said(&link, rover.as_ref(), &inputs);
        let cut = said(&link, rover.as_ref(), &inputs::recut(&inputs, cuts, share));
        for (number, (one, other)) in whole.iter().zip(&cut).enumerate() {
            prop_assert_eq!(one, other, "line {}", number + 1);
        }
        prop_assert_eq!(whole.len(), cut.len());
    }
}
