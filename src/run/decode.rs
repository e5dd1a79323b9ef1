//! `decode`: everything in a file or stream, as lines or as JSON.

use crate::engine::Engine;
use crate::run::headless::Printer;
use crate::run::{Failure, Outcome, rover_choice, tell};
use crate::source::Source;
use crate::source::open::recognise;

/// Decodes `file` (`-` is standard input) to standard output.
pub fn run(file: &str, rover: Option<&str>, as_json: bool) -> Result<Outcome, Failure> {
    let mut source = recognise(file)?;
    let rover = rover_choice::choose(rover, source.session().and_then(|session| session.rover()))?;
    if rover.is_none() {
        tell("No rover file: lines are shown as text. Name one with --rover FILE or NAME.");
    }
    let mut engine = Engine::new(source.link().clone(), rover.clone());
    let mut printer = Printer::new(as_json);
    while let Some(input) = source.next()? {
        if !printer.events(engine.push(input), rover.as_deref())? {
            return Ok(Outcome::Fine);
        }
    }
    printer.events(engine.finish(), rover.as_deref())?;
    if let Some(session) = source.session() {
        for torn in session.torn() {
            tell(format!("{file}: {torn}"));
        }
        if session.torn_not_listed() > 0 {
            tell(format!("{file}: {} more lines are damaged.", session.torn_not_listed()));
        }
    }
    printer.end(&engine)
}
