//! Checks and their bytes on the wire against published values and the standard library.

#[path = "../../tests/checks/catalogue.rs"]
#[allow(clippy::unreadable_literal)]
mod catalogue;

use super::*;
use catalogue::ROWS;

const ALL_WRITTEN: [Written; 6] = [
    Written::BigEndian,
    Written::LittleEndian,
    Written::HexDigits,
    Written::UpperHexDigits,
    Written::LowerHexDigits,
    Written::Nibbles,
];

#[test]
fn every_way_of_writing_reads_back() {
    let crc = Crc::new(12, 0x80F, 0, false, false, 0).unwrap();
    for written in ALL_WRITTEN {
        let check = Check { sum: Sum::Crc(crc.clone()), written, skip: 0, leave_out: 0, mark: Vec::new() };
        let mut out = Vec::new();
        check.write(0xABC, &mut out);
        assert_eq!((out.len(), check.read(&out)), (check.len(), Some(0xABC)), "{written:?}");
        assert_eq!(check.read(&out[1..]), None);
        assert!(!check.is_empty() && Check::none().is_empty());
    }
}

fn of(sum: Sum, written: Written) -> Check {
    Check { sum, written, skip: 0, leave_out: 0, mark: Vec::new() }
}

/// By hand: the digits are 31 to 39 (hex), which add up to 1DD; exclusive-or takes away all pairs that differ in the
/// last bit alone, 32 and 33 to 38 and 39, and leaves 31.
#[test]
fn sums_follow_their_rule_at_once_and_by_the_word() {
    for (sum, expected) in [(Sum::Xor8, 0x31), (Sum::Sum8, 0xDD), (Sum::Lrc8, 0x23), (Sum::None, 0)] {
        let check = of(sum, Written::BigEndian);
        let step = |register, word, len| check.step(register, word, len);
        let ended = check.ended(word::fold(b"123456789", check.begun(), step));
        assert_eq!((check.value(b"123456789"), ended), (expected, expected), "{:?}", check.sum);
    }
}

#[test]
fn digits_of_either_case_hold_and_no_others() {
    let crc = Crc::new(16, 0x1021, 0, false, false, 0).unwrap();
    let rows: [(&[u8], [bool; 3]); 6] = [
        (b"0A1B", [true, false, true]),
        (b"0A1B.\n\xFF\xFF", [true, false, true]),
        (b"0a1b.", [false, true, true]),
        (b"0A1b.", [false, false, true]),
        (b"0A1C.", [false; 3]),
        (b"1A1B.", [false; 3]),
    ];
    for (text, expected) in rows {
        let holds = |written| {
            let (bytes, mask) = of(Sum::Crc(crc.clone()), written).stamp().of(0x0A1B);
            (word::first(text).0 ^ bytes) & mask == 0
        };
        let all = [Written::UpperHexDigits, Written::LowerHexDigits, Written::HexDigits].map(holds);
        assert_eq!(all, expected, "{}", text.escape_ascii());
    }
}

#[test]
fn a_nibble_is_at_most_fifteen() {
    let check = of(Sum::Sum8, Written::Nibbles);
    assert_eq!([[1, 15], [16, 0], [0, 16]].map(|nibbles| check.read(&nibbles)), [Some(0x1F), None, None]);
}

/// Against the catalogue of the `crc` crate.
#[test]
fn a_register_may_be_mirrored_at_the_end_alone() {
    let sum = Sum::Crc(Crc::new(12, 0x80F, 0, false, true, 0).unwrap());
    let expected = crc::Crc::<u16>::new(&crc::CRC_12_UMTS).checksum(b"123456789");
    assert_eq!(of(sum, Written::BigEndian).value(b"123456789"), u32::from(expected));
}

#[test]
fn checks_are_equal_where_their_parameters_are() {
    let crc = |start| Crc::new(16, 0x1021, start, true, false, 0xFF).unwrap();
    assert!(crc(0xFFFF) == crc(0xFFFF) && crc(0xFFFF) != crc(0));
    assert_eq!(format!("{:?}", crc(0xFFFF)), "Crc(16 bits, 1021, FFFF, true, false, FF)");
}

#[test]
fn parameters_too_wide_are_named() {
    assert!(Crc::new(8, 0x107, 0, false, false, 0).unwrap_err().contains("polynomial 0x107"));
    assert!(Crc::new(0, 0, 0, false, false, 0).unwrap_err().contains("1 to 32"));
    assert!(Crc::new(33, 0, 0, false, false, 0).is_err());
}

/// Parameters and value of the published catalogue: at once, by words of each length, and with the first bytes as the mark.
#[test]
fn each_catalogued_check_has_its_value_in_any_pieces() {
    let digits = b"123456789";
    for row in &ROWS {
        assert_eq!((row.catalogue)(digits), row.values[0], "{} in the crate", row.name);
        let (width, poly, start, reflect_in, reflect_out, final_xor) = row.parameters;
        let mut check =
            of(Sum::Crc(Crc::new(width, poly, start, reflect_in, reflect_out, final_xor).unwrap()), Written::BigEndian);
        for mark in 0..=9 {
            check.mark = digits[..mark].to_vec();
            let span = &digits[mark..];
            assert_eq!(check.value(span), row.values[0], "{} ({}), {mark} of them its mark", row.name, row.known);
            for piece in 1..=8 {
                let words = span.chunks(piece).map(word::first);
                let register = words.fold(check.begun(), |register, (word, len)| check.step(register, word, len));
                assert_eq!(check.ended(register), row.values[0], "{}, {mark} of them its mark, by {piece}", row.name);
            }
        }
    }
}

