//! A healthy simulated rover of each link style, through adapters of three kinds: no byte unexplained, no fault
//! claimed, and *meant* equal to what the simulated drive board really told its wheels.
#![allow(clippy::unwrap_used)]

#[path = "at_once/threads.rs"]
mod threads;

use std::sync::Arc;

use threads::at_once;
use wheeltap::engine::Engine;
use wheeltap::engine::event::Happening;
use wheeltap::findings::Severity;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::simulation::{Settings, Style};
use wheeltap::source::Source;
use wheeltap::source::simulated::{Adapter, SimulatedSource};

const SECOND: i64 = 1_000_000_000;

fn rover(style: Style) -> Arc<RoverFile> {
    let file = built_in::find(style.name()).unwrap();
    Arc::new(RoverFile::load(file.name, file.text).unwrap())
}

#[test]
fn a_healthy_rover_has_no_fault_in_any_style() {
    at_once(&Style::ALL, |style| {
        let style = *style;
        for adapter in [Adapter::None, Adapter::Timer { ms: 1 }, Adapter::Timer { ms: 16 }] {
            let mut source = SimulatedSource::new(&Settings::demo(style, 7), adapter).ends_at(90 * SECOND);
            let mut engine = Engine::new(source.link().clone(), Some(rover(style)));
            let mut frames = 0;
            while let Some(input) = source.next().unwrap() {
                for event in engine.push(input) {
                    // The command board's transmit pin puts two bytes on the wire as it starts.
                    let stray = matches!(event.what, Happening::Noise { .. }) && event.len == 2;
                    let bad = matches!(event.what, Happening::Damage { .. } | Happening::Noise { .. }) && !stray;
                    assert!(!bad, "{} {adapter:?}: {event:?}", style.name());
                    frames += usize::from(matches!(event.what, Happening::Frame(_)));
                }
            }
            engine.finish();
            assert!(frames > 50, "{} {adapter:?}: {frames} frames", style.name());
            for finding in engine.findings() {
                assert!(finding.severity > Severity::Fault, "{} {adapter:?}: {finding:#?}", style.name());
            }
        }
    });
}

#[test]
fn meant_is_what_the_drive_board_tells_its_wheels() {
    at_once(&Style::ALL, |style| {
        let style = *style;
        let mut source = SimulatedSource::new(&Settings::demo(style, 3), Adapter::None).ends_at(15 * SECOND);
        let mut engine = Engine::new(source.link().clone(), Some(rover(style)));
        let (mut equal, mut apart) = (0, 0);
        while let Some(input) = source.next().unwrap() {
            engine.push(input);
            let truth = source.truth();
            let meant = engine.snapshot(engine.now()).wheels.map(|wheel| wheel.meant.unwrap_or(0));
            // Within rounding of a duty to whole per cent or to an eight-bit value.
            let near = meant.iter().zip(truth.commanded).all(|(a, b)| (a - b).abs() <= 5);
            if near { equal += 1 } else { apart += 1 }
        }
        // They part only for the moments between the end of a line and the next look at it.
        assert!(equal > 50 * apart, "{}: {equal} equal, {apart} apart", style.name());
    });
}
