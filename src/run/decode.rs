//! `decode`: everything in a file or stream, as lines or as JSON.

use std::io;
use std::path::Path;

use wheeltap_parsers::Wire;

use crate::engine::Engine;
use crate::engine::event::{Event, Happening};
use crate::report;
use crate::run::headless::{Out, Printer};
use crate::run::{Failure, Outcome, damaged_lines, signals_choice, tell};
use crate::session::WholeCheck;
use crate::session::line_reader::LineReader;
use crate::source::open::open_file;
use crate::source::{Asked, Source};
use crate::strength::Strength;
use crate::strength::cure::Cure;

/// Decodes `file` (`-` is standard input) to standard output; `asked` chooses the signals of a value-change dump.
pub fn run(file: &str, asked: &Asked, rover: Option<&str>, as_json: bool) -> Result<Outcome, Failure> {
    let (mut source, rover) = signals_choice::open(file, asked, rover)?;
    if rover.is_none() {
        tell("No rover file: lines are shown as text. Name one with --rover FILE or NAME.");
    }
    if let Some(midway) = source.session().and_then(|session| session.header().begins_midway()) {
        tell(format!("{file} {midway}."));
    }
    for about in source.session().iter().flat_map(|session| &session.header().about) {
        tell(format!("{file} says: {about}"));
    }
    let mut engine = Engine::new(source.link().clone(), rover.clone());
    let mut printer = Printer::new(as_json);
    while let Some(input) = source.next()? {
        if !printer.events(engine.push(input), rover.as_deref())? {
            return Ok(Outcome::Fine);
        }
    }
    printer.events(engine.finish(), rover.as_deref())?;
    damaged_lines::named(file, &source);
    let outcome = printer.end(&engine)?;
    damaged_lines::whole_dump(&source)?;
    Ok(outcome)
}

/// Checks each line of the session `file` (`-` is standard input), and says what is damaged or missing.
pub fn check(file: &str, as_json: bool) -> Result<Outcome, Failure> {
    let (name, lines) = if file == "-" {
        ("standard input", LineReader::stream(Box::new(io::stdin())))
    } else {
        (file, LineReader::file(open_file(Path::new(file), file)?))
    };
    let check = WholeCheck::of_lines(name, lines, &mut |done| tell(format!("{} MB checked", done / 1_000_000)))?;
    let mut out = Out::stdout();
    if as_json {
        out.json(&report::json::whole_check(&check_figures(&check)).to_string())?;
    } else {
        for torn in check.torn() {
            out.line(&torn.to_string())?;
        }
        out.line(&check_words(name, &check))?;
        if let Some(midway) = &check.midway {
            out.line(&format!("{name} {midway}."))?;
        }
    }
    out.flush()?;
    Ok(if check.is_sound() { Outcome::Fine } else { Outcome::FaultsFound })
}

fn check_words(file: &str, check: &WholeCheck) -> String {
    let damaged = check.torn().len() as u64 + check.torn_not_listed();
    let sound = match damaged {
        0 => "every line is whole".to_owned(),
        1 => "1 line is damaged".to_owned(),
        more => format!("{more} lines are damaged"),
    };
    let closed =
        if check.closed { "closed by the recorder" } else { "not closed: the recorder was cut off, or still runs" };
    format!(
        "{file}: {sound}; {} lines, {} bytes of > and {} of <, {} said to be lost, {:.3} s; {closed}.",
        check.lines,
        check.heard[0],
        check.heard[1],
        check.lost,
        check.ends_us as f64 / 1e6
    )
}

fn check_figures(check: &WholeCheck) -> report::json::Check {
    report::json::Check {
        lines: check.lines,
        file_bytes: check.file_bytes,
        heard: check.heard,
        lost: check.lost,
        ends_us: check.ends_us,
        closed: check.closed,
        damaged: check.torn().iter().map(|torn| (torn.line, torn.byte, torn.why.clone())).collect(),
        not_listed: check.torn_not_listed(),
    }
}

/// How strong the orders of `file` are against small injuries, and the cure, to standard output.
pub fn strength(file: &str, asked: &Asked, rover: Option<&str>, as_json: bool) -> Result<Outcome, Failure> {
    let (mut source, rover) = signals_choice::open(file, asked, rover)?;
    let needs =
        || Failure::usage(format!("{file}: what an injured line would do needs a rover file: --rover FILE or NAME"));
    let rover = rover.ok_or_else(needs)?;
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    let mut frames = Vec::new();
    while let Some(input) = source.next()? {
        frames.extend(engine.push(input).iter().filter_map(whole_frame));
    }
    frames.extend(engine.finish().iter().filter_map(whole_frame));
    damaged_lines::named(file, &source);
    damaged_lines::whole_dump(&source)?;
    if frames.is_empty() {
        return Err(Failure::usage(format!("{file}: no good frame stands in it. Is it the right rover file?")));
    }
    let strength = Strength::of(&rover, &frames).ok_or_else(needs)?;
    let cure = Cure::of(&rover, &frames);
    let mut out = Out::stdout();
    if as_json {
        out.json(&report::strength::json(&strength, &cure).to_string())?;
    } else {
        for line in report::strength::words(&strength, &cure) {
            out.line(&line)?;
        }
    }
    out.flush()?;
    Ok(Outcome::Fine)
}

/// The bytes of a good frame on the wire to the drive board, where all of them were kept.
fn whole_frame(event: &Event) -> Option<Vec<u8>> {
    match &event.what {
        Happening::Frame(frame) if event.wire == Some(Wire::ToDrive) => {
            let bytes = frame.raw.bytes();
            (bytes.len() as u64 == event.len).then(|| bytes.to_vec())
        }
        _ => None,
    }
}
