//! Looking ahead in a session file: whether bytes are missing before a wire's next read.
//!
//! A tick vouches for the silence before it. Where the lines of reads are damaged or gone, ticks may still stand between the
//! last whole read and the next: they vouch for nothing then, and that has to be known before they are believed.

use std::fs::File;
use std::io;
use std::path::Path;

use wheeltap_parsers::Wire;

use super::line::{Line, parse};
use super::line_reader::{LineReader, Text};

/// How far it looks, bytes.
const FAR: u64 = 256 << 10;

/// What comes next on one wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// A read, with so many bytes of the wire before it but those that were said to be lost on the way.
    Read(u64),
    /// Nothing within sight.
    OutOfSight,
}

/// One wire's look ahead. Whatever is asked, no byte of the file is looked at more than a few times.
pub(super) struct Ahead {
    wire: Wire,
    file: Option<LineReader>,
    /// What was looked through: from here, to there.
    from: u64,
    to: u64,
    /// Bytes said to be lost in it.
    lost: u64,
    /// The read that stands at `to`.
    found: Option<u64>,
}

impl Ahead {
    pub(super) const fn new(wire: Wire) -> Self {
        Self { wire, file: None, from: 0, to: 0, lost: 0, found: None }
    }

    /// What comes next on the wire from `byte` of the file at `path` on. `waiting` are the lines that are known to stand
    /// there.
    pub(super) fn next(&mut self, path: &Path, byte: u64, waiting: &[u8]) -> io::Result<Next> {
        if byte < self.from || byte > self.to || self.lost > 0 {
            (self.from, self.to, self.lost, self.found) = (byte, byte, 0, None);
        }
        if self.found.is_none() && self.to == byte {
            self.look(waiting);
        }
        if self.found.is_none() && self.to < byte + FAR {
            self.look_in_file(path, byte + FAR)?;
        }
        Ok(self.found.map_or(Next::OutOfSight, |offset| Next::Read(offset.saturating_sub(self.lost))))
    }

    /// Looks through lines that begin at `to`.
    fn look(&mut self, lines: &[u8]) {
        let mut rest = lines;
        while let Some(length) = memchr::memchr(b'\n', rest) {
            if self.line(rest.get(..length).unwrap_or_default()) {
                return;
            }
            self.to += length as u64 + 1;
            rest = rest.get(length + 1..).unwrap_or_default();
        }
    }

    fn look_in_file(&mut self, path: &Path, far: u64) -> io::Result<()> {
        let mut file = match self.file.take() {
            Some(file) => file,
            None => LineReader::file(File::open(path)?),
        };
        if file.place().byte != self.to {
            file.jump(self.to, None)?;
        }
        while self.to < far
            && let Some((_, text)) = file.next_line()?
        {
            let (Text::Line(text) | Text::Unended(text)) = text else {
                self.to = file.place().byte;
                continue;
            };
            if self.line(text) {
                break;
            }
            self.to = file.place().byte;
        }
        self.file = Some(file);
        Ok(())
    }

    /// Takes one line; true when it is the read.
    fn line(&mut self, text: &[u8]) -> bool {
        let begins = [self.wire.symbol() as u8, b' '];
        if !text.starts_with(&begins) && !text.starts_with(b"lost ") {
            return false;
        }
        match parse(text) {
            Ok(Line::Read { offset, .. }) => {
                self.found = Some(offset);
                return true;
            }
            Ok(Line::Lost { wire, count, .. }) if wire == self.wire => self.lost += count,
            _ => {}
        }
        false
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn lines(all: &[Line<'_>]) -> Vec<u8> {
        let mut text = Vec::new();
        for line in all {
            line.write(&mut text);
        }
        text
    }

    fn read(wire: Wire, offset: u64) -> Line<'static> {
        Line::Read { wire, t_us: 0, since_us: 0, offset, bytes: b"wheel".as_slice().into() }
    }

    /// Wherever it is asked from, and however much of it waits, it finds what a look at every line finds.
    #[test]
    fn it_finds_the_next_read_of_the_wire() {
        let (to, from) = (Wire::ToDrive, Wire::FromDrive);
        let mut all =
            vec![read(to, 0), Line::Tick { t_us: 1 }, read(from, 0), Line::Lost { t_us: 1, wire: to, count: 3 }];
        all.extend((0..20_000).map(|t_us| Line::Tick { t_us }));
        all.extend([Line::Lost { t_us: 1, wire: from, count: 9 }, read(to, 8), Line::Tick { t_us: 2 }, read(from, 14)]);
        let places: Vec<u64> = (0..=all.len()).map(|count| lines(&all[..count]).len() as u64).collect();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("some.lines");
        let text = lines(&all);
        std::fs::write(&path, &text).unwrap();
        let next_of = |wire, from: usize| {
            let mut lost = 0;
            for (line, place) in all[from..].iter().zip(&places[from..]) {
                match line {
                    Line::Read { wire: of, offset, .. } if *of == wire && *place < places[from] + FAR => {
                        return Next::Read(offset - lost);
                    }
                    Line::Lost { wire: of, count, .. } if *of == wire => lost += count,
                    _ => {}
                }
            }
            Next::OutOfSight
        };
        for wire in Wire::BOTH {
            for known in [0, 1, 70, 60_000] {
                let mut ahead = Ahead::new(wire);
                for (line, place) in
                    places.iter().enumerate().filter(|(line, _)| *line < 9 || line % 997 == 0 || *line > 19_990)
                {
                    let begins = *place as usize;
                    let waiting = &text[begins..text.len().min(begins + known)];
                    let waiting = &waiting[..memchr::memrchr(b'\n', waiting).map_or(0, |last| last + 1)];
                    assert_eq!(
                        ahead.next(&path, *place, waiting).unwrap(),
                        next_of(wire, line),
                        "{wire:?} from {line}"
                    );
                }
            }
        }
    }
}
