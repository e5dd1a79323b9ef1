//! Checks and encodings against values from outside: the `crc` crate's own catalogue and arithmetic, documents, and
//! recordings. Each row says how it is known. "recalled" is from memory and stays so marked; "read" was read in the
//! source named; "derived" follows from the rule of the source named.
// long because: the table of published parameters and check values stands here, one row each.
#![allow(clippy::unwrap_used, clippy::unreadable_literal)]

#[path = "checks/catalogue.rs"]
mod catalogue;
#[path = "checks/encodings.rs"]
mod encodings;

use catalogue::{ROWS, Row};
use crc::Algorithm;
use encodings::{COBS, COBS_LONG_FORM, NO_COBS, SLIP, SLIP_READ, STUFFED};
use proptest::prelude::*;
use wheeltap_parsers::Check;
use wheeltap_parsers::check::{Crc, Sum, Written};
use wheeltap_parsers::framing::{cobs, slip, stuffed};

fn check(sum: Sum, written: Written) -> Check {
    Check { sum, written, skip: 0, leave_out: 0, mark: Vec::new() }
}

fn crc_of(row: &Row) -> Check {
    let (width, poly, start, reflect_in, reflect_out, final_xor) = row.parameters;
    check(Sum::Crc(Crc::new(width, poly, start, reflect_in, reflect_out, final_xor).unwrap()), Written::BigEndian)
}

#[test]
fn each_catalogued_check_has_its_value() {
    for row in &ROWS {
        let crc = crc_of(row);
        for (bytes, expected) in [b"123456789".as_slice(), &[0], &[]].into_iter().zip(row.values) {
            assert_eq!(crc.value(bytes), expected, "{} ({}) of {bytes:?}", row.name, row.known);
            assert_eq!((row.catalogue)(bytes), expected, "{} in the crate of {bytes:?}", row.name);
        }
    }
}

/// RFC 1662 appendix C: over the bytes and their check (low byte first) the register ends at F0B8 or DEBB20E3. The
/// constants were read in public code that quotes it.
#[test]
fn the_good_final_registers() {
    let sixteen = Crc::new(16, 0x1021, 0xFFFF, true, true, 0).unwrap();
    assert_eq!(check(Sum::Crc(sixteen), Written::LittleEndian).value(b"123456789\x6E\x90"), 0xF0B8);
    let thirty_two = Crc::new(32, 0x04C1_1DB7, 0xFFFF_FFFF, true, true, 0).unwrap();
    assert_eq!(check(Sum::Crc(thirty_two), Written::LittleEndian).value(b"123456789\x26\x39\xF4\xCB"), 0xDEBB_20E3);
}

/// "02 07" and "01 04 02 FF FF": recalled. "01 03 00 6B 00 03": read in the documentation of a public crate.
#[test]
fn check_bytes_as_they_stand_on_a_wire() {
    let crc = Crc::new(16, 0x8005, 0xFFFF, true, true, 0).unwrap();
    let check = check(Sum::Crc(crc), Written::LittleEndian);
    let rows: [(&[u8], [u8; 2]); 3] = [
        (b"\x02\x07", [0x41, 0x12]),
        (b"\x01\x04\x02\xFF\xFF", [0xB8, 0x80]),
        (b"\x01\x03\x00\x6B\x00\x03", [0x74, 0x17]),
    ];
    for (bytes, expected) in rows {
        let mut out = Vec::new();
        check.write(check.value(bytes), &mut out);
        assert_eq!(out, expected, "{bytes:02X?}");
        assert_eq!(check.read(&expected), Some(check.value(bytes)));
    }
}

/// Sentences between `$` and `*` with their exclusive-or, from logs a research institute has published (NOAA PSL
/// PISTON 2019, ATOMIC 2020; read) and public pages (read; the second recalled).
#[test]
fn exclusive_or_of_recorded_sentences() {
    let rows = [
        "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
        "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
        "$GPHDT,228.02,T*0F",
        "$GPGGA,195959.00,1813.38282955,N,12606.12767097,E,2,07,1.4,17.2,M,36.5,M,4.0,0129*78",
        "$GPVTG,262.13,T,265.08,M,1.31,N,2.43,K,D*2D",
        "$GPZDA,195959.00,16,09,2019,00,00*6A",
        "$GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D*21",
        "$GPHDT,74.20,T*34",
        "$GPGST,195959.00,0.30,0.36,0.26,283.74,0.26,0.36,0.68*68",
        "$PGRMM,WGS 84*06",
    ];
    let check = check(Sum::Xor8, Written::HexDigits);
    for row in rows {
        let (span, digits) = row.strip_prefix('$').and_then(|row| row.split_once('*')).unwrap();
        assert_eq!(check.read(digits.as_bytes()), Some(check.value(span.as_bytes())), "{row}");
    }
}

/// Two's-complement sums: records of the Intel HEX format (first two recalled, the others read in manuals and
/// archives), and examples of public code (F7...: recalled).
#[test]
fn twos_complement_sums_of_published_records() {
    let rows = [
        "0300300002337A1E",
        "10010000214601360121470136007EFE09D2190140",
        "00000001FF",
        "10246200464C5549442050524F46494C4500464C33",
        "04FEDC00210080CFB2",
        "100079000218EC2026D4C29630B2FDD29632171D52",
        "10E0000002E003E4F588758910F58DF58BD28E302A",
        "010300000001FB",
        "F7031389000A60",
    ];
    let check = check(Sum::Lrc8, Written::HexDigits);
    for row in rows {
        let bytes: Vec<u8> =
            (0..row.len()).step_by(2).map(|at| u8::from_str_radix(&row[at..at + 2], 16).unwrap()).collect();
        let (sum, span) = bytes.split_last().unwrap();
        assert_eq!(check.value(span), u32::from(*sum), "{row}");
    }
}

