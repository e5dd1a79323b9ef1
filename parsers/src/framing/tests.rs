//! Encodings taken off a word at a time, against the vectors of documents; lengths against the encoders.

#[path = "../../tests/checks/encodings.rs"]
mod encodings;

use super::{cobs, escaped, find_byte, slip, stuffed};
use crate::examined::counted;
use encodings::{COBS, COBS_LONG_FORM, NO_COBS, SLIP, SLIP_READ, STUFFED};

/// What `unwrap` says of `wire`, and the body it lets out.
fn unwrapped(
    unwrap: impl Fn(&[u8], &mut dyn FnMut(u64, usize)) -> Option<usize>,
    wire: &[u8],
) -> (Option<usize>, Vec<u8>) {
    let mut body = Vec::new();
    let len = unwrap(wire, &mut |word, len| {
        assert!(len <= 8 && word & !crate::word::low(len) == 0, "{word:X} with {len} bytes");
        body.extend(word.to_le_bytes().iter().take(len));
    });
    (len, body)
}

type Unwrap = fn(&[u8], &mut dyn FnMut(u64, usize)) -> Option<usize>;
type Decode = fn(&[u8], &mut Vec<u8>) -> Option<()>;
type Encode = fn(&[u8], &mut Vec<u8>);

type Off = (Unwrap, Decode);

const COBS_OFF: Off = (|wire, out| cobs::unwrap(wire, out), cobs::decode);
const SLIP_OFF: Off = (|wire, out| slip::unwrap(wire, out), slip::decode);
const STUFFED_OFF: Off = (|wire, out| stuffed::unwrap(wire, out), stuffed::decode);

/// `wire` ends with its end byte and is `body`: whole, with more behind it, and none of it without its end. Each byte is
/// looked at once.
fn is(wire: &[u8], body: &[u8], (unwrap, decode): Off, known: &str) {
    for behind in [&b""[..], b"\0", b"\x01\x02", b"\xC0\xDB\x7E\x7D\0\0\0\0\0\0"] {
        let more = [wire, behind].concat();
        assert_eq!(unwrapped(unwrap, &more), (Some(wire.len()), body.to_vec()), "{known}: {more:02X?}");
    }
    for len in (0..wire.len()).filter(|len| *len < 40 || len % 64 < 2) {
        assert_eq!(unwrap(&wire[..len], &mut |_, _| ()), None, "{known}: {len} bytes of {wire:02X?}");
    }
    assert_eq!(counted(|| unwrap(wire, &mut |_, _| ())).0, wire.len() as u64, "{known}");
    let (mut out, encoded) = (vec![1, 2, 3], &wire[..wire.len() - 1]);
    assert_eq!((decode(encoded, &mut out), out.as_slice()), (Some(()), body), "{known}: {wire:02X?}");
    assert_eq!(counted(|| decode(encoded, &mut Vec::new())).0, encoded.len() as u64, "{known}");
}

#[test]
fn encodings_of_documents_come_off() {
    for (body, wire, known) in COBS.into_iter().chain(COBS_LONG_FORM) {
        is(wire, body, COBS_OFF, known);
    }
    for (body, wire, known) in SLIP {
        is(wire, body, SLIP_OFF, known);
    }
    for (wire, body, known) in SLIP_READ {
        is(&wire[1..], body, SLIP_OFF, known);
    }
    for (body, encoded, known) in STUFFED {
        is(&[encoded, b"\x7E"].concat(), body, STUFFED_OFF, known);
    }
    // RFC 1662 4.2: 7D 23 is 03; 4.3: 7D before the flag aborts the frame.
    is(b"\x7D\x23\x01\x7E", b"\x03\x01", STUFFED_OFF, "an octet that need not be escaped");
    assert_eq!(unwrapped(STUFFED_OFF.0, b"\x01\x7D\x7E"), (None, vec![1]));
    assert_eq!(stuffed::decode(b"\x01\x7D\x7E", &mut Vec::new()), None);
}

/// Bodies of each length up to beyond two words and beyond a full block, with an end byte at each place: both ways.
#[test]
fn encodings_go_on_and_come_off() {
    let encodings: [(Encode, u8, &[u8], Off); 3] = [
        (cobs::encode, cobs::END, b"\x00", COBS_OFF),
        (slip::encode, slip::END, b"\xC0\xDB", SLIP_OFF),
        (stuffed::encode, stuffed::FLAG, b"\x7E\x7D", STUFFED_OFF),
    ];
    for (encode, end, special, off) in encodings {
        for len in (0..=18_usize).chain([253, 254, 255, 508, 509]) {
            for place in (0..len).filter(|place| len <= 18 || place % 253 == 0) {
                for byte in special.iter().chain(b"\x01\x80\xFF") {
                    let mut body = vec![0x11; len];
                    body[place] = *byte;
                    let mut wire = Vec::new();
                    encode(&body, &mut wire);
                    assert!(!wire.contains(&end));
                    wire.push(end);
                    is(&wire, &body, off, "made here");
                }
            }
        }
    }
}

/// Derived from what a code byte means; what was decoded up to there stays.
#[test]
fn what_is_no_encoding_is_refused() {
    for encoded in NO_COBS {
        assert_eq!(cobs::decode(encoded, &mut Vec::new()), None, "{encoded:02X?}");
        assert_eq!(unwrapped(COBS_OFF.0, &[encoded, b"\0"].concat()).0, None, "{encoded:02X?}");
        assert_eq!(unwrapped(COBS_OFF.0, &[encoded, b"\0\x11\x22\x33\x44\0"].concat()).0, None, "{encoded:02X?}");
    }
    let mut out = Vec::new();
    assert_eq!((cobs::decode(b"\x02\x11\x05\x22\x33", &mut out), out.as_slice()), (None, &b"\x11\0\x22\x33"[..]));
    for encoded in [&b"\xDB\0"[..], b"\xDB\xC0", b"\xDB\xDB", b"\xDB\x7E", b"\x01\xC0\x02"] {
        assert_eq!(slip::decode(encoded, &mut Vec::new()), None, "{encoded:02X?}");
        assert_ne!(unwrapped(SLIP_OFF.0, &[encoded, b"\xC0"].concat()).0, Some(encoded.len() + 1), "{encoded:02X?}");
    }
    assert_eq!((slip::decode(b"\x11\xDB\x22", &mut out), out.as_slice()), (None, &b"\x11"[..]));
    assert_eq!(stuffed::decode(b"\x11\x7D", &mut out), None);
    let marks = escaped::Marks { end: 0xC0, escape: 0xDB };
    assert_eq!(escaped::decode(marks, b"\xDB", &mut out, Some), None);
}

/// Against the standard library's search, on both sides of the length from which another way is taken.
#[test]
fn the_first_of_a_byte_is_found_in_any_length() {
    for len in 0..40 {
        assert_eq!(find_byte(7, &vec![6; len]), None);
        assert_eq!(counted(|| find_byte(7, &vec![6; len])).0, len as u64);
        for place in 0..len {
            let mut bytes = vec![6; len];
            bytes[place] = 7;
            bytes[len - 1] = 7;
            assert_eq!(find_byte(7, &bytes), bytes.iter().position(|byte| *byte == 7), "{place} of {len}");
            assert_eq!(counted(|| find_byte(7, &bytes)).0, place as u64 + 1, "{place} of {len}");
        }
    }
}
