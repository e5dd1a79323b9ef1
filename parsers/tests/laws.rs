//! Laws that hold for any bytes in any chunks, on every style of link.
#![allow(clippy::unwrap_used)]

#[path = "links/wagon.rs"]
mod wagon;

use std::sync::Arc;

use proptest::prelude::*;
use wagon::{BYTE, IDLE, Kept, all, keep};
use wheeltap_parsers::{Chunk, Decoder, Input, Interval, Profile, Read, Record, Value, What, Wire};

/// Something a wire may bring.
#[derive(Clone, Debug)]
enum Piece {
    /// An intact frame, by a number that picks kind and values.
    Frame(u64),
    /// A frame with one byte changed.
    Hit(u64, usize, u8),
    /// The beginning of a frame.
    Torn(u64, usize),
    Text(usize),
    Noise(Vec<u8>),
    /// One byte many times.
    Many(u8, usize),
}

const TEXTS: [&[u8]; 9] = [
    b"GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\n",
    b"#boot cmd rst=B\n",
    b"ets Jul 29 2019 12:21:46\r\n\r\n",
    b"rst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n",
    b"load @3F40 len 6144 ok\r\n",
    b"eye ok heap 91k net up ",
    b"\x1b[0;31mE (10293) task_wdt: Task watchdog got triggered.\x1b[0m\r\n",
    "Wert \u{b5}s \u{20ac}\n".as_bytes(),
    b"way,\n",
];

fn piece() -> impl Strategy<Value = Piece> {
    prop_oneof![
        6 => any::<u64>().prop_map(Piece::Frame),
        2 => (any::<u64>(), any::<usize>(), any::<u8>()).prop_map(|(n, at, byte)| Piece::Hit(n, at, byte)),
        2 => (any::<u64>(), any::<usize>()).prop_map(|(n, len)| Piece::Torn(n, len)),
        3 => (0..TEXTS.len()).prop_map(Piece::Text),
        2 => proptest::collection::vec(any::<u8>(), 1..12).prop_map(Piece::Noise),
        1 => (prop_oneof![Just(0), Just(b'w'), any::<u8>()], 1..1500_usize).prop_map(|(byte, n)| Piece::Many(byte, n)),
    ]
}

/// Values for kind `kind`, drawn from `draw`.
fn values(profile: &Profile, kind: usize, draw: &mut u64) -> Vec<Value<'static>> {
    let mut next = || {
        *draw = draw.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(*draw >> 33).unwrap()
    };
    let mut all: Vec<Value<'static>> = Vec::new();
    for field in &profile.kinds[kind].fields {
        let widest = match field.read {
            Read::Decimal { digits, .. } => (0, 10_i64.pow(digits.unwrap_or(6).into()) - 1),
            Read::Hex { digits, .. } => (0, 16_i64.pow(digits.unwrap_or(6).into()) - 1),
            Read::Binary { bytes, signed: false, .. } => (0, (1 << (8 * bytes)) - 1),
            Read::Binary { bytes, signed: true, .. } => (-1 << (8 * bytes - 1), (1 << (8 * bytes - 1)) - 1),
            _ => (0, 0),
        };
        let (least, most) = field.range.unwrap_or(widest);
        all.push(match field.read {
            Read::Word => Value::Word(next() as usize % field.words.len()),
            Read::Bits { of, low, count } => {
                let Value::Int(whole) = all[of] else { unreachable!("bits of no number") };
                Value::Int((whole >> low) & ((1 << count) - 1))
            }
            _ => Value::Int(least + next() % (most - least + 1)),
        });
    }
    all
}

fn frame(profile: &Profile, mut draw: u64) -> Vec<u8> {
    let kind = (draw % profile.kinds.len() as u64) as usize;
    let values = values(profile, kind, &mut draw);
    profile.encode(kind, &values).unwrap()
}

fn bytes(profile: &Profile, pieces: &[Piece]) -> Vec<u8> {
    let mut all = Vec::new();
    for piece in pieces {
        match piece {
            Piece::Frame(draw) => all.extend(frame(profile, *draw)),
            Piece::Hit(draw, at, byte) => {
                let mut hit = frame(profile, *draw);
                let at = at % hit.len();
                hit[at] = *byte;
                all.extend(hit);
            }
            Piece::Torn(draw, len) => {
                let whole = frame(profile, *draw);
                all.extend(&whole[..len % whole.len()]);
            }
            Piece::Text(which) => all.extend(TEXTS[*which]),
            Piece::Noise(noise) => all.extend(noise),
            Piece::Many(byte, count) => all.extend(vec![*byte; *count]),
        }
    }
    all
}

