//! Serial line framing with an end byte and two-byte escapes.
//!
//! Source: RFC 1055, "A Nonstandard for Transmission of IP Datagrams over Serial Lines: SLIP". END is C0 and ends a
//! frame; DB DC stands for a C0 inside it and DB DD for a DB. An END before the first byte is allowed and flushes what
//! a noisy line left behind; it belongs to the frame it stands before.

use crate::examined::looked_at;
use crate::word::{self, WORD, each};

/// The byte that ends a frame.
pub(crate) const END: u8 = 0xC0;
const ESCAPE: u8 = 0xDB;
const ESCAPED_END: u8 = 0xDC;
const ESCAPED_ESCAPE: u8 = 0xDD;

/// Decodes `encoded`, the bytes before the END, into `out`. `None` where an escape stands before another byte than
/// the two known ones; what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    looked_at(encoded.len());
    out.clear();
    let mut bytes = encoded.iter();
    while let Some(byte) = bytes.next() {
        out.push(match (*byte, *byte == ESCAPE) {
            (END, _) => return None,
            (_, true) => match *bytes.next()? {
                ESCAPED_END => END,
                ESCAPED_ESCAPE => ESCAPE,
                _ => return None,
            },
            (plain, false) => plain,
        });
    }
    Some(())
}

/// As [`decode`], up to the END of the frame at the front of `wire`, which is found on the way. The body goes to `out` a word
/// at a time. Returns how many bytes the frame has on the wire.
#[inline]
pub(crate) fn unwrap(wire: &[u8], mut out: impl FnMut(u64, usize)) -> Option<usize> {
    let mut at = 0;
    loop {
        let (word, len) = word::first(wire.get(at..)?);
        let special = word::zeros(word ^ each(END)) | word::zeros(word ^ each(ESCAPE));
        let plain = word::before(special).min(len);
        out(word & word::low(plain), plain);
        looked_at(plain);
        at += plain;
        if plain == WORD {
            continue;
        }
        looked_at(1);
        match *wire.get(at)? {
            END => return Some(at + 1),
            _ => out(unescaped(*wire.get(at + 1)?)?.into(), 1),
        }
        at += 2;
    }
}

/// What an escape before `byte` stands for.
fn unescaped(byte: u8) -> Option<u8> {
    looked_at(1);
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
