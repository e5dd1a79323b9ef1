//! Octet stuffing between flags.
//!
//! Source: RFC 1662, "PPP in HDLC-like Framing", sections 4.2 and 4.3. The flag 7E begins and ends a frame, one flag
//! may do both. 7D says that the next byte was exclusive-ored with 20. 7D right before the flag aborts the frame.
//!
//! Written with a control character map of zero: only 7D and 7E are escaped. Any escaped byte is read.

use crate::examined::looked_at;
use crate::word::{self, WORD, each};

/// The byte that begins and ends a frame.
pub(crate) const FLAG: u8 = 0x7E;
const ESCAPE: u8 = 0x7D;
const FLIP: u8 = 0x20;

/// Decodes `encoded`, the bytes between two flags, into `out`. `None` where it ends in an escape, which aborts it;
/// what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    looked_at(encoded.len());
    out.clear();
    let mut bytes = encoded.iter();
    while let Some(byte) = bytes.next() {
        out.push(match *byte {
            FLAG => return None,
            ESCAPE => bytes.next()? ^ FLIP,
            plain => plain,
        });
    }
    Some(())
}

/// As [`decode`], up to the flag that ends the frame at the front of `wire`, which is found on the way. The body goes to
/// `out` a word at a time. Returns how many bytes the frame has on the wire from there on.
#[inline]
pub(crate) fn unwrap(wire: &[u8], mut out: impl FnMut(u64, usize)) -> Option<usize> {
    let mut at = 0;
    loop {
        let (word, len) = word::first(wire.get(at..)?);
        let special = word::zeros(word ^ each(FLAG)) | word::zeros(word ^ each(ESCAPE));
        let plain = word::before(special).min(len);
        out(word & word::low(plain), plain);
        looked_at(plain);
        at += plain;
        if plain == WORD {
            continue;
        }
        looked_at(1);
        match (*wire.get(at)?, wire.get(at + 1)) {
            (FLAG, _) => return Some(at + 1),
            (_, Some(byte)) if *byte != FLAG => out((byte ^ FLIP).into(), 1),
            _ => return None,
        }
        looked_at(1);
        at += 2;
    }
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
