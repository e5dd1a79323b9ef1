//! Writing the bundle: the lines of the session, with the veil drawn over them.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use wheeltap_parsers::Input;

use super::{part, port_name, rover_name};
use crate::bundle::secret::{veiled, veiled_rover_file};
use crate::bundle::veil::Veil;
use crate::rover::file::RoverFile;
use crate::run::{Failure, new_file};
use crate::session::{Header, Line, Lines, Part};
use crate::source::Source;
use crate::source::open::{Opened, recognise};
use crate::timing::link::LinkFacts;

/// Everything the bundle is made of.
pub(super) struct Writer<'a> {
    pub(super) file: &'a str,
    pub(super) path: &'a Path,
    pub(super) rover: &'a RoverFile,
    pub(super) veil: &'a Veil,
    pub(super) part: part::Part,
    pub(super) about: Vec<String>,
}

/// The file being written.
struct Sheet<'a> {
    path: &'a Path,
    to: BufWriter<File>,
    line: Vec<u8>,
    records: u64,
    bytes: u64,
    heard: [u64; 2],
    last_us: i64,
}

impl Writer<'_> {
    /// Writes it; the bytes written. Never overwrites a file, and leaves none behind when it fails.
    pub(super) fn write(&self) -> Result<u64, Failure> {
        new_file::filled(self.path, |file| self.fill(file))
    }

    fn fill(&self, file: File) -> Result<u64, Failure> {
        let source = recognise(self.file)?;
        let mut sheet = Sheet {
            path: self.path,
            to: BufWriter::new(file),
            line: Vec::new(),
            records: 0,
            bytes: 0,
            heard: [0; 2],
            last_us: self.part.begins_us,
        };
        let header = self.header(&source)?;
        for line in header.lines() {
            sheet.put(&line)?;
        }
        if source.session().is_some() {
            self.lines(&mut sheet)?;
        } else {
            self.inputs(source, &mut sheet)?;
        }
        sheet.end()
    }

    fn header(&self, source: &Opened) -> Result<Header, Failure> {
        let mut link = source.link().clone();
        for facts in link.wires.iter_mut().flatten() {
            facts.port = port_name(&facts.port);
        }
        let text = veiled_rover_file(&self.rover.text);
        let mut header = Header::new(link, Some((rover_name(self.rover), text)));
        header.about.clone_from(&self.about);
        let own = source.session().and_then(|session| session.header().part);
        if !self.part.from_the_start() || own.is_some() {
            let number = own.map_or(1, |part| part.number);
            header.part = Some(Part { number, t_us: self.part.begins_us, offsets: self.offsets(source)? });
        }
        Ok(header)
    }

    /// Bytes of each wire before the part begins.
    fn offsets(&self, source: &Opened) -> Result<[u64; 2], Failure> {
        let mut offsets = source.session().map_or([0; 2], |session| session.header().offsets());
        let mut other = recognise(self.file)?;
        while let Some(input) = other.next()? {
            // A note may speak of any time.
            let in_order = !matches!(input, Input::Note { .. });
            if in_order && input.at() / 1000 >= self.part.begins_us {
                break;
            }
            match input {
                Input::Chunk(chunk) => offsets[chunk.wire.index()] = chunk.offset + chunk.bytes.len() as u64,
                Input::Lost { wire, bytes, .. } => offsets[wire.index()] += bytes,
                _ => {}
            }
        }
        Ok(offsets)
    }

    /// The lines of a session, as they stand there.
    fn lines(&self, sheet: &mut Sheet<'_>) -> Result<(), Failure> {
        Lines::open(Path::new(self.file))?.each(|line| match line {
            Line::End { .. } | Line::Unknown { .. } => Ok(()),
            // A line that no reader would take for its time is none of the bundle either.
            line if line.ordered_us().is_some_and(|t_us| t_us < sheet.last_us) => Ok(()),
            line if line.t_us().is_some_and(|t_us| self.part.holds(t_us)) => sheet.put(&self.veiled(line)),
            _ => Ok(()),
        })
    }

    fn veiled<'l>(&self, line: Line<'l>) -> Line<'l> {
        match line {
            Line::Read { wire, t_us, since_us, offset, bytes } => {
                let mut bytes = bytes.into_owned();
                self.veil.draw_over(wire, offset, &mut bytes);
                Line::Read { wire, t_us, since_us, offset, bytes: bytes.into() }
            }
            Line::Note { t_us, text } => Line::Note { t_us, text: veiled(&text).0.into() },
            Line::Gone { t_us, wire, reason } => Line::Gone { t_us, wire, reason: veiled(&reason).0.into() },
            other => other,
        }
    }

    /// What a log gives, as the lines a recorder would have written.
    fn inputs(&self, mut source: Opened, sheet: &mut Sheet<'_>) -> Result<(), Failure> {
        loop {
            let link = source.link().clone();
            let Some(input) = source.next()? else { return Ok(()) };
            let Some(line) = line_of(&input, &link) else { continue };
            if line.t_us().is_some_and(|t_us| self.part.holds(t_us)) && line.t_us() >= Some(sheet.last_us) {
                sheet.put(&self.veiled(line))?;
            }
        }
    }
}

/// The line that keeps an input; `None` for one that only a log needs.
fn line_of<'i>(input: &Input<'i>, link: &LinkFacts) -> Option<Line<'i>> {
    match *input {
        Input::Chunk(chunk) => {
            let latency = link.wire(chunk.wire).map_or(0, |facts| facts.latency);
            let (t_us, empty_us) = (chunk.hi / 1000, (chunk.lo + latency).div_euclid(1000));
            let since_us = (t_us - empty_us).max(0);
            Some(Line::Read { wire: chunk.wire, t_us, since_us, offset: chunk.offset, bytes: chunk.bytes.into() })
        }
        Input::Tick(at) => Some(Line::Tick { t_us: (at + link.latency()) / 1000 }).filter(|_| at >= 0),
        Input::Note { at, text } => Some(Line::Note { t_us: at / 1000, text: text.into() }),
        Input::PortGone { .. } | Input::PortBack { .. } | Input::Lost { .. } | Input::Pins(_) | Input::Clock(_) => None,
    }
}

impl Sheet<'_> {
    fn put(&mut self, line: &Line<'_>) -> Result<(), Failure> {
        self.line.clear();
        line.write(&mut self.line);
        self.bytes += self.line.len() as u64;
        self.records += 1;
        if let Line::Read { wire, bytes, .. } = line {
            self.heard[wire.index()] += bytes.len() as u64;
        }
        self.last_us = line.ordered_us().map_or(self.last_us, |t_us| t_us.max(self.last_us));
        self.to.write_all(&self.line).map_err(|error| new_file::not_written(self.path, &error))
    }

    fn end(mut self) -> Result<u64, Failure> {
        let end = Line::End { t_us: self.last_us, records: self.records, bytes: self.heard };
        self.put(&end)?;
        let bytes = self.bytes;
        let kept = self.to.into_inner().map_err(std::io::IntoInnerError::into_error).and_then(|file| file.sync_all());
        kept.map_err(|error| new_file::not_written(self.path, &error))?;
        Ok(bytes)
    }
}
