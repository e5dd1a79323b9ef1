//! Sessions written: one line a record, one write a line, and an honest count of what could not be kept.

use std::io;
use std::path::Path;
use std::sync::Arc;

use super::disk::{Disk, FileDisk};
use super::header::{Header, Part};
use super::heard::Heard;
use super::line::Line;
use super::owed::{Due, Owed};
use super::status::RecorderStatus;
use super::taught;
use crate::source::SourceError;

/// Owns one session file.
pub struct Recorder {
    disk: Arc<dyn Disk>,
    status: Arc<RecorderStatus>,
    line: Vec<u8>,
    /// A write fell short: the file ends in the middle of a line.
    torn: bool,
    /// What the disk refused so far.
    owed: Owed,
    records: u64,
    bytes: [u64; 2],
    /// Bytes of each wire that this file and those before it account for.
    heard: [u64; 2],
    file_bytes: u64,
    last_us: i64,
    /// The newest time in the file that counts for the order.
    written_us: i64,
    taught: Option<Taught>,
}

/// A rover file that is in force, with its lines.
#[derive(Clone)]
struct Taught {
    text: Vec<u8>,
    lines: u64,
    /// When the file is so long it is written again.
    due: u64,
}

impl Recorder {
    /// Makes a new session file and writes its head. Never overwrites a file.
    pub fn create(path: &Path, header: &Header) -> Result<Self, SourceError> {
        Self::on(Arc::new(FileDisk::create(path)?), path, header)
    }

    /// Begins a session on a disk of the caller's; `path` is for messages.
    pub fn on(disk: Arc<dyn Disk>, path: &Path, header: &Header) -> Result<Self, SourceError> {
        Self::begin(disk, Arc::new(RecorderStatus::new(path)), path, header)
    }

    /// The next file of the same recording: a session of its own whose head says where it goes on.
    pub(super) fn next(&self, path: &Path, header: &Header) -> Result<Self, SourceError> {
        let mut next = Self::begin(Arc::new(FileDisk::create(path)?), self.status(), path, header)?;
        next.taught = self.taught.clone().map(|taught| Taught { due: 0, ..taught });
        Ok(next)
    }

    fn begin(
        disk: Arc<dyn Disk>,
        status: Arc<RecorderStatus>,
        path: &Path,
        header: &Header,
    ) -> Result<Self, SourceError> {
        let mut recorder = Self {
            disk,
            status,
            line: Vec::new(),
            torn: false,
            owed: Owed::default(),
            records: 0,
            bytes: [0; 2],
            heard: header.offsets(),
            file_bytes: 0,
            last_us: header.begins_us(),
            written_us: header.begins_us(),
            taught: None,
        };
        for line in header.lines() {
            recorder.put(&line).map_err(|error| {
                let path = path.display();
                SourceError::Device(format!(
                    "{path}: cannot be written ({error}). Free some space or choose another disk."
                ))
            })?;
        }
        Ok(recorder)
    }

    /// How it fares.
    pub fn status(&self) -> Arc<RecorderStatus> {
        Arc::clone(&self.status)
    }

    /// Bytes in this file.
    pub(super) const fn file_bytes(&self) -> u64 {
        self.file_bytes
    }

    /// Where a next file would go on, when this one owes nothing.
    pub(super) fn next_part(&self, number: u64) -> Option<Part> {
        let owes = self.torn || !self.owed.is_empty();
        (!owes).then_some(Part { number, t_us: self.last_us, offsets: self.heard })
    }

    /// The disk, for the thread that syncs it.
    pub(super) fn disk(&self) -> Arc<dyn Disk> {
        Arc::clone(&self.disk)
    }

    /// Keeps one thing heard. When the disk refuses, that is counted, said in the status, and tried again with the
    /// next thing heard.
    pub fn keep(&mut self, heard: &Heard) {
        if !matches!(heard, Heard::Note { .. }) {
            self.last_us = self.last_us.max(heard.t_us());
        }
        if let Heard::Lost { count, .. } = heard {
            self.status.missed(*count);
        }
        let kept = match heard {
            Heard::Taught { name, text, .. } => {
                self.teach(name, text);
                self.catch_up()
            }
            Heard::Lost { wire, t_us, count } => {
                self.owed.lost(*wire, *t_us, *count);
                self.catch_up()
            }
            _ => self.catch_up().and_then(|()| self.put(&heard.line())),
        };
        match kept {
            Ok(()) => self.kept(heard),
            Err(error) => return self.not_kept(heard, &error),
        }
        if let Err(error) = self.say_taught() {
            self.report(&error);
        }
    }

    fn teach(&mut self, name: &str, text: &str) {
        let lines = taught::lines(name, text);
        let mut text = Vec::new();
        for line in &lines {
            line.write(&mut text);
        }
        self.taught = Some(Taught { text, lines: lines.len() as u64, due: 0 });
    }

