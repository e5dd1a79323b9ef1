//! One run of a case: the two programs in the rig, and what wheeltap made of the tap's log.

use std::path::PathBuf;
use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::event::{Event, Happening};
use wheeltap::findings::Finding;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::Duties;
use wheeltap_parsers::{TextClass, Wire};

use crate::at_pins::AtPins;
use crate::cases::Case;
use crate::dump::Dump;
use crate::tool_chain::{Board, ToolChain};
use crate::truth::Truth;

/// Everything that is known of a run.
pub struct Run {
    pub log: PathBuf,
    pub truth: Truth,
    pub dump: Dump,
    /// The dump as a file, and what wheeltap read in it.
    pub vcd: PathBuf,
    pub at_pins: AtPins,
    pub events: Vec<Event>,
    pub findings: Vec<Finding>,
}

/// Builds and runs the case, and lets wheeltap read the log; its files are kept in a folder of this group.
pub fn run(tools: &ToolChain, case: &Case<'_>, group: &str) -> Run {
    let folder = tools.folder(group, case.name);
    let programs = programs(tools, case);
    tools.drive(&programs, &folder, case.rig);
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let log = folder.join("tap.jsonl");
    let (events, findings) = listen(&log, case.link.rover());
    let vcd = folder.join("pins.vcd");
    let at_pins = AtPins::read(&vcd, case.link.rover());
    let (truth, dump) = (Truth::read(&read("truth.txt")), Dump::read(&read("pins.vcd")));
    Run { log, truth, dump, vcd, at_pins, events, findings }
}

/// What really happens in a run of the case; wheeltap is not asked.
pub fn truth(tools: &ToolChain, case: &Case<'_>, group: &str) -> Truth {
    let folder = tools.folder(group, case.name);
    tools.drive(&programs(tools, case), &folder, case.rig);
    Truth::read(&std::fs::read_to_string(folder.join("truth.txt")).unwrap())
}

/// The programs of both boards.
pub fn programs(tools: &ToolChain, case: &Case<'_>) -> [PathBuf; 2] {
    let program = |board, macros: &[&'static str]| tools.program(board, &[&[case.link.macro_name()], macros].concat());
    [program(Board::Command, case.command), program(Board::Drive, case.drive)]
}

/// What wheeltap makes of a log or a session.
pub fn listen(log: &std::path::Path, rover: &str) -> (Vec<Event>, Vec<Finding>) {
    let file = built_in::find(rover).unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let mut source = wheeltap::source::open::open(log.to_str().unwrap()).unwrap();
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    let mut events = Vec::new();
    while let Some(input) = source.next().unwrap() {
        events.extend_from_slice(engine.push(input));
    }
    events.extend_from_slice(engine.finish());
    (events, engine.findings())
}

impl Run {
    /// When what is meant changed, nanoseconds, and to what.
    pub fn meant(&self) -> Vec<(i64, Duties)> {
        let mut changes: Vec<(i64, Duties)> = Vec::new();
        for event in &self.events {
            let now = match &event.what {
                Happening::Frame(frame) => frame.meant,
                Happening::Lapse { certain: true } => Some([0; 4]),
                Happening::Text { class: TextClass::Start { .. }, .. } if event.wire == Some(Wire::FromDrive) => {
                    Some([0; 4])
                }
                _ => None,
            };
            if let Some(duties) = now.filter(|now| changes.last().is_none_or(|(_, before)| before != now)) {
                changes.push((event.at, duties));
            }
        }
        changes
    }

    /// How often each cause of damage was met.
    pub fn damage(&self) -> Vec<(&'static str, u64)> {
        let mut counts: Vec<(&'static str, u64)> = Vec::new();
        for event in &self.events {
            let Happening::Damage { cause, .. } = event.what else { continue };
            match counts.iter_mut().find(|(id, _)| *id == cause.id()) {
                Some((_, count)) => *count += 1,
                None => counts.push((cause.id(), 1)),
            }
        }
        counts
    }
}