/// One read: how many bytes, how long after the one before it, how wide its span of time.
type Cut = (usize, i64, i64);

fn cuts() -> impl Strategy<Value = Vec<Cut>> {
    let gap = prop_oneof![4 => 0..3_000_000_i64, 1 => Just(IDLE), 1 => IDLE..4 * IDLE];
    // Below zero: the read came sooner than the byte time allows, as a wrongly stated rate would have it.
    let width = prop_oneof![4 => 0..2_000_000_i64, 1 => Just(0), 1 => -20 * IDLE..0];
    proptest::collection::vec((1..400_usize, gap, width), 1..12)
}

/// `bytes` as reads; the last takes what is left.
fn reads<'a>(bytes: &'a [u8], cuts: &[Cut], byte_ns: i64) -> Vec<Chunk<'a>> {
    let (mut all, mut at, mut now) = (Vec::new(), 0, 0);
    for (place, (len, gap, width)) in cuts.iter().enumerate() {
        let end = if place + 1 == cuts.len() { bytes.len() } else { (at + len).min(bytes.len()) };
        let (lo, part) = (now + gap, &bytes[at..end]);
        now = (lo + width + part.len() as i64 * byte_ns).max(lo);
        if !part.is_empty() {
            all.push(Chunk { wire: Wire::ToDrive, offset: at as u64, bytes: part, lo, hi: now, byte_ns });
        }
        at = end;
    }
    all
}

fn run(profile: &Arc<Profile>, inputs: &[Input<'_>]) -> Vec<Kept> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| all.push(keep(record));
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    for input in inputs {
        match input {
            Input::Chunk(chunk) => decoder.push(chunk, &mut sink),
            Input::Tick(at) => decoder.tick(*at, &mut sink),
            other => unreachable!("{other:?}"),
        }
        assert!(decoder.carried() <= profile.longest + 1024, "{} bytes carried", decoder.carried());
    }
    decoder.cut(&mut sink);
    assert_eq!(decoder.carried(), 0);
    all
}

/// Cuts every read before each place in `places`, and puts ticks in between where `ticks` says so: each as late as
/// the next byte allows.
fn finer<'a>(reads: &[Chunk<'a>], places: &[usize], ticks: bool) -> Vec<Input<'a>> {
    let mut all = Vec::new();
    let mut before = None;
    for read in reads {
        let mut left = *read;
        if ticks {
            all.push(Input::Tick(left.byte_interval(0, before).lo));
        }
        for place in places {
            let at = place % left.bytes.len();
            if at > 0 {
                let (head, tail) = left.split_at(at);
                all.push(Input::Chunk(head));
                before = Some(head.first_lo(before) + (at as i64 - 1) * head.byte_ns);
                if ticks {
                    all.push(Input::Tick(tail.byte_interval(0, before).lo));
                }
                left = tail;
            }
        }
        before = Some(left.first_lo(before) + (left.bytes.len() as i64 - 1) * left.byte_ns);
        all.push(Input::Chunk(left));
    }
    all
}

/// Every read as reads of `len` bytes.
fn of_len<'a>(len: usize, reads: &[Chunk<'a>]) -> Vec<Input<'a>> {
    let mut all = Vec::new();
    for read in reads {
        let mut left = *read;
        while left.bytes.len() > len {
            let (head, tail) = left.split_at(len);
            all.push(Input::Chunk(head));
            left = tail;
        }
        all.push(Input::Chunk(left));
    }
    all
}