/// Derived: 1DD is the plain sum of the nine digits' codes.
#[test]
fn plain_sums() {
    let of = |sum| check(sum, Written::BigEndian).value(b"123456789");
    assert_eq!([of(Sum::Sum8), of(Sum::Lrc8), of(Sum::Xor8), of(Sum::None)], [0xDD, 0x23, 0x31, 0]);
}

fn encoded(encode: fn(&[u8], &mut Vec<u8>), body: &[u8], end: u8) -> Vec<u8> {
    let mut out = Vec::new();
    encode(body, &mut out);
    out.push(end);
    out
}

#[test]
fn consistent_overhead_both_ways() {
    for (body, wire, known) in COBS {
        assert_eq!(encoded(cobs::encode, body, 0), wire, "{known}");
        let mut out = Vec::new();
        assert_eq!(cobs::decode(&wire[..wire.len() - 1], &mut out), Some(()), "{known}");
        assert_eq!(out, body, "{known}");
    }
    for (body, wire, known) in COBS_LONG_FORM {
        let mut out = Vec::new();
        assert_eq!(cobs::decode(&wire[..wire.len() - 1], &mut out), Some(()), "{known}");
        assert_eq!(out, body, "{known}");
    }
}

/// Derived from what a code byte means: it points behind the end, or a zero stands inside.
#[test]
fn what_is_no_consistent_overhead() {
    for wire in NO_COBS {
        assert_eq!(cobs::decode(wire, &mut Vec::new()), None, "{wire:02X?}");
    }
}

#[test]
fn line_escapes_both_ways() {
    for (body, wire, known) in SLIP {
        assert_eq!(encoded(slip::encode, body, 0xC0), wire, "{known}");
        let mut out = Vec::new();
        assert_eq!(slip::decode(&wire[..wire.len() - 1], &mut out), Some(()), "{known}");
        assert_eq!(out, body, "{known}");
    }
    for (wire, body, known) in SLIP_READ {
        let mut out = Vec::new();
        assert_eq!(slip::decode(&wire[1..wire.len() - 1], &mut out), Some(()), "{known}");
        assert_eq!(out, body, "{known}");
    }
    assert_eq!(slip::decode(b"\xDB\x00", &mut Vec::new()), None);
    assert_eq!(slip::decode(b"\xDB", &mut Vec::new()), None);
}

/// The third row and the abort: RFC 1662 4.2 and 4.3, recalled; the whole frame: derived.
#[test]
fn octet_stuffing_both_ways() {
    let mut out = Vec::new();
    for (body, wire, known) in STUFFED {
        assert_eq!(stuffed::decode(wire, &mut out), Some(()), "{known}");
        assert_eq!(out, body, "{known}");
        out.clear();
        stuffed::encode(body, &mut out);
        assert_eq!(out, wire, "{known}");
    }
    assert_eq!(stuffed::decode(b"\x7D\x23", &mut out), Some(()));
    assert_eq!(out, b"\x03");
    assert_eq!(stuffed::decode(b"\x01\x02\x7D", &mut out), None);
    let crc = Crc::new(16, 0x1021, 0xFFFF, true, true, 0xFFFF).unwrap();
    let check = check(Sum::Crc(crc), Written::LittleEndian);
    let mut frame = b"123456789".to_vec();
    check.write(check.value(b"123456789"), &mut frame);
    out.clear();
    stuffed::encode(&frame, &mut out);
    assert_eq!(out, b"123456789\x6E\x90");
}

proptest! {
    /// Any parameters over any bytes, against the arithmetic of the `crc` crate.
    #[test]
    fn any_check_agrees_with_the_crate(
        (width, poly, start, last) in (3..=32_u8, any::<u32>(), any::<u32>(), any::<u32>()),
        (refin, refout) in any::<(bool, bool)>(),
        bytes in proptest::collection::vec(any::<u8>(), 0..80),
    ) {
        let most = u32::MAX >> (32 - width);
        let (poly, init, xorout) = (poly & most, start & most, last & most);
        let algorithm = Algorithm { width, poly, init, refin, refout, xorout, check: 0, residue: 0 };
        let other = crc::Crc::<u32>::new(Box::leak(Box::new(algorithm))).checksum(&bytes);
        let own = Crc::new(width, poly, init, refin, refout, xorout).unwrap();
        prop_assert_eq!(check(Sum::Crc(own), Written::BigEndian).value(&bytes), other);
    }

    #[test]
    fn encodings_come_back_and_hold_no_end(body in proptest::collection::vec(prop_oneof![Just(0_u8), Just(0xC0), Just(0xDB), Just(0x7E), Just(0x7D), any::<u8>()], 0..600)) {
        let mut wire = Vec::new();
        let mut back = Vec::new();
        cobs::encode(&body, &mut wire);
        prop_assert!(!wire.contains(&0));
        prop_assert!(wire.len() <= body.len() + body.len() / 254 + 1);
        prop_assert_eq!(cobs::decode(&wire, &mut back), Some(()));
        prop_assert_eq!(&back, &body);
        wire.clear();
        slip::encode(&body, &mut wire);
        prop_assert!(!wire.contains(&0xC0));
        prop_assert_eq!(slip::decode(&wire, &mut back), Some(()));
        prop_assert_eq!(&back, &body);
        wire.clear();
        stuffed::encode(&body, &mut wire);
        prop_assert!(!wire.contains(&0x7E));
        prop_assert_eq!(stuffed::decode(&wire, &mut back), Some(()));
        prop_assert_eq!(&back, &body);
    }
}
