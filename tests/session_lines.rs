//! Every kind of session line comes back byte for byte, and its check is the published CRC-32C.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeSet;

use proptest::prelude::*;
use wheeltap::session::line::{Fault, Line, parse};
use wheeltap_parsers::Wire;

// The check is CRC-32C: RFC 3720, appendix B.4. The `crc` crate names it CRC-32/ISCSI; it shares no code with the
// one the program uses.
const CRC_32C: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);

fn golden() -> Vec<Vec<u8>> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/session-lines.txt");
    let text = std::fs::read(path).unwrap();
    let body = text.strip_suffix(b"\n").unwrap();
    body.split(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect()
}

fn written(line: &Line<'_>) -> Vec<u8> {
    let mut out = Vec::new();
    line.write(&mut out);
    out
}

// RFC 3720, appendix B.4: 32 bytes of zeroes give aa 36 91 8a on the wire, least significant byte first.
#[test]
fn the_witness_is_the_published_check() {
    assert_eq!(CRC_32C.checksum(&[0; 32]), u32::from_le_bytes([0xaa, 0x36, 0x91, 0x8a]));
}

#[test]
fn golden_lines_come_back_byte_for_byte() {
    let lines = golden();
    assert!(lines.len() >= 20, "{} golden lines", lines.len());
    for text in &lines {
        let line = parse(text).unwrap_or_else(|fault| panic!("{}: {fault}", String::from_utf8_lossy(text)));
        let mut again = text.clone();
        again.push(b'\n');
        assert_eq!(written(&line), again, "{}", String::from_utf8_lossy(text));
    }
}

#[test]
fn golden_checks_are_crc_32c() {
    for text in golden() {
        let (body, check) = text.split_at(text.len() - 9);
        let expected = format!(" {:08X}", CRC_32C.checksum(body));
        assert_eq!(String::from_utf8_lossy(check), expected, "{}", String::from_utf8_lossy(body));
    }
}

#[test]
fn golden_lines_show_every_kind() {
    let lines = golden();
    let words: BTreeSet<&[u8]> = lines.iter().map(|line| line.split(|&byte| byte == b' ').next().unwrap()).collect();
    let words: Vec<&str> = words.into_iter().map(|word| std::str::from_utf8(word).unwrap()).collect();
    let kinds = [
        "<",
        ">",
        "about",
        "back",
        "end",
        "file",
        "gone",
        "link",
        "lost",
        "note",
        "part",
        "rover",
        "session",
        "taught",
        "taught-end",
        "taught-line",
        "tick",
        "wall",
    ];
    assert_eq!(words, kinds);
}

#[test]
fn golden_meanings() {
    let lines = golden();
    let all: Vec<Line<'_>> = lines.iter().map(|line| parse(line).unwrap()).collect();
    let read = |offset, bytes: &'static [u8]| Line::Read {
        wire: Wire::ToDrive,
        t_us: 2_000_000,
        since_us: 4_012,
        offset,
        bytes: bytes.into(),
    };
    for bytes in [&b""[..], b"\0\xFF", b"\\", b"way=port; pace=71;\n"] {
        assert!((0..100).any(|offset| all.contains(&read(offset, bytes))), "no golden read of {bytes:?}");
    }
    assert!(all.contains(&Line::Note { t_us: 61_500_000, text: "Rad h\u{e4}ngt \u{2014} RL".into() }));
    assert!(all.contains(&Line::File { text: "".into() }));
    assert!(all.contains(&Line::Tick { t_us: i64::MAX / 4_000 }));
}

/// A whole line around `body`, with a right check.
fn sealed(body: &[u8]) -> Vec<u8> {
    [body, format!(" {:08X}", CRC_32C.checksum(body)).as_bytes()].concat()
}

#[test]
fn a_right_check_does_not_excuse_a_wrong_field() {
    let cases: [(&[u8], Fault); 10] = [
        (b"> 5 1 0", Fault::Field("bytes")),
        (b"> x 1 0 a", Fault::Field("time")),
        (b"> 05 1 0 a", Fault::Field("time")),
        (b"> 5 -1 0 a", Fault::Field("time since nothing was waiting")),
        (b"> 5 1 99999999999999999999 a", Fault::Field("offset")),
        (b"> 5 1 0 a\\4", Fault::Field("bytes")),
        (b"tick 9223372036854775807", Fault::Field("time")),
        (b"tick 5 6", Fault::TooMany),
        (b"gone 5 v unplugged", Fault::Field("wire")),
        (b"note 5 \\FF", Fault::Field("text")),
    ];
    for (body, fault) in cases {
        assert_eq!(parse(&sealed(body)), Err(fault), "{}", String::from_utf8_lossy(body));
    }
}

#[test]
fn an_unknown_word_is_not_a_fault() {
    assert_eq!(parse(&sealed(b"volts 5 7412 x")), Ok(Line::Unknown { word: "volts".into() }));
}

#[test]
fn lower_case_digits_and_short_lines_are_no_check() {
    let good = sealed(b"tick 5");
    for text in [&b""[..], b" ", b"12345678", b" 1234567", &good.to_ascii_lowercase(), good.get(1..8).unwrap()] {
        assert_eq!(parse(text), Err(Fault::NoCheck), "{}", String::from_utf8_lossy(text));
    }
}

proptest! {
    #[test]
    fn any_read_comes_back(back: bool, t_us in 0..=i64::MAX / 4_000, since_us in 0..1_000_000_000i64, offset in 0..=1u64 << 48,
        bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let wire = if back { Wire::FromDrive } else { Wire::ToDrive };
        let line = Line::Read { wire, t_us, since_us, offset, bytes: bytes.into() };
        let text = written(&line);
        let (last, body) = text.split_last().unwrap();
        prop_assert_eq!(*last, b'\n');
        prop_assert!(body.iter().all(|byte| (0x20..=0x7E).contains(byte)));
        prop_assert_eq!(parse(body), Ok(line));
    }

    #[test]
    fn any_text_comes_back(settings: String, port: String, text: String) {
        let link = Line::Link { wire: Wire::ToDrive, rate: None, settings: settings.into(), latency_us: 1, port: port.into() };
        let note = Line::Note { t_us: 0, text: text.into() };
        for line in [link, note] {
            let out = written(&line);
            prop_assert_eq!(parse(&out[..out.len() - 1]), Ok(line));
        }
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..100)) {
        let _ = parse(&bytes);
        let _ = parse(&sealed(&bytes));
    }
}
