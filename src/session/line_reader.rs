//! Lines of a file or stream, in constant memory, with the place of each.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

/// Longest line that is taken, bytes. A longer one is named and skipped.
pub const LONGEST: usize = 8 << 20;

const BLOCK: usize = 64 << 10;

/// Where the bytes come from.
enum Origin {
    File(File),
    Stream(Box<dyn Read + Send>),
}

/// Reads line after line.
pub struct LineReader {
    origin: Origin,
    buffer: Vec<u8>,
    /// What is in the buffer and not yet given out.
    start: usize,
    end: usize,
    place: Place,
    last: Option<(usize, Place)>,
}

/// Where a line begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line number from 1; `None` after a jump.
    pub line: Option<u64>,
    /// Bytes of the file before it.
    pub byte: u64,
}

/// What stands there.
#[derive(Debug, PartialEq, Eq)]
pub enum Text<'a> {
    /// A line without its LF.
    Line(&'a [u8]),
    /// The last line of the file, without an LF at its end.
    Unended(&'a [u8]),
    /// More than [`LONGEST`] bytes without an LF: this many, skipped.
    TooLong(u64),
}

impl LineReader {
    /// Lines of a file, which can be jumped about in.
    pub fn file(file: File) -> Self {
        Self::new(Origin::File(file))
    }

    /// Lines of a stream.
    pub fn stream(stream: Box<dyn Read + Send>) -> Self {
        Self::new(Origin::Stream(stream))
    }

    fn new(origin: Origin) -> Self {
        let place = Place { line: Some(1), byte: 0 };
        Self { origin, buffer: vec![0; BLOCK], start: 0, end: 0, place, last: None }
    }

    /// The next line; `None` at the end.
    pub fn next_line(&mut self) -> io::Result<Option<(Place, Text<'_>)>> {
        let place = self.place;
        let mut searched = 0;
        loop {
            let rest = self.buffer.get(self.start + searched..self.end).unwrap_or_default();
            let found = memchr::memchr(b'\n', rest);
            if let Some(length) = found.map(|found| searched + found).filter(|length| *length <= LONGEST) {
                return Ok(Some((place, Text::Line(self.give(length, 1)))));
            }
            searched = self.end - self.start;
            if searched > LONGEST {
                return self.skip_long().map(|length| Some((place, Text::TooLong(length))));
            }
            if !self.fill()? {
                return Ok((searched > 0).then(|| (place, Text::Unended(self.give(searched, 0)))));
            }
        }
    }

    /// The lines that wait in the buffer, each with its LF, and where they begin; it reads nothing, so there may be none.
    /// How many of their bytes and lines were taken is to be said to [`LineReader::took`].
    pub(super) fn waiting(&self) -> (Place, &[u8]) {
        // A buffer that has grown may hold a line beyond the limit.
        let end = if self.buffer.len() == BLOCK { self.end } else { self.start };
        let rest = self.buffer.get(self.start..end).unwrap_or_default();
        let whole = memchr::memrchr(b'\n', rest).map_or(0, |last| last + 1);
        (self.place, rest.get(..whole).unwrap_or_default())
    }

    /// Passes over what was taken of the lines that waited.
    pub(super) fn took(&mut self, bytes: usize, lines: u64) {
        self.start += bytes;
        self.place = Place { line: self.place.line.map(|line| line + lines), byte: self.place.byte + bytes as u64 };
        self.last = None;
    }

    /// Where the next line begins.
    pub fn place(&self) -> Place {
        self.place
    }

    /// Puts the line just given back, to be given again.
    pub fn put_back(&mut self) {
        if let Some((start, place)) = self.last.take() {
            self.start = start;
            self.place = place;
        }
    }

    /// Goes to `byte` of the file. With `line` it is the beginning of that line; without, the line that `byte` lies in
    /// is skipped unless it begins there.
    pub fn jump(&mut self, byte: u64, line: Option<u64>) -> io::Result<()> {
        let whole = line.is_some() || byte == 0;
        let byte = if whole { byte } else { byte - 1 };
        match &mut self.origin {
            Origin::File(file) => file.seek(SeekFrom::Start(byte))?,
            Origin::Stream(_) => return Err(io::Error::new(io::ErrorKind::Unsupported, "a stream cannot be rewound")),
        };
        (self.start, self.end, self.last) = (0, 0, None);
        self.place = Place { line: if byte == 0 { Some(1) } else { line }, byte };
        if !whole {
            self.next_line()?;
            self.place.line = None;
        }
        Ok(())
    }

    /// Length of the file, bytes; `None` for a stream.
    pub fn file_length(&self) -> io::Result<Option<u64>> {
        match &self.origin {
            Origin::File(file) => file.metadata().map(|data| Some(data.len())),
            Origin::Stream(_) => Ok(None),
        }
    }

    fn give(&mut self, length: usize, line_end: usize) -> &[u8] {
        let start = self.start;
        self.last = Some((start, self.place));
        self.start += length + line_end;
        self.pass((length + line_end) as u64);
        self.buffer.get(start..start + length).unwrap_or_default()
    }

    fn pass(&mut self, bytes: u64) {
        self.place = Place { line: self.place.line.map(|line| line + 1), byte: self.place.byte + bytes };
    }

    /// Reads more behind what is there; false at the end.
    fn fill(&mut self) -> io::Result<bool> {
        if self.end == self.buffer.len() {
            self.buffer.copy_within(self.start..self.end, 0);
            self.end -= self.start;
            self.start = 0;
            if self.end > self.buffer.len() / 2 {
                self.buffer.resize(self.buffer.len() * 2, 0);
            }
        }
        let room = self.buffer.get_mut(self.end..).unwrap_or_default();
        let count = loop {
            let read = match &mut self.origin {
                Origin::File(file) => file.read(room),
                Origin::Stream(stream) => stream.read(room),
            };
            match read {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => break other?,
            }
        };
        self.end += count;
        Ok(count > 0)
    }

    fn skip_long(&mut self) -> io::Result<u64> {
        let mut length = 0;
        loop {
            let rest = self.buffer.get(self.start..self.end).unwrap_or_default();
            if let Some(found) = memchr::memchr(b'\n', rest) {
                length += found as u64;
                self.start += found + 1;
                self.pass(length + 1);
                break;
            }
            length += rest.len() as u64;
            (self.start, self.end) = (0, 0);
            if !self.fill()? {
                self.pass(length);
                break;
            }
        }
        self.last = None;
        self.give_room_back();
        Ok(length)
    }

    /// Makes the buffer as small again as what it holds allows.
    fn give_room_back(&mut self) {
        self.buffer.copy_within(self.start..self.end, 0);
        self.end -= self.start;
        self.start = 0;
        self.buffer.truncate(BLOCK.max(self.end));
        self.buffer.shrink_to_fit();
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn reader(bytes: Vec<u8>) -> LineReader {
        LineReader::stream(Box::new(io::Cursor::new(bytes)))
    }

    #[test]
    fn lines_and_places() {
        let mut lines = reader(b"ab\n\ncd".to_vec());
        let mut next = || lines.next_line().unwrap().map(|(place, text)| (place.line, place.byte, format!("{text:?}")));
        assert_eq!(next(), Some((Some(1), 0, format!("{:?}", Text::Line(b"ab")))));
        assert_eq!(next(), Some((Some(2), 3, format!("{:?}", Text::Line(b"")))));
        assert_eq!(next(), Some((Some(3), 4, format!("{:?}", Text::Unended(b"cd")))));
        assert_eq!(next(), None);
    }

    #[test]
    fn a_line_put_back_comes_again() {
        let mut lines = reader(b"one\ntwo\n".to_vec());
        lines.next_line().unwrap();
        lines.put_back();
        assert!(matches!(lines.next_line().unwrap(), Some((Place { line: Some(1), byte: 0 }, Text::Line(b"one")))));
        assert!(matches!(lines.next_line().unwrap(), Some((Place { line: Some(2), byte: 4 }, Text::Line(b"two")))));
    }

    #[test]
    fn a_line_beyond_the_limit_is_skipped_and_the_next_is_whole() {
        let long = LONGEST + 3 * BLOCK;
        let mut bytes = vec![b'x'; long];
        bytes.extend(b"\nnext\n");
        let mut lines = reader(bytes);
        let (place, text) = lines.next_line().unwrap().unwrap();
        assert!(place.byte == 0 && text == Text::TooLong(long as u64), "the long line was taken");
        let (place, text) = lines.next_line().unwrap().unwrap();
        assert_eq!((place.line, place.byte, text), (Some(2), long as u64 + 1, Text::Line(b"next")));
        assert!(lines.buffer.capacity() <= BLOCK * 2, "the room for the long line is given back");
    }
}