/// `possible`: the reads left room for their bytes, so that time does not run backwards.
fn tiles(records: &[Kept], len: usize, possible: bool) -> Result<(), TestCaseError> {
    let mut at = 0;
    for record in records {
        prop_assert_eq!(record.offset, at, "{:?}", records);
        prop_assert!(record.len > 0);
        let onward = record.begins.hi <= record.at.hi && record.begins.lo <= record.at.lo;
        prop_assert!(onward || !possible, "{:?}", record);
        at += record.len;
    }
    prop_assert_eq!(at, len as u64);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn records_tile_and_do_not_depend_on_the_cutting(
        pieces in proptest::collection::vec(piece(), 0..14),
        cuts in cuts(),
        places in proptest::collection::vec(1..300_usize, 0..20),
        few in 2..12_usize,
        byte_ns in prop_oneof![4 => Just(BYTE), 1 => Just(0), 1 => Just(IDLE + 7)],
    ) {
        for (name, profile) in all() {
            let bytes = bytes(&profile, &pieces);
            let reads = reads(&bytes, &cuts, byte_ns);
            let whole: Vec<Input<'_>> = reads.iter().map(|read| Input::Chunk(*read)).collect();
            let expected = run(&profile, &whole);
            tiles(&expected, bytes.len(), cuts.iter().all(|(_, _, width)| *width >= 0))?;
            prop_assert_eq!(&run(&profile, &finer(&reads, &places, false)), &expected, "{}: cut", name);
            prop_assert_eq!(&run(&profile, &finer(&reads, &places, true)), &expected, "{}: cut, with ticks", name);
            prop_assert_eq!(&run(&profile, &of_len(1, &reads)), &expected, "{}: byte by byte", name);
            prop_assert_eq!(&run(&profile, &of_len(few, &reads)), &expected, "{}: by {}", name, few);
        }
    }

    #[test]
    fn any_bytes_and_times_at_all_are_told_apart(
        bytes in proptest::collection::vec(any::<u8>(), 0..3000),
        times in proptest::collection::vec((any::<i64>(), any::<i64>(), any::<i64>()), 1..6),
    ) {
        for (_, profile) in all() {
            let mut inputs = Vec::new();
            let each = bytes.len() / times.len() + 1;
            for (place, (lo, hi, byte_ns)) in times.iter().enumerate() {
                let part = bytes.get(place * each..((place + 1) * each).min(bytes.len())).unwrap_or_default();
                let offset = (place * each) as u64;
                inputs.push(Input::Tick(*lo));
                if !part.is_empty() {
                    let chunk = Chunk { wire: Wire::FromDrive, offset, bytes: part, lo: *lo, hi: *hi, byte_ns: *byte_ns };
                    inputs.push(Input::Chunk(chunk));
                }
            }
            let mut at = 0;
            for record in run(&profile, &inputs) {
                prop_assert_eq!(record.offset, at);
                at += record.len;
            }
            prop_assert_eq!(at, bytes.len() as u64);
        }
    }

    #[test]
    fn values_written_are_read_back(draw in any::<u64>()) {
        for (name, profile) in all() {
            for kind in 0..profile.kinds.len() {
                let mut draw = draw;
                let values = values(&profile, kind, &mut draw);
                let bytes = profile.encode(kind, &values).unwrap();
                let mut seen = 0;
                let mut sink = |record: &Record<'_>| {
                    let What::Frame { kind: found, values: read, glued: false, bytes: stood } = record.what else {
                        unreachable!("{name}: {record:?}");
                    };
                    assert_eq!((found, read, stood), (kind, values.as_slice(), bytes.as_slice()), "{name}");
                    seen += 1;
                };
                let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(&profile));
                let chunk = Chunk { wire: Wire::ToDrive, offset: 0, bytes: &bytes, lo: 0, hi: 0, byte_ns: 0 };
                decoder.push(&chunk, &mut sink);
                prop_assert_eq!(seen, 1, "{}: a frame is let out with its last byte", name);
            }
        }
    }

    #[test]
    fn one_byte_changed_lost_or_added_costs_one_frame_at_most(
        draws in proptest::collection::vec(any::<u64>(), 3..8),
        which in any::<usize>(), at in any::<usize>(), byte in any::<u8>(), how in 0..3,
    ) {
        for (name, profile) in all() {
            let mut frames: Vec<Vec<u8>> = draws.iter().map(|draw| frame(&profile, *draw)).collect();
            let which = which % frames.len();
            let at = at % frames[which].len();
            match how {
                0 => frames[which][at] = byte,
                1 => frames[which].insert(at, byte),
                _ => drop(frames[which].remove(at)),
            }
            let bytes = frames.concat();
            let kept = run(&profile, &[Input::Chunk(reads(&bytes, &[(0, 0, 0)], BYTE)[0])]);
            let good = kept.iter().filter(|record| record.what.starts_with("frame")).count();
            prop_assert!(good + 1 >= frames.len(), "{}: {} of {}: {:#?}", name, good, frames.len(), kept);
        }
    }
}

