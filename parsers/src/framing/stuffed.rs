//! Octet stuffing between flags.
//!
//! Source: RFC 1662, "PPP in HDLC-like Framing", sections 4.2 and 4.3. The flag 7E begins and ends a frame, one flag
//! may do both. 7D says that the next byte was exclusive-ored with 20. 7D right before the flag aborts the frame.
//!
//! Written with a control character map of zero: only 7D and 7E are escaped. Any escaped byte is read.

/// The byte that begins and ends a frame.
pub(crate) const FLAG: u8 = 0x7E;
const ESCAPE: u8 = 0x7D;
const FLIP: u8 = 0x20;

/// Decodes `encoded`, the bytes between two flags, into `out`. `None` where it ends in an escape, which aborts it;
/// what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    crate::examined::looked_at(encoded.len());
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

/// As [`decode`], up to the flag that ends the frame at the front of `wire`, which is found on the way. Each byte of the
/// body goes to `out`. Returns how many bytes the frame has on the wire from there on.
#[inline]
pub(crate) fn unwrap(wire: &[u8], mut out: impl FnMut(u8)) -> Option<usize> {
    let mut flip = 0;
    for (place, byte) in wire.iter().enumerate() {
        crate::examined::looked_at(1);
        match (*byte, std::mem::take(&mut flip)) {
            (FLAG, 0) => return Some(place + 1),
            (FLAG, _) => return None,
            (ESCAPE, 0) => flip = FLIP,
            (plain, flip) => out(plain ^ flip),
        }
    }
    None
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