/// Against a loop over the bytes: 0xFF is the most a byte can add, 40 of them more than eight bits hold.
#[test]
fn sums_hold_for_any_bytes_and_cover_the_mark() {
    let rising: Vec<u8> = (0..=255).map(|byte: u8| byte.wrapping_mul(151)).collect();
    for bytes in [vec![0xFF; 40], rising] {
        for len in 0..bytes.len() {
            for mark in [0, 1.min(len), 9.min(len)] {
                let (ahead, span) = bytes[..len].split_at(mark);
                let sum = bytes[..len].iter().fold(0_u8, |all, byte| all.wrapping_add(*byte));
                let xor = bytes[..len].iter().fold(0_u8, |all, byte| all ^ byte);
                for (how, expected) in [(Sum::Xor8, xor), (Sum::Sum8, sum), (Sum::Lrc8, 0_u8.wrapping_sub(sum))] {
                    let check = Check { mark: ahead.to_vec(), ..of(how, Written::BigEndian) };
                    let step = |all, word, len| check.step(all, word, len);
                    let ended = check.ended(word::fold(span, check.begun(), step));
                    assert_eq!(
                        (check.value(span), ended),
                        (expected.into(), expected.into()),
                        "{len}, {mark} its mark"
                    );
                }
            }
        }
    }
}

#[test]
fn a_check_counts_the_bytes_it_covers() {
    let covered = |sum| {
        let check = Check { mark: vec![1, 2, 3], ..of(sum, Written::BigEndian) };
        examined::counted(|| check.value(&[4, 5])).1
    };
    assert_eq!([covered(Sum::Xor8), covered(Sum::None)], [5, 0]);
    assert!(Check::none().is_none() && !of(Sum::Xor8, Written::BigEndian).is_none());
}

/// The forms as [`Written`] states them; hex digits as the standard library prints them.
#[test]
fn each_way_of_writing_has_its_bytes() {
    for width in 1..=32 {
        let most = u32::MAX >> (32 - width);
        let sum = Sum::Crc(Crc::new(width, 1, 0, false, false, 0).unwrap());
        assert_eq!(sum.width(), width);
        for value in [0, 1, 0x0123_4567, 0x89AB_CDEF, 0xFEDC_BA98, 0x7654_3210, u32::MAX].map(|value| value & most) {
            let whole = value.to_be_bytes()[4 - usize::from(width).div_ceil(8)..].to_vec();
            let digits = 2 * whole.len();
            let upper = format!("{value:0digits$X}");
            let nibbles = upper.chars().map(|digit| digit.to_digit(16).unwrap() as u8);
            let nibbles: Vec<u8> = nibbles.skip(digits - usize::from(width).div_ceil(4)).collect();
            let rows = [
                (Written::BigEndian, whole.clone()),
                (Written::LittleEndian, whole.iter().rev().copied().collect()),
                (Written::HexDigits, upper.clone().into_bytes()),
                (Written::UpperHexDigits, upper.clone().into_bytes()),
                (Written::LowerHexDigits, upper.to_lowercase().into_bytes()),
                (Written::Nibbles, nibbles),
            ];
            for (written, expected) in rows {
                let check = of(sum.clone(), written);
                let mut out = Vec::new();
                check.write(value, &mut out);
                assert_eq!(out, expected, "{value:X} of {width} bits, {written:?}");
                assert_eq!((check.len(), check.read(&expected)), (expected.len(), Some(value)), "{expected:02X?}");
                let (bytes, mask) = check.stamp().of(value);
                assert_eq!((bytes ^ word::first(&expected).0) & mask, 0, "{value:X} of {width} bits, {written:?}");
                let free = if written == Written::HexDigits { each(0x20) } else { 0 };
                assert_eq!((mask | free) & word::low(out.len()), word::low(out.len()), "{written:?}");
                assert_eq!(mask & !word::low(out.len()), 0, "{written:?}");
            }
        }
    }
}

#[test]
fn a_parameter_may_have_as_many_bits_as_the_width() {
    for width in 1..=32 {
        let most = u32::MAX >> (32 - width);
        assert!(Crc::new(width, most, most, false, false, most).is_ok());
        if let Some(more) = most.checked_add(1) {
            let wide = |poly, start, last| Crc::new(width, poly, start, false, false, last).unwrap_err();
            assert!(wide(more, 0, 0).starts_with("polynomial 0x"));
            assert!(wide(0, more, 0).starts_with("start 0x"));
            assert!(wide(0, 0, more).ends_with(&format!("at most 0x{most:X} is allowed")));
        }
    }
}
