//! The head of a session: the format's version, the wall clock, how each wire was listened to, the rover file.

use std::borrow::Cow;

use wheeltap_parsers::Wire;

use super::line::{Line, VERSION};
use super::wall;
use crate::timing::link::{LinkFacts, WireFacts};

/// What stands before the first read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Header {
    /// Version of the format, such as `1.0`; `None` when the first line was damaged.
    pub version: Option<String>,
    /// The program that wrote it, and its version.
    pub program: Option<(String, String)>,
    /// Where this file begins, when it goes on from another.
    pub part: Option<Part>,
    /// What it shows, for a person: one entry a line.
    pub about: Vec<String>,
    /// How it was listened to.
    pub link: LinkFacts,
    /// Name and full text of the rover file.
    pub rover: Option<(String, String)>,
}

/// Where a file begins that goes on from another, or was cut out of one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// Which one, from 1.
    pub number: u64,
    /// Session time of its beginning, microseconds.
    pub t_us: i64,
    /// Bytes of each wire before it, by [`Wire::index`].
    pub offsets: [u64; 2],
}

impl Header {
    /// The head of a session that this program begins.
    pub fn new(link: LinkFacts, rover: Option<(String, String)>) -> Self {
        let program = Some((env!("CARGO_PKG_NAME").to_owned(), env!("CARGO_PKG_VERSION").to_owned()));
        Self { version: Some(VERSION.to_owned()), program, link, rover, ..Self::default() }
    }

    /// Whether a taught rover file in it ends in a line that counts its lines: since 1.3.
    pub(super) fn counts_taught(&self) -> bool {
        let minor = self.version.as_deref().and_then(|version| version.split('.').nth(1));
        minor.and_then(|minor| minor.parse::<u32>().ok()).is_some_and(|minor| minor >= 3)
    }

    /// Session time at which the file begins, microseconds.
    pub fn begins_us(&self) -> i64 {
        self.part.map_or(0, |part| part.t_us)
    }

    /// Bytes of each wire before the file begins.
    pub fn offsets(&self) -> [u64; 2] {
        self.part.map_or([0; 2], |part| part.offsets)
    }

    /// In words that the file begins mid-way, and where; `None` when it begins with its recording.
    pub fn begins_midway(&self) -> Option<String> {
        let Part { number, t_us, offsets } = self.part?;
        let [to, from] = offsets;
        Some(format!(
            "begins mid-way, at {:.3} s of its recording (part {number}): {to} bytes of > and {from} of < came before it",
            t_us as f64 / 1e6
        ))
    }

    /// Its lines, in the order of the file.
    pub fn lines(&self) -> Vec<Line<'_>> {
        let mut lines = vec![self.first()];
        lines.extend(self.part.map(|Part { number, t_us, offsets }| Line::Part { number, t_us, offsets }));
        lines.extend(self.about.iter().map(|text| Line::About { text: text.into() }));
        for wire in Wire::BOTH {
            lines.extend(self.link.wire(wire).map(|facts| link_line(wire, facts)));
        }
        if let Some((name, text)) = &self.rover {
            lines.push(Line::Rover { name: name.into() });
            lines.extend(text.split('\n').map(|text| Line::File { text: text.into() }));
        }
        lines
    }

    fn first(&self) -> Line<'_> {
        let (program, program_version) = self.program.as_ref().map_or(("-", "-"), |(name, version)| (name, version));
        let wall = self.link.begun_unix_us.map(|us| wall::write(us, self.link.utc_offset_min));
        Line::Session {
            version: self.version.as_deref().unwrap_or(VERSION).into(),
            program: program.into(),
            program_version: program_version.into(),
            wall: wall.map_or(Cow::Borrowed("-"), Cow::Owned),
        }
    }

    /// Takes in one line; false when it is not a header line, so that the head ends before it.
    pub(super) fn take(&mut self, line: &Line<'_>) -> bool {
        match line {
            Line::Session { version, program, program_version, wall } => {
                self.version = Some(version.to_string());
                self.program = Some((program.to_string(), program_version.to_string()));
                if let Some((begun, offset)) = wall::read(wall) {
                    self.link.begun_unix_us = Some(begun);
                    self.link.utc_offset_min = offset;
                }
            }
            Line::Link { wire, rate, settings, latency_us, port } => {
                self.link.wires[wire.index()] = Some(WireFacts {
                    rate: *rate,
                    settings: settings.to_string(),
                    latency: latency_us * 1_000,
                    port: port.to_string(),
                });
            }
            Line::Part { number, t_us, offsets } => {
                self.part = Some(Part { number: *number, t_us: *t_us, offsets: *offsets });
            }
            Line::About { text } => self.about.push(text.to_string()),
            Line::Rover { name } => self.rover = Some((name.to_string(), String::new())),
            Line::File { text } => self.rover_line(text),
            Line::Unknown { .. } => {}
            _ => return false,
        }
        true
    }

    /// A rover file's line ends where the next begins, so its text comes back to the byte.
    fn rover_line(&mut self, line: &str) {
        let (_, text) = self.rover.get_or_insert_with(|| ("rover file (its name was lost)".to_owned(), String::new()));
        text.push_str(line);
        text.push('\n');
    }

    /// To be called after the last header line: drops the line end that stands between lines, not after them.
    pub(super) fn finish(&mut self) {
        if let Some((_, text)) = &mut self.rover {
            text.pop();
        }
    }
}

fn link_line(wire: Wire, facts: &WireFacts) -> Line<'_> {
    Line::Link {
        wire,
        rate: facts.rate,
        settings: facts.settings.as_str().into(),
        latency_us: facts.latency / 1_000,
        port: facts.port.as_str().into(),
    }
}
