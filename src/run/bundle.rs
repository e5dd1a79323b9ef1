//! `bundle`: a session, or a part of one, made fit for a helper. First it shows what goes and what stays.

mod order;
mod part;
mod recent;
mod rover;
mod tally;
mod writer;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use wheeltap_parsers::Input;

use crate::bundle::secret::{overwritten, veiled, veiled_quotes};
use crate::bundle::veil::Veil;
use crate::engine::Engine;
use crate::engine::event::Event;
use crate::findings::Finding;
use crate::rover::file::RoverFile;
use crate::run::headless::Out;
use crate::run::{Failure, Outcome, damaged_lines, rover_choice, tell};
use crate::session::disk::is_recorded;
use crate::source::Source;
use crate::source::open::{Opened, recognise};
pub use part::Ends;
use part::Part;
use recent::Recent;
use tally::Tally;
use writer::Writer;

/// How many damaged lines of the session are named in the head of a bundle.
const TORN_SHOWN: usize = 20;

/// What to bundle, and how.
pub struct Options {
    /// Session or log.
    pub file: String,
    /// Rover file or name.
    pub rover: Option<String>,
    /// Where to; only shows when not given.
    pub out: Option<PathBuf>,
    /// Which part.
    pub ends: Ends,
    /// What it shows, in the person's words.
    pub about: Vec<String>,
    /// A file of observations of the wheels.
    pub observations: Option<PathBuf>,
}

/// What one look at the whole file gives.
struct Survey {
    veil: Veil,
    findings: Vec<Finding>,
    /// What the session said of itself before.
    said: Vec<String>,
    /// Damaged lines of the session, and that it was not closed: what the bundle must not hide.
    unsound: Vec<String>,
}

/// Bundles.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let file = &options.file;
    if file == "-" {
        return Err(Failure::usage("a bundle is made in two goes, so it needs a file: save standard input first"));
    }
    let before = Stamp::of(file);
    let source = recognise(file)?;
    if source.pins().is_some() {
        return Err(Failure::usage(format!(
            "{file}: this is a value-change dump, and a bundle is a session, which holds no pins. Read through what \
             `wheeltap decode {file}` shows; where no secret stands in it, give the dump itself. For a bundle record the \
             wire with `wheeltap listen PORT`."
        )));
    }
    if source.session().is_some() && is_recorded(Path::new(file)) {
        return Err(recorded(file));
    }
    let rover = rover::choose(options, &source)?;
    let starts_us = source.session().map_or(0, |session| session.header().begins_us());
    let (notes, ends_us) = look_through(source)?;
    let part = options.ends.resolve(&notes, (starts_us, ends_us.max(starts_us)))?;
    let survey = survey(file, &rover, part)?;
    let about = about(options, &survey, &rover)?;
    let writer = Writer { file, rover: &rover, veil: &survey.veil, part, about };
    let tally = writer.count()?;
    let mut out = Out::stdout();
    for line in shown(&tally, &survey.veil, &part, &rover) {
        out.line(&line)?;
    }
    let Some(path) = &options.out else {
        out.line("Nothing is written yet: name a file with --out FILE.")?;
        out.flush()?;
        return Ok(Outcome::Fine);
    };
    out.flush()?;
    // It was read more than once: what was shown must be what is written.
    if Stamp::of(file) != before {
        return Err(changed(file));
    }
    let (bytes, written) = writer.write(path)?;
    if Stamp::of(file) != before || written != tally {
        drop(std::fs::remove_file(path));
        return Err(changed(file));
    }
    tell(format!("{}: {bytes} bytes. wheeltap replay and decode open it as it is.", path.display()));
    Ok(Outcome::Fine)
}

/// What tells whether a file was written to: its length, and when it was last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Stamp(Option<(u64, Option<std::time::SystemTime>)>);

impl Stamp {
    fn of(file: &str) -> Self {
        Self(std::fs::metadata(file).ok().map(|about| (about.len(), about.modified().ok())))
    }
}

fn recorded(file: &str) -> Failure {
    Failure::usage(format!(
        "{file}: this session is still being recorded, and a bundle shows all of it before it is written. End the recording \
         first, then make the bundle."
    ))
}

fn changed(file: &str) -> Failure {
    Failure::usage(format!(
        "{file}: it was written to while the bundle was made, so nothing is kept of that: is it still being recorded? End \
         that, or copy the file, and make the bundle again."
    ))
}

/// All notes in order of time, and when the session ends, microseconds.
fn look_through(mut source: Opened) -> Result<(Vec<(i64, String)>, i64), Failure> {
    let (mut notes, mut ends) = (Vec::new(), 0);
    while let Some(input) = source.next()? {
        if let Input::Note { at, text } = input {
            notes.push((at / 1000, text.to_owned()));
        }
        ends = ends.max(input.at() / 1000);
    }
    notes.sort_by_key(|(at, _)| *at);
    Ok((notes, ends))
}

fn survey(file: &str, rover: &Arc<RoverFile>, part: Part) -> Result<Survey, Failure> {
    let mut source = recognise(file)?;
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    let mut look = Look { veil: Veil::default(), part, past: [false; 2], recent: Recent::default() };
    while let Some(input) = source.next()? {
        look.recent.take(&input);
        look.see(engine.push(input));
    }
    look.see(engine.finish());
    let Look { mut veil, .. } = look;
    veil.close();
    damaged_lines::named(file, &source);
    let said = source.session().map_or_else(Vec::new, |session| session.header().about.clone());
    Ok(Survey { veil, findings: engine.findings(), said, unsound: unsound(&source) })
}

/// The veil being drawn, with what belongs to the part.
struct Look {
    veil: Veil,
    part: Part,
    /// An event that ended after the part was met, by wire: the first of them may begin inside it.
    past: [bool; 2],
    recent: Recent,
}

