//! The words of a value-change dump, one after the other, with the line each stands in. Memory stays bounded.

use std::io::{self, ErrorKind, Read};

/// What is read at once, bytes.
const BLOCK: usize = 64 << 10;
/// A longer word is refused, bytes.
const LONGEST: usize = 1 << 20;

/// Words between white space, from any stream.
pub struct DumpWords<R> {
    from: R,
    buffer: Vec<u8>,
    at: usize,
    end: usize,
    line: u64,
    /// Bytes of the stream before the buffer.
    before: u64,
    /// Where in the stream the last word began.
    begun: u64,
    unended: Option<Box<[u8]>>,
}

/// Why there is no next word.
#[derive(Debug)]
pub enum WordFault {
    /// The stream cannot be read.
    Io(io::Error),
    /// The word is longer than any of a dump.
    TooLong,
}

impl<R: Read> DumpWords<R> {
    /// Words of this stream.
    pub fn new(from: R) -> Self {
        Self { from, buffer: vec![0; BLOCK], at: 0, end: 0, line: 1, before: 0, begun: 0, unended: None }
    }

    /// The line of the last word, from 1.
    pub const fn line(&self) -> u64 {
        self.line
    }

    /// The byte of the stream at which the last word began, from 0.
    pub const fn byte(&self) -> u64 {
        self.begun
    }

    /// The last word, where it ended with the stream, with no white space behind it: it may have been cut. It stays so.
    pub fn unended(&self) -> Option<&[u8]> {
        self.unended.as_deref()
    }

    /// The next word; `None` at the end.
    pub fn next(&mut self) -> Result<Option<&[u8]>, WordFault> {
        let mut known = 0;
        loop {
            if known == 0 {
                self.skip_space();
            }
            let rest = self.buffer.get(self.at + known..self.end).unwrap_or_default();
            if let Some(length) = rest.iter().position(u8::is_ascii_whitespace) {
                return Ok(self.take(known + length));
            }
            known += rest.len();
            if !self.fill()? {
                if known == 0 {
                    return Ok(None);
                }
                self.unended = self.buffer.get(self.at..self.at + known).map(Into::into);
                return Ok(self.take(known));
            }
        }
    }

    fn take(&mut self, length: usize) -> Option<&[u8]> {
        let begin = self.at;
        self.begun = self.before + begin as u64;
        self.at += length;
        self.buffer.get(begin..begin + length)
    }

    fn skip_space(&mut self) {
        let rest = self.buffer.get(self.at..self.end).unwrap_or_default();
        let mut count = 0;
        for byte in rest.iter().take_while(|byte| byte.is_ascii_whitespace()) {
            self.line += u64::from(*byte == b'\n');
            count += 1;
        }
        self.at += count;
    }

    /// Reads more behind what is left; false at the end of the stream.
    fn fill(&mut self) -> Result<bool, WordFault> {
        self.buffer.copy_within(self.at..self.end, 0);
        self.end -= self.at;
        self.before += self.at as u64;
        self.at = 0;
        if self.end == self.buffer.len() {
            if self.end >= LONGEST {
                return Err(WordFault::TooLong);
            }
            self.buffer.resize(self.end * 2, 0);
        }
        let room = self.buffer.get_mut(self.end..).unwrap_or_default();
        loop {
            match self.from.read(room) {
                Ok(count) => {
                    self.end += count.min(room.len());
                    return Ok(count > 0);
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(WordFault::Io(error)),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// A stream that gives few bytes at a time.
    struct Trickle<'a>(&'a [u8], usize);

    impl Read for Trickle<'_> {
        fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
            let count = self.1.min(self.0.len()).min(room.len());
            let (now, later) = self.0.split_at(count);
            room[..count].copy_from_slice(now);
            self.0 = later;
            Ok(count)
        }
    }

    #[test]
    fn words_keep_their_lines_however_the_stream_is_cut() {
        let text = b"$var wire\n1 ! in1 $end\n\n#10\r\n0!";
        let due = [("$var", 1, 0), ("wire", 1, 5), ("1", 2, 10), ("!", 2, 12), ("in1", 2, 14), ("$end", 2, 18)];
        let due = [&due[..], &[("#10", 4, 24), ("0!", 5, 29)]].concat();
        for step in [1, 2, 3, 7, 64] {
            let mut words = DumpWords::new(Trickle(text, step));
            for (word, line, byte) in due.iter().copied() {
                assert_eq!(words.next().unwrap(), Some(word.as_bytes()));
                assert_eq!((words.line(), words.byte()), (line, byte), "{word}");
                assert_eq!(words.unended(), (word == "0!").then_some(word.as_bytes()));
            }
            assert_eq!(words.next().unwrap(), None);
        }
    }

    #[test]
    fn an_endless_word_is_refused_and_takes_no_more_memory_than_the_longest() {
        let mut words = DumpWords::new(io::repeat(b'b'));
        assert!(matches!(words.next(), Err(WordFault::TooLong)));
        assert_eq!(words.buffer.len(), LONGEST);
    }
}
