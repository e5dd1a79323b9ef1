//! Plain logs: JSON Lines that any script can write, one read a line.
//!
//! ```text
//! {"latency_us":0,"rate":115200}
//! {"t_us":1528,"wire":">","hex":"7761792C726573740A"}
//! {"t_us":1790,"e_us":1500,"wire":"<","hex":"6F6B0A"}
//! ```
//!
//! `t_us` is when the read returned, `e_us` the last instant before it at which nothing was waiting. Without `e_us` it
//! depends on the latency: where that is 0 or not stated, times are taken as they stand, the bytes one behind the
//! other, the last one at `t_us`. Where an adapter's latency is stated, nobody can know that the program which wrote the
//! log was awake since the read before on that wire, so nothing is vouched for after that one. `latency_us` and `rate`
//! may stand in the first line, alone or with a read. Times ascend. An unknown key is a mistake and is named.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::Path;

use wheeltap_parsers::{Input, Nanos, Wire};

use super::plain_line::{Entry, PlainLine};
use super::{Source, SourceError};
use crate::session::line_reader::{LineReader, Place, Text};
use crate::timing::link::{LinkFacts, WireFacts, byte_ns, chunk};

/// A plain log as a source.
pub struct PlainLog {
    name: String,
    lines: LineReader,
    link: LinkFacts,
    facts: WireFacts,
    offsets: [u64; 2],
    /// When the last read of each wire returned, microseconds.
    read_us: [i64; 2],
    last_us: Option<i64>,
    last_tick: Option<Nanos>,
    ticked: bool,
    entry: Option<Entry>,
    bytes: Vec<u8>,
}

impl PlainLog {
    /// Opens a file. It is read once to the end first, so that every fault is said before anything is shown and only
    /// wires that occur count as tapped.
    pub fn file(path: &Path) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let open = || {
            File::open(path).map(LineReader::file).map_err(|error| {
                SourceError::Device(format!("{name}: cannot be opened ({error}). Check its name and rights."))
            })
        };
        let mut whole = Self::begin(&name, open()?)?;
        while whole.next()?.is_some() {}
        if whole.last_us.is_none() {
            return Err(SourceError::BadFile(format!("{name}: no line has a read (t_us, wire, hex) in it.")));
        }
        let mut log = Self::begin(&name, open()?)?;
        log.link = LinkFacts { later: None, ..whole.link };
        Ok(log)
    }

    /// Reads a stream as it comes. A wire counts as tapped from its first line on.
    pub fn stream(name: &str, stream: Box<dyn Read + Send>) -> Result<Self, SourceError> {
        Self::begin(name, LineReader::stream(stream))
    }

    fn begin(name: &str, lines: LineReader) -> Result<Self, SourceError> {
        let facts = WireFacts { rate: None, settings: "-".to_owned(), latency: 0, port: name.to_owned() };
        let mut log = Self {
            name: name.to_owned(),
            lines,
            link: LinkFacts::default(),
            facts,
            offsets: [0; 2],
            read_us: [0; 2],
            last_us: None,
            last_tick: None,
            ticked: true,
            entry: None,
            bytes: Vec::new(),
        };
        log.read_first()?;
        Ok(log)
    }

    /// The first line sets latency and rate.
    fn read_first(&mut self) -> Result<(), SourceError> {
        if let Some((_, line)) = self.next_line(true)? {
            self.facts.latency = line.latency_us.unwrap_or(0) * 1_000;
            self.facts.rate = line.rate;
            self.link.later = Some(self.facts.clone());
            if let Some(entry) = line.entry {
                self.accept(entry);
            }
        }
        Ok(())
    }

    /// The next line that is not blank.
    fn next_line(&mut self, first: bool) -> Result<Option<(Place, PlainLine)>, SourceError> {
        loop {
            let next = self.lines.next_line().map_err(|error| {
                SourceError::Device(format!(
                    "{}: cannot be read further ({error}). Copy it to a sound disk.",
                    self.name
                ))
            })?;
            let Some((place, text)) = next else { return Ok(None) };
            let text = match text {
                Text::Line(text) | Text::Unended(text) => text,
                Text::TooLong(_) => return Err(wrong(&self.name, place, "the line is too long: over 8 MiB")),
            };
            if text.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            let line = PlainLine::read(text, first).map_err(|why| wrong(&self.name, place, &why))?;
            return Ok(Some((place, line)));
        }
    }

    fn accept(&mut self, entry: Entry) {
        self.link.wires[entry.wire.index()].get_or_insert_with(|| self.facts.clone());
        self.ticked = false;
        self.entry = Some(entry);
    }

    /// Makes sure that an entry is waiting; false at the end.
    fn fetch(&mut self) -> Result<bool, SourceError> {
        while self.entry.is_none() {
            let Some((place, line)) = self.next_line(false)? else { return Ok(false) };
            let Some(entry) = line.entry else { continue };
            if let Some(last) = self.last_us.filter(|last| entry.t_us < *last) {
                let why = format!(
                    "key \"t_us\": {} lies before the line before it, {last}. Sort the lines by time",
                    entry.t_us
                );
                return Err(wrong(&self.name, place, &why));
            }
            self.accept(entry);
        }
        Ok(true)
    }

    /// When nothing was waiting before the entry, nanoseconds.
    fn empty_at(&self, entry: &Entry) -> Nanos {
        let sent = entry.t_us * 1_000 - entry.bytes.len() as Nanos * byte_ns(self.facts.rate);
        match entry.e_us {
            Some(e_us) => e_us * 1_000,
            None if self.facts.latency == 0 => sent,
            None => sent.min(self.read_us[entry.wire.index()] * 1_000),
        }
    }

    /// What the last line vouches for before the next one, or after the last: nothing more up to its own time, unless
    /// the next one began to wait before that.
    fn tick_before(&mut self, entry: Option<&Entry>) -> Option<Nanos> {
        let last = self.last_us? * 1_000;
        if entry.is_some_and(|entry| entry.t_us * 1_000 <= last) {
            return None;
        }
        let tick = self.link.tick(entry.map_or(last, |entry| last.min(self.empty_at(entry))));
        let new = self.last_tick.is_none_or(|before| tick > before);
        new.then(|| *self.last_tick.insert(tick))
    }
}