impl Look {
    fn see(&mut self, events: &[Event]) {
        for event in events {
            let first_past = event.len > 0
                && event.at / 1000 > self.part.to_us
                && event.wire.is_some_and(|wire| !std::mem::replace(&mut self.past[wire.index()], true));
            let whole = event.wire.and_then(|wire| self.recent.get(wire, event.offset, event.len));
            self.veil.see(event, whole, first_past || self.part.holds(event.at / 1000));
        }
    }
}

/// What is wrong with the session, for the head of the bundle: its own lines are all whole.
fn unsound(source: &Opened) -> Vec<String> {
    let Some(session) = source.session() else { return Vec::new() };
    let torn = damaged_lines::words(session);
    let mut all: Vec<String> =
        torn.iter().take(TORN_SHOWN).map(|line| format!("Damaged in the session: {line}")).collect();
    if torn.len() > TORN_SHOWN {
        all.push(format!("Damaged in the session: {} more lines.", torn.len() - TORN_SHOWN));
    }
    if !session.closed() {
        all.push("The session was not closed: its recorder was cut off, or still ran.".to_owned());
    }
    all
}

/// What the bundle says of itself, before the veil: what the session said, what the person says, what was found.
fn about(options: &Options, survey: &Survey, rover: &RoverFile) -> Result<Vec<String>, Failure> {
    let mut all = survey.said.clone();
    all.extend(options.about.iter().cloned());
    all.extend(survey.unsound.iter().cloned());
    all.push(format!("Bundle made by wheeltap {}.", env!("CARGO_PKG_VERSION")));
    all.push(of_rover(rover));
    let found = |finding: &Finding| {
        let (severity, count, says) = (finding.severity.id(), finding.count, veiled_quotes(&finding.says));
        let s = if count == 1 { "" } else { "s" };
        let text = format!("Finding in the whole session, {severity}, {count} place{s}: {}: {says}", finding.id);
        // The session never held this sentence, so nothing of it is removed.
        veiled(&text).0
    };
    all.extend(survey.findings.iter().map(found));
    if let Some(path) = &options.observations {
        let text = std::fs::read_to_string(path).map_err(|error| {
            Failure::usage(format!("{}: the observations cannot be read ({error}).", path.display()))
        })?;
        all.extend(text.lines().filter(|line| !line.trim().is_empty()).map(|line| format!("Observation: {line}")));
    }
    Ok(all)
}

/// The rover and its boards in one sentence. Each name is looked at by itself, as in the rover file's text, then all of
/// it; what goes there is counted in the text.
fn of_rover(rover: &RoverFile) -> String {
    let alone = |name: &String| veiled(name).0;
    let boards: Vec<String> = rover.boards.iter().map(alone).collect();
    veiled(&format!("Rover: {} {}; boards: {}.", alone(&rover.name), alone(&rover.version), boards.join(", "))).0
}

/// What is removed and what stays, for the person to decide.
fn shown(tally: &Tally, veil: &Veil, part: &Part, rover: &RoverFile) -> Vec<String> {
    let mut lines = vec!["Removed (overwritten with x, length for length):".to_owned()];
    let wires = &tally.wires;
    lines.extend(wires.reasons.iter().map(|(reason, bytes)| format!("    {reason}: {bytes} bytes")));
    if wires.reasons.is_empty() {
        lines.push("    nothing on the wires".to_owned());
    }
    lines.extend(wires.examples(veil).iter().map(|text| format!("        such as: {text}")));
    if wires.frames > 0 {
        lines.push(format!("    {} good frames are hit and will be read as damaged", wires.frames));
    }
    lines.extend(tally.beside_the_wires());
    lines.push("Stays:".to_owned());
    let known = match wires.known {
        0 => String::new(),
        1 => "one piece of known start-up text, ".to_owned(),
        many => format!("{many} pieces of known start-up text, "),
    };
    lines.push(format!("    the session {}: orders, answers, {known}times, wall clock", part.words()));
    lines.push(format!("    the rover file: {} ({} lines)", rover_name(rover).shown, rover.text.lines().count()));
    let notes = tally.notes_by_time();
    lines.extend(notes.iter().map(|(at, text)| format!("    note at {:.3} s: {text}", *at as f64 / 1e6)));
    lines.extend(tally.about.iter().map(|text| format!("    says: {text}")));
    lines.push("Read it through: a name that stands in no such place is not known to be one.".to_owned());
    lines
}

/// The rover file's own name as it stands in a bundle.
struct RoverName {
    shown: String,
    /// How many bytes of it were overwritten.
    covered: usize,
    /// Folders stood before it.
    folder: bool,
}

/// The rover file's own name, without the folders that it lies in (of whatever system), names and addresses overwritten.
fn rover_name(rover: &RoverFile) -> RoverName {
    let whole = rover.file.strip_suffix(rover_choice::INSIDE).unwrap_or(&rover.file);
    let name = whole.rsplit(['/', '\\']).next().unwrap_or(whole);
    let shown = veiled(name).0;
    RoverName { covered: overwritten(name, &shown), folder: name.len() < whole.len(), shown }
}

/// The port's name, unless it may hold a serial number or a person's folder.
fn port_name(port: &str) -> String {
    let plain = Path::new(port).file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let short = plain.len() <= 10 && (port.starts_with("/dev/tty") || port.starts_with("COM"));
    if short { port.to_owned() } else { "x".repeat(port.len()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_that_names_a_device_is_covered() {
        assert_eq!(port_name("/dev/ttyUSB0"), "/dev/ttyUSB0");
        assert_eq!(port_name("/dev/serial/by-id/usb-A5069RR4"), "x".repeat(30));
    }
}
