//! Lines of a session that could not be taken, each named by its place.

use std::fmt;

use super::line_reader::Place;

/// How many are listed; the rest is counted.
pub const LISTED: usize = 1_000;

/// One line that could not be taken as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TornLine {
    /// Line number from 1; `None` when it was met after a jump into the file.
    pub line: Option<u64>,
    /// Bytes of the file before it.
    pub byte: u64,
    /// What is wrong, in words.
    pub why: String,
}

impl fmt::Display for TornLine {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(out, "line {line} (byte {}): {}", self.byte, self.why),
            None => write!(out, "byte {}: {}", self.byte, self.why),
        }
    }
}

/// All of them so far, in the order of the file, each once however often the place is read.
#[derive(Debug, Default)]
pub(super) struct TornLines {
    listed: Vec<TornLine>,
    more: u64,
    counted_to: u64,
}

impl TornLines {
    pub(super) fn add(&mut self, place: Place, why: String) {
        let Err(at) = self.listed.binary_search_by_key(&place.byte, |torn| torn.byte) else { return };
        if self.listed.len() < LISTED {
            self.listed.insert(at, TornLine { line: place.line, byte: place.byte, why });
        } else if place.byte >= self.counted_to {
            self.more += 1;
            self.counted_to = place.byte + 1;
        }
    }

    pub(super) fn listed(&self) -> &[TornLine] {
        &self.listed
    }

    pub(super) fn more(&self) -> u64 {
        self.more
    }
}
