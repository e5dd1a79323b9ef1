//! Going to a time in a session: times ascend from line to line, so bisection finds it and no index is needed.

use std::fs::File;
use std::io;

use super::desk_notes::DeskNotes;
use super::line::parse;
use super::line_reader::{LineReader, Text};
use super::offsets::Offsets;
use super::read::SessionSource;
use super::taught::Count;
use crate::source::SourceError;

/// Below this distance, bytes, the rest is read line by line.
const NEAR: u64 = 64 << 10;

/// A line with a time that counts for the order.
#[derive(Clone, Copy)]
struct Timed {
    byte: u64,
    t_us: i64,
}

impl SessionSource {
    /// Goes to the last line whose time is not after `t_us` (microseconds), so that it is the next to be given; to the
    /// first line after the head when there is none. Torn lines on the way are passed over.
    pub fn seek(&mut self, t_us: i64) -> Result<(), SourceError> {
        let found =
            self.probe().and_then(|mut probe| self.find(&mut probe, t_us)).map_err(|error| self.failed(&error))?;
        let at_body = found.is_none_or(|timed| timed.byte == self.body.byte);
        let byte = found.map_or(self.body.byte, |timed| timed.byte);
        let line = if at_body { self.body.line } else { None };
        self.lines.jump(byte, line).map_err(|error| self.failed(&error))?;
        self.last_us = found.map_or(self.header.begins_us(), |timed| timed.t_us);
        self.heard_us = [self.last_us; 2];
        self.offsets = if at_body { Offsets::from_start(self.header.offsets()) } else { Offsets::unknown() };
        self.desk_notes.go_to(self.last_us);
        (self.whole, self.closed) = (None, false);
        self.taught = Count::default();
        self.waiting = None;
        self.after_lost.clear();
        Ok(())
    }

    /// Time of the last whole line, microseconds: how long the session is.
    pub fn length(&self) -> Result<i64, SourceError> {
        self.probe().and_then(|mut probe| self.last_time(&mut probe)).map_err(|error| self.failed(&error))
    }

    /// A second reader of the same file, so that looking ahead does not move this one.
    pub(super) fn probe(&self) -> io::Result<LineReader> {
        let path = self.path.as_ref().ok_or_else(|| {
            io::Error::new(io::ErrorKind::Unsupported, "standard input cannot be rewound; save it to a file first")
        })?;
        File::open(path).map(LineReader::file)
    }

    pub(super) fn failed(&self, error: &io::Error) -> SourceError {
        SourceError::Device(format!("{}: cannot be read at another place ({error}).", self.name))
    }

    /// The remarks that stand behind the last line with a time that counts for the order: made at the desk.
    pub(super) fn behind_all(&self) -> io::Result<DeskNotes> {
        let mut probe = self.probe()?;
        let end = probe.file_length()?.unwrap_or(0);
        let mut window = NEAR;
        loop {
            let from = end.saturating_sub(window).max(self.body.byte);
            let found = DeskNotes::from(&mut probe, from, self.header.counts_taught())?;
            if from == self.body.byte || found.begins_after(from) {
                return Ok(found);
            }
            window *= 4;
        }
    }

    fn last_time(&self, probe: &mut LineReader) -> io::Result<i64> {
        let end = probe.file_length()?.unwrap_or(0);
        let mut window = NEAR;
        loop {
            let from = end.saturating_sub(window).max(self.body.byte);
            let last = last_before(probe, from, u64::MAX, i64::MAX)?;
            if last.is_some() || from == self.body.byte {
                return Ok(last.map_or(0, |timed| timed.t_us));
            }
            window *= 4;
        }
    }

    fn find(&self, probe: &mut LineReader, t_us: i64) -> io::Result<Option<Timed>> {
        let (mut low, mut high) = (self.body.byte, probe.file_length()?.unwrap_or(0));
        while high.saturating_sub(low) > NEAR {
            let middle = low + (high - low) / 2;
            probe.jump(middle, None)?;
            match next_timed(probe, high)? {
                Some(timed) if timed.t_us <= t_us => low = timed.byte,
                _ => high = middle,
            }
        }
        last_before(probe, low, high, t_us)
    }
}

/// The first line with a time that begins before byte `high`.
fn next_timed(probe: &mut LineReader, high: u64) -> io::Result<Option<Timed>> {
    while let Some((place, text)) = probe.next_line()? {
        if place.byte >= high {
            break;
        }
        if let Some(t_us) = ordered_us(&text) {
            return Ok(Some(Timed { byte: place.byte, t_us }));
        }
    }
    Ok(None)
}

/// The last line from byte `low` on whose time is not after `t_us`. Looks no further than the line that `high` lies in.
fn last_before(probe: &mut LineReader, low: u64, high: u64, t_us: i64) -> io::Result<Option<Timed>> {
    let mut last = None;
    probe.jump(low, None)?;
    while let Some(timed) = next_timed(probe, u64::MAX)? {
        if timed.t_us > t_us {
            break;
        }
        last = Some(timed);
        if timed.byte > high {
            break;
        }
    }
    Ok(last)
}

fn ordered_us(text: &Text<'_>) -> Option<i64> {
    match text {
        Text::Line(text) | Text::Unended(text) => parse(text).ok()?.ordered_us(),
        Text::TooLong(_) => None,
    }
}
