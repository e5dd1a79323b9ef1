//! The short way against the long way, on kinds and bodies drawn at random.

use proptest::prelude::*;

use super::*;
use crate::check::{Check, Crc, Sum, Written};
use crate::fields::{Read, Sign};
use crate::layout::{Layout, field_size};
use crate::profile::Part;

fn read() -> impl Strategy<Value = Read> {
    let sign = prop_oneof![Just(Sign::Never), Just(Sign::Must), Just(Sign::May)];
    let letters = prop_oneof![Just(Letters::Upper), Just(Letters::Lower), Just(Letters::Either)];
    prop_oneof![
        (1..10_u8, sign).prop_map(|(digits, sign)| Read::Decimal { digits: Some(digits), sign }),
        (1..10_u8, letters).prop_map(|(digits, letters)| Read::Hex { digits: Some(digits), letters }),
        Just(Read::Word),
        (1..5_u8, any::<bool>(), any::<bool>()).prop_map(|(bytes, signed, big_endian)| Read::Binary {
            bytes,
            signed,
            big_endian
        }),
        any::<bool>().prop_map(|big_endian| Read::Float { big_endian }),
    ]
}

fn field() -> impl Strategy<Value = Field> {
    let range = proptest::option::of((-40..0_i64, 0..40_i64));
    let words = prop_oneof![Just(vec!["go", "no"]), Just(vec!["ahead", "astern"]), Just(vec![])];
    (read(), range, words).prop_map(|(read, range, words)| Field {
        name: String::new(),
        read,
        range,
        words: words.into_iter().map(str::to_owned).collect(),
        offset: 0,
        multiply: 1,
        divide: 1,
    })
}

fn kind() -> impl Strategy<Value = Kind> {
    let literal = proptest::collection::vec(prop_oneof![Just(b'+'), Just(b'1'), any::<u8>()], 0..11);
    let piece = (literal, field());
    let sum = prop_oneof![
        Just(Sum::None),
        Just(Sum::Xor8),
        Just(Sum::Lrc8),
        Just(Sum::Crc(Crc::new(12, 0x80F, 5, false, false, 1).unwrap())),
        Just(Sum::Crc(Crc::new(32, 0x04C1_1DB7, 7, true, true, 2).unwrap())),
    ];
    let written = prop_oneof![
        Just(Written::BigEndian),
        Just(Written::LittleEndian),
        Just(Written::HexDigits),
        Just(Written::UpperHexDigits),
        Just(Written::LowerHexDigits),
        Just(Written::Nibbles),
    ];
    let mark = prop_oneof![Just(Vec::new()), Just(b"at".to_vec())];
    let check = (sum, written, 0..3_usize, 0..3_usize, mark).prop_map(|(sum, written, skip, leave_out, mark)| Check {
        sum,
        written,
        skip,
        leave_out,
        mark,
    });
    (proptest::collection::vec(piece, 1..5), check, any::<bool>()).prop_map(|(pieces, check, bits)| {
        let (mut parts, mut fields) = (Vec::new(), Vec::new());
        for (literal, field) in pieces {
            if !literal.is_empty() {
                parts.push(Part::Literal(literal));
            }
            parts.push(Part::Field(fields.len()));
            fields.push(field);
        }
        if bits {
            let read = Read::Bits { of: 0, low: 1, count: 3 };
            fields.push(Field { read, words: Vec::new(), range: Some((0, 5)), ..fields[0].clone() });
        }
        if !check.is_none() {
            parts.push(Part::Check);
        }
        Kind { name: String::new(), parts, fields, check }
    })
}

/// Bytes that often have the shape of `kind`.
fn body(kind: &Kind, mut draw: u64) -> Vec<u8> {
    let mut next = || {
        draw = draw.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (draw >> 33) as usize
    };
    let mut all = Vec::new();
    for part in &kind.parts {
        match part {
            Part::Literal(bytes) => all.extend_from_slice(bytes),
            Part::Field(index) => {
                let field = &kind.fields[*index];
                let (len, _) = field_size(field);
                match field.read {
                    Read::Word => all.extend(field.words.first().map_or("word", String::as_str).bytes()),
                    Read::Decimal { .. } | Read::Hex { .. } => {
                        all.extend((0..len).map(|_| b"+-0000112379aF"[next() % 14]));
                    }
                    _ => all.extend((0..len).map(|_| [0, 1, 2, 0xFF, 0x7F, 0xC0][next() % 6])),
                }
            }
            Part::Check => {
                let span = all.len().checked_sub(kind.check.leave_out).and_then(|end| all.get(kind.check.skip..end));
                let value = span.map_or(0, |span| kind.check.value(span));
                kind.check.write(value, &mut all);
            }
            Part::Keyed(_) => {}
        }
    }
    if next() % 4 == 0 && !all.is_empty() {
        let at = next() % all.len();
        all[at] ^= [1 << (next() % 8), 0x20][next() % 2];
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, ..ProptestConfig::default() })]

    #[test]
    fn the_short_way_says_what_the_long_way_says(kind in kind(), draw in any::<u64>()) {
        let layout = Layout::new(&kind);
        let body = body(&kind, draw);
        let (mut slots, mut values) = (Vec::new(), Vec::new());
        let long = layout.read(&kind, &body, &mut slots).is_ok();
        if let Some(rigid) = &layout.rigid {
            prop_assert_eq!(rigid.read(&body, None, &mut values), long, "{:?} {}", kind, body.escape_ascii());
            if long {
                let same = slots.iter().map(|slot| slot.value(&body)).eq(values.iter().copied());
                prop_assert!(same, "{:?} {:?}", slots, values);
            }
        }
    }
}

#[test]
fn a_kind_of_one_width_is_rigid_and_others_are_not() {
    let number =
        |read| Field { name: String::new(), read, range: None, words: Vec::new(), offset: 0, multiply: 1, divide: 1 };
    let of = |read| {
        let parts = vec![Part::Literal(b"pace of ".to_vec()), Part::Field(0)];
        Rigid::new(&Kind { name: String::new(), parts, fields: vec![number(read)], check: Check::none() }).is_some()
    };
    assert!(of(Read::Decimal { digits: Some(3), sign: Sign::Must }) && of(Read::Float { big_endian: true }));
    assert!(!of(Read::Decimal { digits: None, sign: Sign::Never }));
    assert!(!of(Read::Decimal { digits: Some(3), sign: Sign::May }) && !of(Read::Word));
}
