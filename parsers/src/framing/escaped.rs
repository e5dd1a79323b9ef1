//! Escapes: a byte that may not stand as it is is written as an escape byte and another one behind it.
//!
//! [`super::slip`] and [`super::stuffed`] share this; each says which bytes those are, and its source.

use crate::examined::looked_at;
use crate::word::{self, WORD, each};

/// The byte that ends a frame, and the one that escapes another.
#[derive(Clone, Copy)]
pub(crate) struct Marks {
    pub(crate) end: u8,
    pub(crate) escape: u8,
}

/// Decodes `encoded`, the bytes before the end, into `out`. `meant`: what an escape before this byte stands for. `None`
/// where an end stands inside, or an escape before no byte or one that is not allowed; what was decoded up to there is left
/// in `out`.
pub(crate) fn decode(marks: Marks, encoded: &[u8], out: &mut Vec<u8>, meant: impl Fn(u8) -> Option<u8>) -> Option<()> {
    looked_at(encoded.len());
    out.clear();
    let mut bytes = encoded.iter().copied();
    while let Some(byte) = bytes.next() {
        out.push(match byte {
            byte if byte == marks.end => return None,
            byte if byte == marks.escape => meant(bytes.next()?)?,
            plain => plain,
        });
    }
    Some(())
}

/// As [`decode`], up to the end of the frame at the front of `wire`, which is found on the way. The body goes to `out` a word
/// at a time. Returns how many bytes the frame has on the wire.
#[inline]
pub(crate) fn unwrap(
    marks: Marks,
    wire: &[u8],
    mut out: impl FnMut(u64, usize),
    meant: impl Fn(u8) -> Option<u8>,
) -> Option<usize> {
    let mut at = 0;
    loop {
        let (word, len) = word::first(wire.get(at..)?);
        let special = word::zeros(word ^ each(marks.end)) | word::zeros(word ^ each(marks.escape));
        let plain = word::before(special).min(len);
        out(word & word::low(plain), plain);
        looked_at(plain);
        at += plain;
        if plain == WORD {
            continue;
        }
        looked_at(1);
        if *wire.get(at)? == marks.end {
            return Some(at + 1);
        }
        looked_at(1);
        out(meant(*wire.get(at + 1)?)?.into(), 1);
        at += 2;
    }
}
