//! Serial line framing with an end byte and two-byte escapes.
//!
//! Source: RFC 1055, "A Nonstandard for Transmission of IP Datagrams over Serial Lines: SLIP". END is C0 and ends a
//! frame; DB DC stands for a C0 inside it and DB DD for a DB. An END before the first byte is allowed and flushes what
//! a noisy line left behind; it belongs to the frame it stands before.

/// The byte that ends a frame.
pub(crate) const END: u8 = 0xC0;
const ESCAPE: u8 = 0xDB;
const ESCAPED_END: u8 = 0xDC;
const ESCAPED_ESCAPE: u8 = 0xDD;

/// Decodes `encoded`, the bytes before the END, into `out`. `None` where an escape stands before another byte than
/// the two known ones; what was decoded up to there is left in `out`.
pub fn decode(encoded: &[u8], out: &mut Vec<u8>) -> Option<()> {
    crate::examined::looked_at(encoded.len());
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
