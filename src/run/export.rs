//! `export`: every good frame as a row, to a file or to standard output.

use std::fs::OpenOptions;
use std::path::{Path, PathBuf};

use wheeltap_parsers::Nanos;

use crate::engine::Engine;
use crate::engine::event::Event;
use crate::export::{Table, TimeWords, csv};
use crate::report::json::micros;
use crate::rover::file::RoverFile;
use crate::run::headless::Out;
use crate::run::{Failure, Outcome, rover_choice, tell};
use crate::session::wall;
use crate::source::Source;
use crate::source::open::recognise;
use crate::timing::link::LinkFacts;

/// The form of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Comma-separated values, RFC 4180.
    Csv,
    /// One JSON object a line.
    JsonLines,
}

/// How times are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Times {
    /// Seconds since the session began.
    Relative,
    /// ISO 8601 with the offset of the place.
    Iso,
}

/// What to export, and how.
pub struct Options {
    /// Session or log.
    pub file: String,
    /// Rover file or name.
    pub rover: Option<String>,
    /// The form.
    pub form: Form,
    /// How times are told.
    pub times: Times,
    /// Where to; standard output when not given.
    pub out: Option<PathBuf>,
    /// The dictionary of columns in place of the rows.
    pub columns: bool,
}

/// Exports.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let file = &options.file;
    let mut source = recognise(file)?;
    let rover = rover_choice::choose(options.rover.as_deref(), source.session().and_then(|session| session.rover()))?;
    let rover = rover.ok_or_else(|| {
        Failure::usage(format!("{file}: the columns follow from a rover file: name one with --rover FILE or NAME"))
    })?;
    let table = Table::of(&rover, time_words(file, options.times, source.link())?);
    let mut sheet = Sheet { out: out(options.out.as_deref())?, form: options.form, rows: 0, left_out: 0 };
    if options.columns {
        return sheet.dictionary(&table);
    }
    sheet.head(&table)?;
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    while let Some(input) = source.next()? {
        if !sheet.rows(&table, engine.push(input), &rover)? {
            return Ok(Outcome::Fine);
        }
    }
    sheet.rows(&table, engine.finish(), &rover)?;
    sheet.out.flush()?;
    let others = if sheet.left_out > 0 { " (decode shows those)" } else { "" };
    tell(format!(
        "{} frames exported; {} damaged frames, texts and noise runs are no rows{others}.",
        sheet.rows, sheet.left_out
    ));
    Ok(Outcome::Fine)
}

/// Standard output, or a new file.
fn out(path: Option<&Path>) -> Result<Out, Failure> {
    let Some(path) = path else { return Ok(Out::stdout()) };
    let file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| {
        let path = path.display();
        Failure::device(format!("{path}: cannot be made ({error}). An existing file is never overwritten."))
    })?;
    Ok(Out::new(Box::new(file)))
}

fn time_words(file: &str, times: Times, link: &LinkFacts) -> Result<TimeWords, Failure> {
    match (times, link.begun_unix_us) {
        (Times::Relative, _) => Ok(Box::new(seconds)),
        (Times::Iso, Some(begun)) => {
            let offset = link.utc_offset_min;
            Ok(Box::new(move |at| wall::write(begun.saturating_add(micros(at)), offset)))
        }
        (Times::Iso, None) => Err(Failure::usage(format!(
            "{file}: it does not say when it began, so there is no time of day: leave --time iso out"
        ))),
    }
}

/// Seconds with six decimals, exact.
fn seconds(at: Nanos) -> String {
    let us = micros(at);
    let sign = if us < 0 { "-" } else { "" };
    format!("{sign}{}.{:06}", us.unsigned_abs() / 1_000_000, us.unsigned_abs() % 1_000_000)
}

/// Rows on their way out.
struct Sheet {
    out: Out,
    form: Form,
    rows: u64,
    left_out: u64,
}

impl Sheet {
    fn head(&mut self, table: &Table) -> Result<(), Failure> {
        if self.form == Form::Csv {
            self.out.raw(&csv::head(table.columns().iter().map(|column| column.name.as_str())))?;
        }
        Ok(())
    }

    /// False once the reader has gone away.
    fn rows(&mut self, table: &Table, events: &[Event], rover: &RoverFile) -> Result<bool, Failure> {
        for event in events {
            let Some(cells) = table.row(event, rover) else {
                self.left_out += u64::from(event.len > 0);
                continue;
            };
            self.rows += 1;
            let there = match self.form {
                Form::Csv => self.out.raw(&csv::row(&cells))?,
                Form::JsonLines => self.out.json(&table.object(cells).to_string())?,
            };
            if !there {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn dictionary(&mut self, table: &Table) -> Result<Outcome, Failure> {
        for column in table.columns() {
            let words = [column.name.as_str(), column.unit, column.says.as_str()];
            match self.form {
                Form::Csv => self.out.raw(&csv::head(words.into_iter()))?,
                Form::JsonLines => {
                    let [name, unit, says] = words;
                    self.out.json(&serde_json::json!({ "name": name, "unit": unit, "says": says }).to_string())?
                }
            };
        }
        self.out.flush()?;
        Ok(Outcome::Fine)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_are_exact() {
        assert_eq!([1_234_567_890, 0, -1_500_000_000].map(seconds), ["1.234567", "0.000000", "-1.500000"]);
    }
}
