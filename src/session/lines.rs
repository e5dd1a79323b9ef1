//! The whole lines of a session file, one after the other, as they stand there.

use std::fs::File;
use std::path::Path;

use super::line::{Line, parse};
use super::line_reader::{LineReader, Text};
use crate::source::SourceError;

/// Reads whole lines; torn ones are counted and passed over.
pub struct Lines {
    name: String,
    reader: LineReader,
    torn: u64,
}

impl Lines {
    /// Opens the file at `path`.
    pub fn open(path: &Path) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|error| {
            SourceError::Device(format!("{name}: cannot be opened ({error}). Check its name and rights."))
        })?;
        Ok(Self { name, reader: LineReader::file(file), torn: 0 })
    }

    /// Gives each whole line to `take`, until it says no.
    pub fn each<E: From<SourceError>>(&mut self, mut take: impl FnMut(Line<'_>) -> Result<(), E>) -> Result<(), E> {
        loop {
            let next = self.reader.next_line().map_err(|error| {
                SourceError::Device(format!(
                    "{}: cannot be read further ({error}). Copy it to a sound disk.",
                    self.name
                ))
            })?;
            match next {
                None => return Ok(()),
                Some((_, Text::Line(text) | Text::Unended(text))) => match parse(text) {
                    Ok(line) => take(line)?,
                    Err(_) => self.torn += 1,
                },
                Some((_, Text::TooLong(_))) => self.torn += 1,
            }
        }
    }

    /// Torn lines so far.
    pub const fn torn(&self) -> u64 {
        self.torn
    }
}