impl Source for PlainLog {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        let more = self.fetch()?;
        let entry = self.entry.take();
        if !more || !self.ticked {
            self.ticked = true;
            if let Some(tick) = self.tick_before(entry.as_ref()) {
                self.entry = entry;
                return Ok(Some(Input::Tick(tick)));
            }
        }
        let Some(entry) = entry else { return Ok(None) };
        let empty_at = self.empty_at(&entry);
        let offset = self.offsets[entry.wire.index()];
        self.offsets[entry.wire.index()] += entry.bytes.len() as u64;
        self.last_us = Some(entry.t_us);
        self.read_us[entry.wire.index()] = entry.t_us;
        let read_at = entry.t_us * 1_000;
        let wire = entry.wire;
        self.bytes = entry.bytes;
        Ok(Some(Input::Chunk(chunk(&self.facts, wire, offset, read_at, empty_at, &self.bytes))))
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}

fn wrong(name: &str, place: Place, why: &str) -> SourceError {
    let line = place.line.unwrap_or(0);
    SourceError::BadFile(format!("{name}: line {line} of this plain log: {why}."))
}

/// Writes all reads of `source` as a plain log. Ticks, notes and port events have no place in one and are left out;
/// reading the log back gives chunks with the same bytes and the same times, to the microsecond.
pub fn write_plain_log(out: &mut dyn Write, source: &mut dyn Source) -> Result<u64, SourceError> {
    let failed = |error: io::Error| SourceError::Device(format!("the plain log cannot be written ({error})."));
    // One latency for both wires: the smaller one, so that no "e_us" comes to lie after its read.
    let latencies = source.link().wires.iter().flatten().map(|facts| facts.latency);
    let latency = latencies.min().unwrap_or(0);
    let rate = common_rate(source.link());
    writeln!(out, "{}", PlainLine::head(latency / 1_000, rate)).map_err(failed)?;
    let mut reads = 0;
    while let Some(input) = source.next()? {
        let Input::Chunk(chunk) = input else { continue };
        let e_us = (chunk.lo + latency).div_euclid(1_000);
        let line = PlainLine::text(chunk.hi.div_euclid(1_000), e_us, chunk.wire, chunk.bytes);
        writeln!(out, "{line}").map_err(failed)?;
        reads += 1;
    }
    Ok(reads)
}

/// The rate, when all tapped wires share one.
fn common_rate(link: &LinkFacts) -> Option<u32> {
    let mut rates = Wire::BOTH.into_iter().filter_map(|wire| link.wire(wire)).map(|facts| facts.rate);
    let first = rates.next().flatten();
    if rates.all(|rate| rate == first) { first } else { None }
}
