//! The whole check of a session file: every line's check, times that ascend, bytes without a gap, the closing count.
//!
//! It looks at each line no closer than that needs, so that a gigabyte is done in about a second.

use std::fs::File;
use std::io;
use std::path::Path;

use wheeltap_parsers::Wire;

use super::glance::{Glance, Read};
use super::line_reader::{LineReader, Place};
use super::offsets::{Offsets, Step};
use super::opening;
use super::taught;
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
    /// That the file begins mid-way, and where, in words.
    pub midway: Option<String>,
    /// Of which wires a link line has told how they were listened to, by [`Wire::index`].
    linked: [bool; 2],
    /// A taught rover file that goes by.
    taught: taught::Count,
    /// Each of them ends in a count.
    counted: bool,
    torn: TornLines,
}

/// How often it is told how far the check is: every so many lines, a power of two.
const TOLD_SHIFT: u32 = 18;

/// A check on its way through a file.
struct Walk<R> {
    check: WholeCheck,
    offsets: Offsets,
    /// Whole lines so far.
    whole: u64,
    /// Told of each read that is whole and in its place.
    told: R,
}

impl<R: FnMut(i64, u64)> Walk<R> {
    /// Takes the lines at the beginning of `waiting` that are usual reads; how many bytes they have.
    fn usual(&mut self, mut place: Place, waiting: &[u8]) -> usize {
        let mut rest = waiting;
        while let Some(length) = memchr::memchr(b'\n', rest) {
            let Some(read) = rest.get(..length).and_then(Read::usual) else { break };
            self.read(place, read);
            place = Place { line: place.line.map(|line| line + 1), byte: place.byte + length as u64 + 1 };
            rest = rest.get(length + 1..).unwrap_or_default();
        }
        waiting.len() - rest.len()
    }

    /// Takes a read.
    #[inline]
    fn read(&mut self, place: Place, read: Read) {
        self.check.lines += 1;
        match self.check.read(place, read, &mut self.offsets) {
            Ok(()) => {
                self.whole += 1;
                (self.told)(read.t_us, read.length);
            }
            Err(why) => self.refuse(place, why),
        }
    }

    /// Takes one line, whatever it is.
    fn line(&mut self, place: Place, line: Result<Glance, String>) {
        if let Ok(Glance::Read(read)) = line {
            return self.read(place, read);
        }
        self.check.lines += 1;
        match line.and_then(|line| self.check.take(place, line, &mut self.offsets, self.whole)) {
            Ok(()) => self.whole += 1,
            Err(why) => self.refuse(place, why),
        }
    }

    #[cold]
    fn refuse(&mut self, place: Place, why: String) {
        self.check.torn.add(place, why);
        self.offsets.doubt();
    }
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
        read: impl FnMut(i64, u64),
    ) -> Result<Self, SourceError> {
        let mut check = Self::default();
        let head = opening::read_head(name, &mut lines, &mut check.torn)?;
        check.lines = head.whole + check.torn.listed().len() as u64;
        check.ends_us = head.header.begins_us();
        check.counted = head.header.counts_taught();
        check.midway = head.header.begins_midway();
        check.linked = Wire::BOTH.map(|wire| head.header.link.wire(wire).is_some());
        let mut offsets = Offsets::from_start(head.header.offsets());
        if !check.torn.listed().is_empty() {
            offsets.doubt();
        }
        let mut walk = Walk { check, offsets, whole: head.whole, told: read };
        loop {
            let before = walk.check.lines;
            let (place, waiting) = lines.waiting();
            let bytes = walk.usual(place, waiting);
            lines.took(bytes, walk.check.lines - before);
            match lines.next_line() {
                Ok(Some((place, text))) => walk.line(place, Glance::at(&text)),
                Ok(None) => break,
                Err(error) => return Err(unreadable(name, &error)),
            }
            if before >> TOLD_SHIFT != walk.check.lines >> TOLD_SHIFT {
                told(lines.place().byte);
            }
        }
        walk.check.taught.close(walk.check.counted, &mut walk.check.torn);
        walk.check.file_bytes = lines.place().byte;
        Ok(walk.check)
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
        if self.closed && !matches!(line, Glance::Desk | Glance::Taught(_) | Glance::Read(_)) {
            self.torn.add(place, AFTER_END.to_owned());
        }
        match line {
            Glance::Read(read) => self.read(place, read, offsets),
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
            Glance::Taught(piece) => {
                self.taught.take(place, piece, self.counted, &mut self.torn);
                Ok(())
            }
            Glance::Desk | Glance::Other => Ok(()),
        }
    }

    #[inline]
    fn read(&mut self, place: Place, read: Read, offsets: &mut Offsets) -> Result<(), String> {
        let Read { wire, t_us, offset, length } = read;
        if self.closed {
            self.torn.add(place, AFTER_END.to_owned());
        }
        self.in_order(t_us)?;
        if !std::mem::replace(&mut self.linked[wire.index()], true) {
            self.torn.add(place, no_link(wire));
        }
        self.heard[wire.index()] += length;
        match offsets.step(wire, offset, length) {
            Step::Follows => Ok(()),
            step => self.step(place, wire, step),
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
            Step::Missing { count, named: false, .. } => {
                self.torn.add(place, format!("{count} bytes of wire {symbol} are missing before this line"));
                Ok(())
            }
            Step::Back { expected } => Err(format!("its place on wire {symbol} lies before {expected}, which was due")),
        }
    }
}
