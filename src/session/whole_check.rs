//! The whole check of a session file: every line's check, times that ascend, bytes without a gap, the closing count.
//!
//! It looks at each line no closer than that needs, so that a gigabyte is done in about a second.

use std::fs::File;
use std::io;
use std::path::Path;

use wheeltap_parsers::Wire;

use super::line::{Line, checked, parse};
use super::line_reader::{LineReader, Place, Text};
use super::offsets::{Offsets, Step};
use super::opening;
use super::torn::{TornLine, TornLines};
use crate::source::SourceError;

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
    torn: TornLines,
}

/// The figures of one line that the check needs.
#[derive(Clone, Copy)]
enum Glance {
    Read { wire: Wire, t_us: i64, offset: u64, length: u64 },
    Lost { wire: Wire, t_us: i64, count: u64 },
    Timed(i64),
    End { t_us: i64, records: u64 },
    Other,
}

impl WholeCheck {
    /// Reads the file at `path` from end to end. `told` is called now and then with the bytes done.
    pub fn of(path: &Path, told: &mut dyn FnMut(u64)) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let failed = |error: io::Error| {
            SourceError::Device(format!("{name}: cannot be read ({error}). Copy it to a sound disk and try again."))
        };
        let file = File::open(path).map_err(failed)?;
        let mut lines = LineReader::file(file);
        let mut check = Self::default();
        let head = opening::read_head(&name, &mut lines, &mut check.torn)?;
        check.lines = head.whole + check.torn.listed().len() as u64;
        check.ends_us = head.header.begins_us();
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
            match glance(&text).and_then(|line| check.take(place, line, &mut offsets, whole)) {
                Ok(()) => whole += 1,
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
        match line {
            Glance::Read { wire, t_us, offset, length } => {
                self.in_order(t_us)?;
                self.heard[wire.index()] += length;
                self.step(place, wire, offsets.step(wire, offset, length))
            }
            Glance::Lost { wire, t_us, count } => {
                offsets.pass(wire, count);
                self.lost += count;
                self.in_order(t_us)
            }
            Glance::Timed(t_us) => self.in_order(t_us),
            Glance::End { t_us, records } => {
                self.closed = true;
                if records != whole && self.is_sound() {
                    self.torn.add(place, format!("it speaks of {records} lines before it, {whole} stand there"));
                }
                self.in_order(t_us)
            }
            Glance::Other => Ok(()),
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

/// A look at one line: reads and ticks, nearly all there are, by their numbers only.
fn glance(text: &Text<'_>) -> Result<Glance, String> {
    let text = match text {
        Text::Line(text) | Text::Unended(text) => text,
        Text::TooLong(length) => return Err(format!("a line of {length} bytes is too long to be one")),
    };
    let wire = match text {
        [b'>', b' ', ..] => Wire::ToDrive,
        [b'<', b' ', ..] => Wire::FromDrive,
        _ => return other(text),
    };
    let body = checked(text).map_err(|fault| fault.to_string())?;
    read(wire, body.get(2..).unwrap_or_default()).ok_or_else(|| "a field is missing or is no number".to_owned())
}

/// `TIME SINCE OFFSET BYTES`.
fn read(wire: Wire, body: &[u8]) -> Option<Glance> {
    let (t_us, rest) = number(body)?;
    let (_, rest) = number(rest)?;
    let (offset, bytes) = number(rest)?;
    let escapes = memchr::memchr_iter(b'\\', bytes).count() as u64;
    let length = (bytes.len() as u64).checked_sub(2 * escapes)?;
    Some(Glance::Read { wire, t_us: i64::try_from(t_us).ok()?, offset, length })
}

/// A decimal number and what stands behind the space after it.
fn number(text: &[u8]) -> Option<(u64, &[u8])> {
    let mut value = 0_u64;
    for (at, &byte) in text.iter().enumerate() {
        match byte {
            b'0'..=b'9' => value = value.checked_mul(10)?.checked_add(u64::from(byte - b'0'))?,
            b' ' if at > 0 => return Some((value, text.get(at + 1..)?)),
            _ => return None,
        }
    }
    None
}

fn other(text: &[u8]) -> Result<Glance, String> {
    Ok(match parse(text).map_err(|fault| fault.to_string())? {
        Line::Lost { wire, t_us, count } => Glance::Lost { wire, t_us, count },
        Line::End { t_us, records, .. } => Glance::End { t_us, records },
        Line::Session { .. } => return Err("a second session begins here: cut the file before this line".to_owned()),
        line => line.ordered_us().map_or(Glance::Other, Glance::Timed),
    })
}
