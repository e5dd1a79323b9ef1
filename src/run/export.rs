//! `export`: every good frame as a row, to a file or to standard output.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde_json::{Value as Json, json};
use wheeltap_parsers::Nanos;

use crate::engine::Engine;
use crate::engine::event::Event;
#[cfg(feature = "parquet")]
use crate::export::parquet::{Fault, Writer};
use crate::export::{Column, Table, TimeWords, csv};
use crate::report::json::micros;
use crate::rover::file::RoverFile;
use crate::run::headless::Out;
use crate::run::signals_choice::{self, Asked};
use crate::run::{Failure, Outcome, damaged_lines, new_file, tell};
use crate::session::wall;
use crate::source::open::Opened;
use crate::source::{PinsSource, Source};
use crate::timing::link::LinkFacts;

/// The form of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Comma-separated values, RFC 4180.
    Csv,
    /// One JSON object a line.
    JsonLines,
    /// A typed table, column by column; only where it was built in.
    Parquet,
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
    /// Which signals of a value-change dump are used.
    pub signals: Asked,
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
    let (mut source, rover) = signals_choice::open(file, &options.signals, options.rover.as_deref())?;
    let rover = rover.ok_or_else(|| {
        Failure::usage(format!("{file}: the columns follow from a rover file: name one with --rover FILE or NAME"))
    })?;
    let table = Table::of(&rover, time_words(file, options.times, source.link())?);
    let path = options.out.as_deref();
    if options.columns {
        return to_text(path, |out| dictionary(out, options.form, &table));
    }
    if options.form == Form::Parquet {
        let why = "a Parquet file is no text: name a new file for it with --out FILE";
        let path = path.ok_or_else(|| Failure::usage(why))?;
        return new_file::filled(path, |to| rows(file, typed(to, path, &table)?, &mut source, &table, &rover));
    }
    to_text(path, |out| rows(file, Sheet::Text(out, options.form), &mut source, &table, &rover))
}

/// Writes text to standard output, or to the new file at `path`.
fn to_text(path: Option<&Path>, write: impl FnOnce(Out) -> Result<Outcome, Failure>) -> Result<Outcome, Failure> {
    let Some(path) = path else { return write(Out::stdout()) };
    new_file::filled(path, |file| write(Out::new(Box::new(file), format!("{}:", path.display()))))
}

/// Every good frame as a row.
fn rows(
    file: &str,
    mut sheet: Sheet,
    source: &mut Opened,
    table: &Table,
    rover: &Arc<RoverFile>,
) -> Result<Outcome, Failure> {
    sheet.head(table)?;
    let mut engine = Engine::new(source.link().clone(), Some(rover.clone()));
    let mut count = Count::default();
    while let Some(input) = source.next()? {
        if !sheet.rows(table, engine.push(input), rover, &mut count)? {
            return Ok(Outcome::Fine);
        }
    }
    sheet.rows(table, engine.finish(), rover, &mut count)?;
    sheet.end()?;
    damaged_lines::named(file, source);
    if source.pins().is_some_and(PinsSource::has_pins) {
        tell(format!("{file}: frames only; what was seen at the pins is no row (decode --json gives it)."));
    }
    let others = if count.left_out > 0 { " (decode shows those)" } else { "" };
    tell(format!(
        "{} frames exported; {} damaged frames, texts and noise runs are no rows{others}.",
        count.rows, count.left_out
    ));
    damaged_lines::whole_dump(source)?;
    Ok(Outcome::Fine)
}

/// The dictionary of columns.
fn dictionary(mut out: Out, form: Form, table: &Table) -> Result<Outcome, Failure> {
    for Column { name, unit, says, content } in table.columns() {
        let content = content.word();
        match form {
            Form::JsonLines => {
                out.json(&json!({ "name": name, "unit": unit, "says": says, "content": content }).to_string())?
            }
            _ => out.raw(&csv::head([name.as_str(), *unit, says.as_str(), content].into_iter()))?,
        };
    }
    out.flush()?;
    Ok(Outcome::Fine)
}

#[cfg(feature = "parquet")]
fn typed(file: File, path: &Path, table: &Table) -> Result<Sheet, Failure> {
    let writer = Writer::new(file, table.columns()).map_err(|error| not_written(path, &error.into()))?;
    Ok(Sheet::Parquet(Box::new(writer), path.to_owned()))
}

#[cfg(not(feature = "parquet"))]
fn typed(_: File, path: &Path, _: &Table) -> Result<Sheet, Failure> {
    Err(Failure::usage(format!(
        "{}: this wheeltap was built without Parquet. Build it with `cargo install --path . --features parquet`, or take \
         --form csv.",
        path.display()
    )))
}

#[cfg(feature = "parquet")]
fn not_written(path: &Path, fault: &Fault) -> Failure {
    Failure::device(format!("{}: cannot be written ({fault}). Free some space.", path.display()))
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

/// What has gone by.
#[derive(Default)]
struct Count {
    rows: u64,
    left_out: u64,
}

/// Rows on their way out.
enum Sheet {
    /// As text of this form.
    Text(Out, Form),
    /// As a typed table, with the path of its file.
    #[cfg(feature = "parquet")]
    Parquet(Box<Writer>, PathBuf),
}

impl Sheet {
    fn head(&mut self, table: &Table) -> Result<(), Failure> {
        if let Self::Text(out, Form::Csv) = self {
            out.raw(&csv::head(table.columns().iter().map(|column| column.name.as_str())))?;
        }
        Ok(())
    }

    /// False once the reader has gone away.
    fn rows(&mut self, table: &Table, events: &[Event], rover: &RoverFile, count: &mut Count) -> Result<bool, Failure> {
        for event in events {
            let Some(cells) = table.row(event, rover) else {
                count.left_out += u64::from(event.len > 0);
                continue;
            };
            count.rows += 1;
            if !self.row(table, cells)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn row(&mut self, table: &Table, cells: Vec<Json>) -> Result<bool, Failure> {
        match self {
            Self::Text(out, Form::JsonLines) => out.json(&table.object(cells).to_string()),
            Self::Text(out, _) => out.raw(&csv::row(&cells)),
            #[cfg(feature = "parquet")]
            Self::Parquet(writer, path) => writer.row(cells).map(|()| true).map_err(|fault| not_written(path, &fault)),
        }
    }

    fn end(self) -> Result<(), Failure> {
        match self {
            Self::Text(mut out, _) => out.flush().map(drop),
            #[cfg(feature = "parquet")]
            Self::Parquet(writer, path) => writer.end().map_err(|fault| not_written(&path, &fault)),
        }
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
