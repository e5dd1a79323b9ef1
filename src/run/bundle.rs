//! `bundle`: a session, or a part of one, made fit for a helper. First it shows what goes and what stays.

mod part;
mod writer;

use std::path::{Path, PathBuf};

use crate::bundle::secret::veiled;
use crate::bundle::veil::Veil;
use crate::engine::Engine;
use crate::engine::event::Happening;
use crate::findings::Finding;
use crate::rover::file::RoverFile;
use crate::run::headless::Out;
use crate::run::{Failure, Outcome, rover_choice, tell};
use crate::source::Source;
use crate::source::open::recognise;
pub use part::Ends;
use writer::Writer;

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
    notes: Vec<(i64, String)>,
    findings: Vec<Finding>,
    ends_us: i64,
}

/// Bundles.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let file = &options.file;
    if file == "-" {
        return Err(Failure::usage("a bundle is made in two goes, so it needs a file: save standard input first"));
    }
    let source = recognise(file)?;
    let rover = rover_choice::choose(options.rover.as_deref(), source.session().and_then(|session| session.rover()))?;
    let rover = rover.ok_or_else(|| {
        let why = "without a rover file every line is free text and would be overwritten";
        Failure::usage(format!("{file}: {why}: name one with --rover FILE or NAME"))
    })?;
    drop(source);
    let survey = survey(file, &rover)?;
    let part = options.ends.resolve(&survey.notes, survey.ends_us)?;
    let about = about(options, &survey, &rover)?;
    let mut out = Out::stdout();
    for line in shown(&survey, &part, &about, &rover) {
        out.line(&line)?;
    }
    let Some(path) = &options.out else {
        out.line("Nothing is written yet: name a file with --out FILE.")?;
        out.flush()?;
        return Ok(Outcome::Fine);
    };
    out.flush()?;
    let done = Writer { file, path, rover: &rover, veil: &survey.veil, part, about }.write()?;
    tell(format!("{}: {done} bytes. wheeltap replay and decode open it as it is.", path.display()));
    Ok(Outcome::Fine)
}

fn survey(file: &str, rover: &std::sync::Arc<RoverFile>) -> Result<Survey, Failure> {
    let mut source = recognise(file)?;
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    let (mut veil, mut notes) = (Veil::default(), Vec::new());
    while let Some(input) = source.next()? {
        see(engine.push(input), &mut veil, &mut notes);
    }
    see(engine.finish(), &mut veil, &mut notes);
    veil.close();
    notes.sort_by_key(|(at, _)| *at);
    Ok(Survey { veil, notes, findings: engine.findings(), ends_us: engine.now() / 1000 })
}

fn see(events: &[crate::engine::event::Event], veil: &mut Veil, notes: &mut Vec<(i64, String)>) {
    for event in events {
        veil.see(event);
        if let Happening::Note(text) = &event.what {
            notes.push((event.at / 1000, text.to_string()));
        }
    }
}

/// What the bundle says of itself.
fn about(options: &Options, survey: &Survey, rover: &RoverFile) -> Result<Vec<String>, Failure> {
    let mut all = options.about.clone();
    all.push(format!("Bundle made by wheeltap {}.", env!("CARGO_PKG_VERSION")));
    all.push(format!("Rover: {} {}; boards: {}.", rover.name, rover.version, rover.boards.join(", ")));
    let found = |finding: &Finding| {
        let (severity, count) = (finding.severity.id(), finding.count);
        format!("Finding in the whole session, {severity}, {count} places: {}: {}", finding.id, finding.says)
    };
    all.extend(survey.findings.iter().map(found));
    if let Some(path) = &options.observations {
        let text = std::fs::read_to_string(path).map_err(|error| {
            Failure::usage(format!("{}: the observations cannot be read ({error}).", path.display()))
        })?;
        all.extend(text.lines().filter(|line| !line.trim().is_empty()).map(|line| format!("Observation: {line}")));
    }
    Ok(all.iter().map(|text| veiled(text).0).collect())
}

/// What is removed and what stays, for the person to decide.
fn shown(survey: &Survey, part: &part::Part, about: &[String], rover: &RoverFile) -> Vec<String> {
    let mut lines = vec!["Removed (overwritten with x, length for length):".to_owned()];
    lines.extend(survey.veil.reasons.iter().map(|(reason, bytes)| format!("    {reason}: {bytes} bytes")));
    if survey.veil.reasons.is_empty() {
        lines.push("    nothing on the wires".to_owned());
    }
    lines.extend(survey.veil.examples.iter().map(|text| format!("        such as: {text}")));
    if survey.veil.frames > 0 {
        lines.push(format!("    {} good frames are hit and will be read as damaged", survey.veil.frames));
    }
    let hit = survey.notes.iter().filter(|(_, text)| veiled(text).1).count();
    lines.push(format!("    names and addresses in {hit} notes, in comments of the rover file, in the port's name"));
    lines.push("Stays:".to_owned());
    lines.push(format!("    the session {}: orders, answers, start-up text, times, wall clock", part.words()));
    lines.push(format!("    the rover file: {} ({} lines)", rover.file, rover.text.lines().count()));
    let inside = survey.notes.iter().filter(|(at, _)| part.holds(*at));
    lines.extend(inside.map(|(at, text)| format!("    note at {:.3} s: {}", *at as f64 / 1e6, veiled(text).0)));
    lines.extend(about.iter().map(|text| format!("    says: {text}")));
    lines.push("Read it through: a name that stands in no such place is not known to be one.".to_owned());
    lines
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
