//! Writing the bundle: the lines of the session, with the veil drawn over them. The same run, with nowhere to write to,
//! counts what goes and what stays.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use wheeltap_parsers::Input;

use super::order::Order;
use super::tally::Tally;
use super::{part, port_name, rover_name};
use crate::bundle::rover_text::veiled_rover_file;
use crate::bundle::secret::{overwritten, veiled};
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
    pub(super) rover: &'a RoverFile,
    pub(super) veil: &'a Veil,
    pub(super) part: part::Part,
    /// What it says of itself, before the veil.
    pub(super) about: Vec<String>,
}

/// The file being written.
struct Sheet<'a, W> {
    path: &'a Path,
    to: W,
    line: Vec<u8>,
    records: u64,
    bytes: u64,
    heard: [u64; 2],
    last_us: i64,
    tally: Tally,
}

impl Writer<'_> {
    /// What goes and what stays, counted by a run that writes nothing.
    pub(super) fn count(&self) -> Result<Tally, Failure> {
        Ok(self.fill(Path::new(""), io::sink())?.tally)
    }

    /// Writes it; how many bytes, and what went and stayed. Never overwrites a file, and leaves none behind when it fails.
    pub(super) fn write(&self, path: &Path) -> Result<(u64, Tally), Failure> {
        new_file::filled(path, |file| self.fill(path, BufWriter::new(file))?.synced())
    }

    fn fill<'p, W: Write>(&self, path: &'p Path, to: W) -> Result<Sheet<'p, W>, Failure> {
        let source = recognise(self.file)?;
        let last_us = self.part.begins_us;
        let tally = Tally::default();
        let mut sheet = Sheet { path, to, line: Vec::new(), records: 0, bytes: 0, heard: [0; 2], last_us, tally };
        let header = self.header(&source, &mut sheet.tally)?;
        for line in header.lines() {
            sheet.put(&line)?;
        }
        match source.session().map(|session| Order::of(session.header())) {
            Some(order) => self.lines(order, &mut sheet)?,
            None => self.inputs(source, &mut sheet)?,
        }
        sheet.end()?;
        Ok(sheet)
    }

    fn header(&self, source: &Opened, tally: &mut Tally) -> Result<Header, Failure> {
        let mut link = source.link().clone();
        for facts in link.wires.iter_mut().flatten() {
            let shown = port_name(&facts.port);
            tally.port |= shown != facts.port;
            facts.port = shown;
        }
        let (name, text) = (rover_name(self.rover), veiled_rover_file(&self.rover.text));
        tally.rover_text = overwritten(&self.rover.text, &text);
        tally.rover_name = name.covered;
        tally.rover_folder = name.folder;
        let mut header = Header::new(link, Some((name.shown, text)));
        header.about = self.about(tally);
        let own = source.session().and_then(|session| session.header().part);
        if !self.part.begins_with_session() || own.is_some() {
            let number = own.map_or(1, |part| part.number);
            header.part = Some(Part { number, t_us: self.part.begins_us, offsets: self.offsets(source)? });
        }
        Ok(header)
    }

    /// What it says of itself, each sentence once.
    fn about(&self, tally: &mut Tally) -> Vec<String> {
        for text in &self.about {
            let (shown, _) = veiled(text);
            if !tally.about.contains(&shown) {
                tally.about_covered.add(text, &shown);
                tally.about.push(shown);
            }
        }
        tally.about.clone()
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
    fn lines<W: Write>(&self, mut order: Order, sheet: &mut Sheet<'_, W>) -> Result<(), Failure> {
        Lines::open(Path::new(self.file))?.each(|line| match line {
            Line::End { .. } => Ok(()),
            Line::Unknown { .. } => {
                sheet.tally.unknown += 1;
                Ok(())
            }
            // A line that no reader would take for its time or its place is none of the bundle either.
            line if !order.takes(&line) => Ok(()),
            line if self.holds(&line) => {
                let line = self.veiled(line, &mut sheet.tally);
                sheet.put(&line)
            }
            _ => Ok(()),
        })
    }

    fn holds(&self, line: &Line<'_>) -> bool {
        line.t_us().is_some_and(|t_us| self.part.holds(t_us))
    }

    /// The line under the veil, counted.
    fn veiled<'l>(&self, line: Line<'l>, tally: &mut Tally) -> Line<'l> {
        match line {
            Line::Read { wire, t_us, since_us, offset, bytes } => {
                let mut bytes = bytes.into_owned();
                self.veil.draw_over(wire, offset, &mut bytes, &mut tally.wires);
                Line::Read { wire, t_us, since_us, offset, bytes: bytes.into() }
            }
            Line::Note { t_us, text } => {
                let (shown, _) = veiled(&text);
                tally.notes_covered.add(&text, &shown);
                tally.notes.push((t_us, shown.clone()));
                Line::Note { t_us, text: shown.into() }
            }
            Line::Gone { t_us, wire, reason } => {
                let (shown, _) = veiled(&reason);
                tally.gone_covered.add(&reason, &shown);
                Line::Gone { t_us, wire, reason: shown.into() }
            }
            other => other,
        }
    }

    /// What a log gives, as the lines a recorder would have written.
    fn inputs<W: Write>(&self, mut source: Opened, sheet: &mut Sheet<'_, W>) -> Result<(), Failure> {
        loop {
            let link = source.link().clone();
            let Some(input) = source.next()? else { return Ok(()) };
            let Some(line) = line_of(&input, &link) else { continue };
            if self.holds(&line) && line.t_us() >= Some(sheet.last_us) {
                let line = self.veiled(line, &mut sheet.tally);
                sheet.put(&line)?;
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

impl<W: Write> Sheet<'_, W> {
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

    fn end(&mut self) -> Result<(), Failure> {
        let end = Line::End { t_us: self.last_us, records: self.records, bytes: self.heard };
        self.put(&end)
    }
}

impl Sheet<'_, BufWriter<File>> {
    /// Makes sure that it lasts.
    fn synced(self) -> Result<(u64, Tally), Failure> {
        let kept = self.to.into_inner().map_err(io::IntoInnerError::into_error).and_then(|file| file.sync_all());
        kept.map_err(|error| new_file::not_written(self.path, &error))?;
        Ok((self.bytes, self.tally))
    }
}
