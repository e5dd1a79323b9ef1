//! The whole check of a session file: every line's check, times that ascend, bytes without a gap, the closing count.
//!
//! It looks at each line no closer than that needs, so that a gigabyte is done in about a second.

use std::fs::File;
use std::io;
use std::path::Path;

use wheeltap_parsers::Wire;

use super::glance::Glance;
use super::line_reader::{LineReader, Place};
use super::offsets::{Offsets, Step};
use super::opening;
use super::torn::{TornLine, TornLines};
use crate::source::SourceError;

/// What is said of a line that something else than a recorder added.
pub(super) const AFTER_END: &str = "it stands after the closing line, where only notes and a taught rover file may";

fn unreadable(name: &str, error: &io::Error) -> SourceError {
    SourceError::Device(format!("{name}: cannot be read ({error}). Copy it to a sound disk and try again."))
}

/// What is said of the first read of a wire without a link line.
pub(super) fn no_link(wire: Wire) -> String {
    format!("no whole link line says how wire {} was listened to", wire.symbol())
}

/// What a whole check found.
#[derive(Debug, Default)]
pub struct WholeCheck {
    /// Lines looked at.
    pub lines: u64,
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Bytes of each wire that stand in whole lines, by [`Wire::index`].
    pub heard: [u64; 2],
    /// Bytes said to have been received but not kept.
    pub lost: u64,
    /// Time of the last line, microseconds.
    pub ends_us: i64,
    /// The recorder closed the file.
    pub closed: bool,
    /// Of which wires a link line has told how they were listened to, by [`Wire::index`].
    linked: [bool; 2],
    torn: TornLines,
}

impl WholeCheck {
    /// Reads the file at `path` from end to end. `told` is called now and then with the bytes done.
    pub fn of(path: &Path, told: &mut dyn FnMut(u64)) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
        Self::of_lines(&name, LineReader::file(file), told)
    }

    /// The same; `read` is called for each read that is whole and in its place, with its time (microseconds since the
    /// session began) and how many bytes it holds.
    pub fn with_reads(path: &Path, read: impl FnMut(i64, u64)) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
        Self::look(&name, LineReader::file(file), &mut |_| {}, read)
    }

    /// The same of lines that come from anywhere; `name` is for messages.
    pub fn of_lines(name: &str, lines: LineReader, told: &mut dyn FnMut(u64)) -> Result<Self, SourceError> {
        Self::look(name, lines, told, |_, _| {})
    }

    fn look(
        name: &str,
        mut lines: LineReader,
        told: &mut dyn FnMut(u64),
        mut read: impl FnMut(i64, u64),
    ) -> Result<Self, SourceError> {
        let failed = |error: io::Error| unreadable(name, &error);
        let mut check = Self::default();
        let head = opening::read_head(name, &mut lines, &mut check.torn)?;
        check.lines = head.whole + check.torn.listed().len() as u64;
        check.ends_us = head.header.begins_us();
        check.linked = Wire::BOTH.map(|wire| head.header.link.wire(wire).is_some());
        let mut offsets = Offsets::from_start(head.header.offsets());
        if !check.torn.listed().is_empty() {
            offsets.doubt();
        }
        let mut whole = head.whole;
        while let Some((place, text)) = lines.next_line().map_err(failed)? {
            check.lines += 1;
            if check.lines.is_multiple_of(1 << 18) {
                told(place.byte);
            }
            let line = Glance::at(&text);
            let taken = line.and_then(|line| check.take(place, line, &mut offsets, whole).map(|()| line));
            match taken {
                Ok(line) => {
                    whole += 1;
                    if let Glance::Read { t_us, length, .. } = line {
                        read(t_us, length);
                    }
                }
                Err(why) => {
                    check.torn.add(place, why);
                    offsets.doubt();
                }
            }
        }
        check.file_bytes = lines.place().byte;
        Ok(check)
    }

    /// Whether nothing is wrong with the file.
    pub fn is_sound(&self) -> bool {
        self.torn.listed().is_empty()
    }

    /// Lines that are damaged, out of order, or after which something is missing.
    pub fn torn(&self) -> &[TornLine] {
        self.torn.listed()
    }

    /// How many more there were.
    pub fn torn_not_listed(&self) -> u64 {
        self.torn.more()
    }

    fn take(&mut self, place: Place, line: Glance, offsets: &mut Offsets, whole: u64) -> Result<(), String> {
        if self.closed && !matches!(line, Glance::Desk) {
            self.torn.add(place, AFTER_END.to_owned());
        }
        match line {
            Glance::Read { wire, t_us, offset, length } => {
                self.in_order(t_us)?;
                if !std::mem::replace(&mut self.linked[wire.index()], true) {
                    self.torn.add(place, no_link(wire));
                }
                self.heard[wire.index()] += length;
                self.step(place, wire, offsets.step(wire, offset, length))
            }
            Glance::Lost { wire, t_us, count } => {
                self.in_order(t_us)?;
                offsets.pass(wire, count);
                self.lost += count;
                Ok(())
            }
            Glance::Timed(t_us) => self.in_order(t_us),
            Glance::End { t_us, records } => {
                self.in_order(t_us)?;
                self.closed = true;
                if records != whole && self.is_sound() {
                    self.torn.add(place, format!("it speaks of {records} lines before it, {whole} stand there"));
                }
                Ok(())
            }
            Glance::Link(wire) => {
                self.linked[wire.index()] = true;
                Ok(())
            }
            Glance::Desk | Glance::Other => Ok(()),
        }
    }

    fn in_order(&mut self, t_us: i64) -> Result<(), String> {
        if t_us < self.ends_us {
            return Err(format!("its time, {t_us} us, lies before the line before it, {} us", self.ends_us));
        }
        self.ends_us = t_us;
        Ok(())
    }

    fn step(&mut self, place: Place, wire: Wire, step: Step) -> Result<(), String> {
        let symbol = wire.symbol();
        match step {
            Step::Follows | Step::Missing { named: true, .. } => Ok(()),
            Step::Missing { count, named: false } => {
                self.torn.add(place, format!("{count} bytes of wire {symbol} are missing before this line"));
                Ok(())
            }
            Step::Back { expected } => Err(format!("its place on wire {symbol} lies before {expected}, which was due")),
        }
    }
}
