//! Octet stuffing between flags.
//!
//! Source: RFC 1662, "PPP in HDLC-like Framing", sections 4.2 and 4.3. The flag 7E begins and ends a frame, one flag
//! may do both. 7D says that the next byte was exclusive-ored with 20. 7D right before the flag aborts the frame.
//!
//! Written with a control character map of zero: only 7D and 7E are escaped. Any escaped byte is read.

use super::escaped::{self, Marks};

/// The byte that begins and ends a frame.
pub(crate) const FLAG: u8 = 0x7E;
const ESCAPE: u8 = 0x7D;
const FLIP: u8 = 0x20;
const MARKS: Marks = Marks { end: FLAG, escape: ESCAPE };

/// Decodes `encoded`, the bytes between two flags, into `out`. `None` where it ends in an escape, which aborts it;
/// what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    escaped::decode(MARKS, encoded, out, meant)
}

/// As [`decode`], up to the flag that ends the frame at the front of `wire`: see [`escaped::unwrap`].
#[inline]
pub(crate) fn unwrap(wire: &[u8], out: impl FnMut(u64, usize)) -> Option<usize> {
    escaped::unwrap(MARKS, wire, out, meant)
}

/// What an escape before `byte` stands for: nothing before the flag, which it aborts.
fn meant(byte: u8) -> Option<u8> {
    (byte != FLAG).then_some(byte ^ FLIP)
}

/// Appends `body` encoded, without flags.
pub fn encode(body: &[u8], out: &mut Vec<u8>) {
    for byte in body {
        match *byte {
            FLAG | ESCAPE => out.extend([ESCAPE, byte ^ FLIP]),
            plain => out.push(plain),
        }
    }
}
