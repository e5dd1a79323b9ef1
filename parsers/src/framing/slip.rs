//! Serial line framing with an end byte and two-byte escapes.
//!
//! Source: RFC 1055, "A Nonstandard for Transmission of IP Datagrams over Serial Lines: SLIP". END is C0 and ends a
//! frame; DB DC stands for a C0 inside it and DB DD for a DB. An END before the first byte is allowed and flushes what
//! a noisy line left behind; it belongs to the frame it stands before.

use super::escaped::{self, Marks};

/// The byte that ends a frame.
pub(crate) const END: u8 = 0xC0;
const ESCAPE: u8 = 0xDB;
const ESCAPED_END: u8 = 0xDC;
const ESCAPED_ESCAPE: u8 = 0xDD;
const MARKS: Marks = Marks { end: END, escape: ESCAPE };

/// Decodes `encoded`, the bytes before the END, into `out`. `None` where an escape stands before another byte than
/// the two known ones; what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    escaped::decode(MARKS, encoded, out, meant)
}

/// As [`decode`], up to the END of the frame at the front of `wire`: see [`escaped::unwrap`].
#[inline]
pub(crate) fn unwrap(wire: &[u8], out: impl FnMut(u64, usize)) -> Option<usize> {
    escaped::unwrap(MARKS, wire, out, meant)
}

/// What an escape before `byte` stands for.
fn meant(byte: u8) -> Option<u8> {
    match byte {
        ESCAPED_END => Some(END),
        ESCAPED_ESCAPE => Some(ESCAPE),
        _ => None,
    }
}

/// Appends `body` encoded, without an END.
pub fn encode(body: &[u8], out: &mut Vec<u8>) {
    for byte in body {
        match *byte {
            END => out.extend([ESCAPE, ESCAPED_END]),
            ESCAPE => out.extend([ESCAPE, ESCAPED_ESCAPE]),
            plain => out.push(plain),
        }
    }
}
