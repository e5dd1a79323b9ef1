//! `compare`: two sessions or logs side by side.

use wheeltap_parsers::Wire;

use crate::compare::{Comparison, Side};
use crate::engine::Engine;
use crate::engine::event::Event;
use crate::report::comparison;
use crate::rover::file::RoverFile;
use crate::run::headless::Out;
use crate::run::signals_choice::{Asked, asks, not_for, open_any};
use crate::run::{Failure, Outcome, damaged_lines, tell};
use crate::source::Source;
use crate::source::open::Opened;

/// Holds `files[1]` against `files[0]`, each decoded with `rover` or its own rover file. `asked` chooses the signals of
/// those that are value-change dumps.
pub fn run(files: [&str; 2], asked: &Asked, rover: Option<&str>, as_json: bool) -> Result<Outcome, Failure> {
    let [(a, one), (b, two)] = [side(files[0], asked, rover)?, side(files[1], asked, rover)?];
    if asks(asked) && !(one || two) {
        return Err(not_for(&files.join(", ")));
    }
    let compared = Comparison::of([&a, &b]);
    let mut out = Out::stdout();
    if as_json {
        out.json(&comparison::json(&compared, files).to_string())?;
    } else {
        for line in comparison::words(&compared, files) {
            out.line(&line)?;
        }
    }
    out.flush()?;
    Ok(if compared.worse() { Outcome::FaultsFound } else { Outcome::Fine })
}

/// One file, and whether it is a dump.
fn side(file: &str, asked: &Asked, rover: Option<&str>) -> Result<(Side, bool), Failure> {
    let (mut source, rover) = open_any(file, asked, rover)?;
    if rover.is_none() {
        tell(format!(
            "{file}: no rover file, so orders and moves are not known in it. Name one with --rover FILE or NAME."
        ));
    }
    let mut side = Side::new(settings(&source, rover.as_deref()));
    let mut engine = Engine::new(source.link().clone(), rover.clone());
    while let Some(input) = source.next()? {
        see(&mut side, engine.push(input), rover.as_deref());
        side.name_legs(engine.legs_begun());
    }
    see(&mut side, engine.finish(), rover.as_deref());
    side.name_legs(engine.legs_begun());
    side.end(&engine);
    damaged_lines::named(file, &source);
    damaged_lines::whole_dump(&source)?;
    Ok((side, source.pins().is_some()))
}

fn see(side: &mut Side, events: &[Event], rover: Option<&RoverFile>) {
    for event in events {
        side.see(event, rover);
    }
}

/// What is stated about a session: versions, rover file, line settings.
fn settings(source: &Opened, rover: Option<&RoverFile>) -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut add = |name: &str, value: String| all.push((name.to_owned(), value));
    if let Some((program, version)) = source.session().and_then(|session| session.header().program.clone()) {
        add("recorded by", format!("{program} {version}"));
    }
    for wire in Wire::BOTH {
        let Some(facts) = source.link().wire(wire) else { continue };
        let rate = facts.rate.map_or_else(|| "not known".to_owned(), |rate| format!("{rate} baud"));
        add(
            &format!("wire {}", wire.symbol()),
            format!("{rate}, {}, tap latency {} us", facts.settings, facts.latency / 1000),
        );
    }
    if let Some(rover) = rover {
        add("rover", format!("{} {}", rover.name, rover.version));
        add(
            "rover file",
            format!("{} lines, CRC-32C {:08X}", rover.text.lines().count(), crc32c::crc32c(rover.text.as_bytes())),
        );
        add("command board", rover.boards[0].clone());
        add("drive board", rover.boards[1].clone());
        add("link", rover.link.clone());
    }
    all
}
