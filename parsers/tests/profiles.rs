//! Any profile at all, sound or not: decoding does not panic, does not hang and tiles the wire in any cutting.
#![allow(clippy::unwrap_used)]

#[path = "links/wagon.rs"]
mod wagon;

use std::sync::Arc;

use proptest::prelude::*;
use wagon::{Kept, keep};
use wheeltap_parsers::check::{Crc, Sum, Written};
use wheeltap_parsers::{Check, Chunk, Decoder, Field, Framing, Kind, Letters, Part, Profile, Read, Record, Sign, Wire};

fn bytes(most: usize) -> impl Strategy<Value = Vec<u8>> {
    let few =
        prop_oneof![Just(b'c'), Just(b','), Just(b'1'), Just(b'\n'), Just(0), Just(0xC0), Just(0x7E), any::<u8>()];
    proptest::collection::vec(few, 0..most)
}

fn framing() -> impl Strategy<Value = Framing> {
    prop_oneof![
        (bytes(3), bytes(3)).prop_map(|(start, end)| Framing::Lines { start, end }),
        Just(Framing::Lines { start: Vec::new(), end: b"\n".to_vec() }),
        any::<u8>().prop_map(|first| Framing::Markers { first }),
        Just(Framing::Cobs),
        Just(Framing::Slip),
        Just(Framing::Stuffed),
        (bytes(3), 0..12_usize).prop_map(|(sync, len)| Framing::Fixed { sync, len }),
        (bytes(3), 0..12_usize).prop_map(|(sync, beyond)| Framing::SyncLength { sync, beyond }),
    ]
}

fn read() -> impl Strategy<Value = Read> {
    let sign = prop_oneof![Just(Sign::Never), Just(Sign::May), Just(Sign::Must)];
    let digits = || proptest::option::of(0..20_u8);
    let letters = prop_oneof![Just(Letters::Upper), Just(Letters::Lower), Just(Letters::Either)];
    prop_oneof![
        (digits(), sign).prop_map(|(digits, sign)| Read::Decimal { digits, sign }),
        (digits(), letters).prop_map(|(digits, letters)| Read::Hex { digits, letters }),
        Just(Read::Word),
        (0..6_u8, any::<bool>(), any::<bool>()).prop_map(|(bytes, signed, big_endian)| Read::Binary {
            bytes,
            signed,
            big_endian
        }),
        any::<bool>().prop_map(|big_endian| Read::Float { big_endian }),
        (0..4_usize, any::<u8>(), any::<u8>()).prop_map(|(of, low, count)| Read::Bits { of, low, count }),
    ]
}

fn field() -> impl Strategy<Value = Field> {
    let range = proptest::option::of((any::<i64>(), any::<i64>()));
    let words = proptest::collection::vec("[a-c,1]{0,3}", 0..3);
    (read(), range, words).prop_map(|(read, range, words)| Field {
        name: "field".into(),
        read,
        range,
        words,
        offset: 0,
        multiply: 1,
        divide: 1,
    })
}

fn check() -> impl Strategy<Value = Check> {
    let crc = (1..=32_u8, any::<u32>()).prop_map(|(width, poly)| {
        Sum::Crc(Crc::new(width, poly & (u32::MAX >> (32 - width)), 0, poly & 1 == 0, poly & 2 == 0, 0).unwrap())
    });
    let sum = prop_oneof![3 => Just(Sum::None), 1 => Just(Sum::Xor8), 1 => Just(Sum::Lrc8), 1 => crc];
    let written = prop_oneof![
        Just(Written::BigEndian),
        Just(Written::LittleEndian),
        Just(Written::HexDigits),
        Just(Written::UpperHexDigits),
        Just(Written::LowerHexDigits),
        Just(Written::Nibbles)
    ];
    (sum, written, 0..3_usize, 0..3_usize).prop_map(|(sum, written, skip, leave_out)| Check {
        sum,
        written,
        skip,
        leave_out,
        mark: Vec::new(),
    })
}

fn kind() -> impl Strategy<Value = Kind> {
    let part = prop_oneof![3 => bytes(4).prop_map(Part::Literal), 3 => (0..4_usize).prop_map(Part::Field), 1 => Just(Part::Check)];
    let parts = proptest::collection::vec(part, 0..6);
    (parts, proptest::collection::vec(field(), 0..4), check()).prop_map(|(parts, fields, check)| Kind {
        name: "kind".into(),
        parts,
        fields,
        check,
    })
}

fn profile() -> impl Strategy<Value = Arc<Profile>> {
    let idle = prop_oneof![Just(1_000_000_i64), any::<i64>()];
    (framing(), proptest::collection::vec(kind(), 0..4), 0..40_usize, idle).prop_map(
        |(framing, kinds, longest, idle)| Arc::new(Profile { framing, kinds, longest, start_up: Vec::new(), idle }),
    )
}

fn run(profile: &Arc<Profile>, chunk: &Chunk<'_>, places: &[usize]) -> Vec<Kept> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| all.push(keep(record));
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let mut left = *chunk;
    for place in places {
        if !left.bytes.is_empty() {
            let (head, tail) = left.split_at(place % left.bytes.len());
            decoder.push(&head, &mut sink);
            left = tail;
        }
    }
    decoder.push(&left, &mut sink);
    decoder.cut(&mut sink);
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6000, ..ProptestConfig::default() })]

    #[test]
    fn any_profile_tiles_any_bytes_in_any_cutting(
        profile in profile(),
        bytes in prop_oneof![4 => bytes(200), 1 => bytes(1500)],
        places in proptest::collection::vec(0..100_usize, 0..20),
        byte_ns in prop_oneof![Just(0), Just(80_000_i64)],
    ) {
        // What a faulty profile leads to is not judged, only that it leads to something.
        let _ = profile.faults();
        let hi = bytes.len() as i64 * byte_ns;
        let chunk = Chunk { wire: Wire::ToDrive, offset: 5, bytes: &bytes, lo: 0, hi, byte_ns };
        let whole = run(&profile, &chunk, &[]);
        let mut at = 5;
        for record in &whole {
            prop_assert_eq!(record.offset, at);
            prop_assert!(record.len > 0);
            at += record.len;
        }
        prop_assert_eq!(at, 5 + bytes.len() as u64);
        prop_assert_eq!(run(&profile, &chunk, &places), whole);
    }
}