    /// Writes the rover file in force where it is due.
    fn say_taught(&mut self) -> io::Result<()> {
        let due = |taught: &mut Taught| self.file_bytes >= taught.due;
        let Some(mut taught) = self.taught.take_if(due) else { return Ok(()) };
        let done = self.write_lines(&taught.text, taught.lines);
        if done.is_ok() {
            taught.due = self.file_bytes + taught::EVERY;
        }
        self.taught = Some(taught);
        done
    }

    /// Writes the closing line. The status says whether that worked.
    pub fn close(mut self) {
        match self.catch_up().and_then(|()| self.say_taught()) {
            Ok(()) => {
                let end = Line::End { t_us: self.last_us, records: self.records, bytes: self.bytes };
                if let Err(error) = self.put(&end) {
                    self.report(&error);
                }
            }
            Err(error) => self.report(&error),
        }
    }

    fn kept(&mut self, heard: &Heard) {
        if let Heard::Read { wire, bytes, .. } = heard {
            let count = bytes.len() as u64;
            self.heard[wire.index()] += count;
            self.bytes[wire.index()] += count;
            self.status.kept(count);
        }
    }

    fn not_kept(&mut self, heard: &Heard, error: &io::Error) {
        match *heard {
            Heard::Read { wire, t_us, since_us, ref bytes, .. } => {
                // Nothing was waiting then: none of them came sooner.
                self.owed.lost(wire, t_us - since_us, bytes.len() as u64);
                self.status.missed(bytes.len() as u64);
            }
            // A rover file stays due, and a loss is owed already.
            Heard::Tick { .. } | Heard::Wall { .. } | Heard::Taught { .. } | Heard::Lost { .. } => {}
            Heard::Note { .. } | Heard::Gone { .. } | Heard::Back { .. } => self.owed.line(&heard.line()),
        }
        self.report(error);
    }

    fn report(&self, error: &io::Error) {
        if self.status.has_write_trouble() {
            return;
        }
        let path = self.status.path();
        let path = path.display();
        self.status.set_write_trouble(Some(format!(
            "{path}: the session cannot be written ({error}). What comes in now is counted as lost. Free some space; \
             recording goes on by itself."
        )));
    }

    /// Brings the file back in order after a failure: ends a torn line, then says what was owed and what is missing, each in
    /// its place.
    fn catch_up(&mut self) -> io::Result<()> {
        if self.torn {
            self.write_all(b"\n")?;
            self.torn = false;
        }
        while let Some(due) = self.owed.next() {
            if let Err(error) = self.pay(&due) {
                self.owed.put_back(due);
                return Err(error);
            }
        }
        Ok(())
    }

    fn pay(&mut self, due: &Due) -> io::Result<()> {
        match *due {
            Due::Line { ref text, t_us } => {
                self.write_line(text)?;
                self.written_us = t_us.map_or(self.written_us, |t_us| t_us.max(self.written_us));
            }
            Due::Lost { wire, t_us, count } => {
                // What was heard of the other wire meanwhile stands before it, and in a file no time descends.
                self.put(&Line::Lost { t_us: t_us.max(self.written_us), wire, count })?;
                self.heard[wire.index()] += count;
            }
        }
        Ok(())
    }

    fn put(&mut self, line: &Line<'_>) -> io::Result<()> {
        let mut text = std::mem::take(&mut self.line);
        text.clear();
        line.write(&mut text);
        let done = self.write_line(&text);
        self.line = text;
        if done.is_ok() {
            self.written_us = line.ordered_us().map_or(self.written_us, |t_us| t_us.max(self.written_us));
        }
        done
    }

    fn write_line(&mut self, line: &[u8]) -> io::Result<()> {
        self.write_lines(line, 1)
    }

    fn write_lines(&mut self, lines: &[u8], count: u64) -> io::Result<()> {
        if self.torn {
            self.write_all(b"\n")?;
            self.torn = false;
        }
        self.write_all(lines)?;
        self.records += count;
        self.status.set_write_trouble(None);
        Ok(())
    }

    /// One write; one that falls short is a failure that leaves a torn line behind. A line that lacks nothing but its
    /// LF is whole, since its check stands: it is kept, and the LF follows before the next.
    fn write_all(&mut self, bytes: &[u8]) -> io::Result<()> {
        let written = loop {
            match self.disk.write(bytes) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => break other?,
            }
        };
        self.status.written();
        self.file_bytes += written as u64;
        if written == bytes.len() {
            return Ok(());
        }
        self.torn |= written > 0;
        if written + 1 == bytes.len() && written > 0 {
            return Ok(());
        }
        Err(io::Error::new(io::ErrorKind::WriteZero, "only part of a line could be written: the disk may be full"))
    }
}
