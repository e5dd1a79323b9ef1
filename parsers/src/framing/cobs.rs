//! Consistent overhead byte stuffing: no zero inside a frame, a zero byte at its end.
//!
//! Source: Cheshire and Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7(2), 1999.
//! A code byte n says that n - 1 bytes follow as they are and then a zero, unless n is 255 or the frame ends there.
//! A last code byte 1 behind a full block is not needed and is accepted.
//!
//! A zero with nothing before it is a legal way to bring both sides into step; it carries nothing and counts as noise.

use crate::examined::looked_at;
use crate::word;

/// The byte that ends a frame.
pub(crate) const END: u8 = 0;

/// Decodes `encoded`, the bytes before the ending zero, into `out`. `None` where they are no such encoding; what was
/// decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    looked_at(encoded.len());
    out.clear();
    let mut rest = encoded;
    while let Some((code, behind)) = rest.split_first() {
        let len = usize::from(*code).checked_sub(1)?;
        let Some((block, next)) = behind.split_at_checked(len) else {
            out.extend_from_slice(behind);
            return None;
        };
        if block.contains(&0) {
            return None;
        }
        out.extend_from_slice(block);
        if len < 254 && !next.is_empty() {
            out.push(0);
        }
        rest = next;
    }
    (!encoded.is_empty()).then_some(())
}

/// As [`decode`], up to the zero byte that ends the frame at the front of `wire`, which is found on the way. The body goes
/// to `out` a word at a time. Returns how many bytes the frame has on the wire.
#[inline]
pub(crate) fn unwrap(wire: &[u8], mut out: impl FnMut(u64, usize)) -> Option<usize> {
    let (mut at, mut zero_behind) = (0, false);
    loop {
        let code = *wire.get(at)?;
        looked_at(1);
        let mut left = usize::from(code.checked_sub(1).filter(|_| code != END)?);
        if zero_behind {
            out(0, 1);
        }
        at += 1;
        while left > 0 {
            let (word, len) = word::first(wire.get(at..)?);
            let len = len.min(left);
            looked_at(len);
            if len == 0 || word::before(word::zeros(word)) < len {
                return None;
            }
            out(word & word::low(len), len);
            (at, left) = (at + len, left - len);
        }
        zero_behind = code < 255;
        if wire.get(at) == Some(&END) {
            looked_at(1);
            return Some(at + 1);
        }
    }
}

/// Appends `body` encoded, without the ending zero.
pub fn encode(body: &[u8], out: &mut Vec<u8>) {
    let mut blocks = body.split(|byte| *byte == 0).peekable();
    while let Some(block) = blocks.next() {
        let mut full = block.chunks_exact(254);
        for part in full.by_ref() {
            out.push(255);
            out.extend_from_slice(part);
        }
        let last = blocks.peek().is_none();
        if !(last && full.remainder().is_empty() && !block.is_empty()) {
            out.push(full.remainder().len() as u8 + 1);
            out.extend_from_slice(full.remainder());
        }
    }
}
