//! Loose bytes: part of no frame. Line by line they are readable text or noise.

use crate::carry::Carry;
use crate::examined::looked_at;
use crate::foreign::{self, TextClass};
use crate::framing::find_byte;
use crate::outlet::Outlet;
use crate::profile::StartUpText;
use crate::record::Sink;

/// The longest line judged as a whole, bytes. Of a longer one the beginning is judged and the rest follows it.
pub(crate) const LINE: usize = 512;
/// Fewest readable bytes between unreadable ones that are called text.
const ISLAND: usize = 4;
/// Fewest readable bytes without a line end that are called text where frames are binary.
const PHRASE: usize = 16;

/// The line of loose bytes at the front of the carry.
#[derive(Clone, Debug)]
pub(crate) struct Loose {
    /// Bytes of it not judged yet.
    waiting: usize,
    /// Its beginning went out as text already; the rest follows up to the line end.
    running: bool,
    /// Frames are binary, so that a few readable bytes prove nothing.
    exacting: bool,
}

impl Loose {
    pub(crate) fn new(exacting: bool) -> Self {
        Self { waiting: 0, running: false, exacting }
    }

    /// Whether no line has begun.
    #[inline]
    pub(crate) fn is_closed(&self) -> bool {
        self.waiting == 0 && !self.running
    }

    /// Bytes at the front of the carry that are loose.
    #[inline]
    pub(crate) fn waiting(&self) -> usize {
        self.waiting
    }

    /// `len` more bytes of `carry` are loose.
    pub(crate) fn take(
        &mut self,
        len: usize,
        carry: &mut Carry,
        outlet: &mut Outlet,
        own: &[StartUpText],
        sink: &mut impl Sink,
    ) {
        let mut left = len;
        while left > 0 {
            let room = if self.running { left } else { left.min(LINE - self.waiting) };
            let part = carry.bytes().get(self.waiting..self.waiting + room).unwrap_or_default();
            let line_end = find_byte(b'\n', part);
            let step = line_end.map_or(room, |place| place + 1);
            left -= step;
            if self.running {
                outlet.more(carry, step, sink);
            } else {
                self.waiting += step;
            }
            if line_end.is_some() {
                self.end(carry, outlet, own, sink);
            } else if self.waiting == LINE {
                self.running = self.judge(true, carry, outlet, own, sink);
            }
        }
    }

    /// The line ends here.
    pub(crate) fn end(&mut self, carry: &mut Carry, outlet: &mut Outlet, own: &[StartUpText], sink: &mut impl Sink) {
        if self.waiting > 0 {
            self.judge(false, carry, outlet, own, sink);
        } else if self.running {
            outlet.flush(sink);
        }
        self.running = false;
    }

    /// Lets the waiting bytes out. `open`: the line goes on. Returns whether it goes on as text.
    fn judge(
        &mut self,
        open: bool,
        carry: &mut Carry,
        outlet: &mut Outlet,
        own: &[StartUpText],
        sink: &mut impl Sink,
    ) -> bool {
        let len = std::mem::take(&mut self.waiting);
        let line = carry.bytes().get(..len).unwrap_or_default();
        let Some((place, class)) = foreign::find(line, own) else {
            return self.plain(len, open, carry, outlet, sink);
        };
        if place > 0 {
            self.plain(place, false, carry, outlet, sink);
        }
        outlet.text(carry, len - place, class, open, sink);
        open
    }

    /// Lets `len` bytes out that no pattern knows: unreadable, readable, unreadable.
    fn plain(&self, len: usize, open: bool, carry: &mut Carry, outlet: &mut Outlet, sink: &mut impl Sink) -> bool {
        let line = carry.bytes().get(..len).unwrap_or_default();
        let (ahead, text) = self.readable(line);
        let behind = len - ahead - text;
        if ahead > 0 {
            outlet.noise(carry, ahead, sink);
        }
        let goes_on = open && behind == 0 && text > 0;
        if text > 0 {
            outlet.text(carry, text, TextClass::Free, goes_on, sink);
        }
        if behind > 0 {
            outlet.noise(carry, behind, sink);
        }
        goes_on
    }

    /// Unreadable bytes at the beginning of `line`, and the length of the text behind them (0 for all noise).
    fn readable(&self, line: &[u8]) -> (usize, usize) {
        looked_at(2 * line.len());
        let ahead = line.iter().take_while(|byte| !may_be_text(**byte)).count();
        let behind = line.iter().skip(ahead).rev().take_while(|byte| !may_be_text(**byte)).count();
        let text = line.get(ahead..line.len() - behind).unwrap_or_default();
        let island = ahead + behind > 0 && text.len() < ISLAND;
        let whim = self.exacting && !text.ends_with(b"\n") && text.len() < PHRASE;
        if text.is_empty() || island || whim || !mostly_readable(text) { (line.len(), 0) } else { (ahead, text.len()) }
    }
}

/// Whether a byte can stand in text: printable ASCII, tab, line ends, escape, or part of a longer UTF-8 sequence.
fn may_be_text(byte: u8) -> bool {
    matches!(byte, b' '..=b'~' | b'\t' | b'\r' | b'\n' | 0x1B | 0xC2..=0xF4 | 0x80..=0xBF)
}

/// How many bytes of `bytes` at its end cannot stand in text of one-byte characters.
pub(crate) fn unreadable_tail(bytes: &[u8]) -> usize {
    bytes.iter().rev().take_while(|byte| !matches!(byte, b' '..=b'~' | b'\t')).count()
}

/// Whether at least nine tenths of `bytes` are readable characters.
fn mostly_readable(bytes: &[u8]) -> bool {
    let mut readable = 0;
    for chunk in bytes.utf8_chunks() {
        readable += chunk
            .valid()
            .chars()
            .filter(|c| !c.is_control() || matches!(c, '\t' | '\r' | '\n' | '\x1B'))
            .map(char::len_utf8)
            .sum::<usize>();
    }
    readable * 10 >= bytes.len() * 9
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readable_bytes_stand_between_unreadable_ones() {
        let rows: [(&[u8], bool, (usize, usize)); 10] = [
            (b"load @3F40\r\n", false, (0, 12)),
            (b"\x00\xF8load", false, (2, 4)),
            (b"\x00\xF8loa", false, (5, 0)),
            (b"load\x00\x01", false, (0, 4)),
            (b"\xC2\xB5s 20 \xE2\x82\xAC\n", false, (0, 11)),
            (b"\xC2\xC2\xC2\xC2", false, (4, 0)),
            (b"l\x01o\x01a\x01d", false, (7, 0)),
            (b"dddd<", true, (5, 0)),
            (b"dddd<\n", true, (0, 6)),
            (b"a phrase of some length", true, (0, 23)),
        ];
        for (line, exacting, expected) in rows {
            assert_eq!(Loose::new(exacting).readable(line), expected, "{}", line.escape_ascii());
        }
    }
}