/// Sixteen megabytes of zeros are one record, and nothing is kept of it but its beginning.
#[test]
fn a_wire_stuck_low_is_one_noise_record() {
    let zeros = vec![0_u8; 1 << 20];
    for (name, profile) in all() {
        let mut all = Vec::new();
        let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(&profile));
        let rounds = 16;
        for round in 0..rounds {
            let offset = round << 20;
            let chunk = Chunk { wire: Wire::ToDrive, offset, bytes: &zeros, lo: 0, hi: 0, byte_ns: 0 };
            decoder.push(&chunk, &mut |record: &Record<'_>| all.push(keep(record)));
            assert!(decoder.carried() <= profile.longest + 1024, "{name}: {}", decoder.carried());
        }
        decoder.cut(&mut |record: &Record<'_>| all.push(keep(record)));
        // Where nothing tells where a frame begins, the first bytes are taken for a broken one.
        let broken: u64 = if name == "blind" { 9 } else { 0 };
        assert_eq!(all.iter().map(|record| record.len).sum::<u64>(), rounds << 20, "{name}");
        assert_eq!(all.len(), if broken > 0 { 2 } else { 1 }, "{name}");
        assert_eq!(all[all.len() - 1].len, (rounds << 20) - broken, "{name}");
        assert!(all[all.len() - 1].what.starts_with("noise"), "{name}");
    }
}

/// Silence longer than the limit, proven by the spans of time alone, ends a line; a shorter one does not.
#[test]
fn certain_silence_ends_what_was_begun() {
    let profile = wagon::plain();
    let rows = [(IDLE, 1), (IDLE + 1, 2)];
    for (silence, records) in rows {
        let first = Chunk { wire: Wire::ToDrive, offset: 0, bytes: b"way,", lo: 0, hi: 1000, byte_ns: 0 };
        let later = Chunk { offset: 4, bytes: b"port\n", lo: 1000 + silence, hi: 1000 + silence, ..first };
        let kept = run(&profile, &[Input::Chunk(first), Input::Chunk(later)]);
        assert_eq!(kept.len(), records, "{silence}: {kept:?}");
        assert_eq!(kept[0].begins, Interval::new(0, 1000));
    }
}

/// A frame at the end of a line far longer than any frame is found, whatever is before it.
#[test]
fn a_frame_at_the_end_of_an_endless_line_is_found() {
    let frame = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    for filler in [b'x', 0, b'c'] {
        for len in [1, 100, 511, 512, 513, 575, 576, 577, 640, 5000, 9000] {
            let bytes = [vec![filler; len].as_slice(), frame].concat();
            let told = wagon::told(&wagon::cue(), &bytes);
            assert_eq!(told.len(), 2, "{len} of {filler}: {told:?}");
            assert!(told[0].starts_with(&format!("{len} ")), "{len} of {filler}: {told:?}");
            assert!(told[1].starts_with("45 frame 0 glued"), "{len} of {filler}: {told:?}");
        }
    }
}

/// A length byte that claims more than any frame has holds back nothing.
#[test]
fn a_false_length_holds_back_no_good_frame() {
    let profile = wagon::ladder();
    let good = b"\xA7\x3C\x09\x21\x6C\x02\x1A\xFF\x1A\xFF\x6C\x02\x3F";
    let bytes = [b"\xA7\x3C\xFA".as_slice(), good].concat();
    let mut seen = Vec::new();
    let mut decoder = Decoder::new(Wire::ToDrive, profile);
    let chunk = Chunk { wire: Wire::ToDrive, offset: 0, bytes: &bytes, lo: 0, hi: 0, byte_ns: 0 };
    decoder.push(&chunk, &mut |record: &Record<'_>| seen.push((record.offset, record.len)));
    assert_eq!(seen, [(0, 3), (3, 13)]);
}

/// A place on the wire that does not follow on closes what was begun, and decoding goes on there.
#[test]
fn a_jump_on_the_wire_closes_what_was_begun() {
    let first = Chunk { wire: Wire::ToDrive, offset: 0, bytes: b"way,po", lo: 0, hi: 0, byte_ns: 0 };
    let later = Chunk { offset: 100, bytes: b"way,rest\n", ..first };
    let kept = run(&wagon::plain(), &[Input::Chunk(first), Input::Chunk(later)]);
    let places: Vec<(u64, u64)> = kept.iter().map(|record| (record.offset, record.len)).collect();
    assert_eq!(places, [(0, 6), (100, 9)]);
    assert!(kept[0].what.starts_with("damage truncated") && kept[1].what.starts_with("frame"), "{kept:?}");
}
