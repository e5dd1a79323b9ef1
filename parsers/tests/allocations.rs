//! A good frame costs no memory: counted by an allocator that counts, on clean and on damaged wires.
//!
//! The counting is the allocator's (crate `allocation-counter`), for this thread alone.
#![allow(clippy::unwrap_used)]

#[path = "links/wagon.rs"]
mod wagon;

use std::sync::Arc;

use wheeltap_parsers::{Chunk, Decoder, Profile, Read, Record, Value, What, Wire};

/// Numbers that look like chance and are the same in each run.
struct Draw(u64);

impl Draw {
    fn next(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % below
    }
}

fn values(profile: &Profile, kind: usize, draw: &mut Draw) -> Vec<Value<'static>> {
    let mut all: Vec<Value<'static>> = Vec::new();
    for field in &profile.kinds[kind].fields {
        let (least, most) = field.range.unwrap_or((0, 9));
        all.push(match field.read {
            Read::Word => Value::Word(draw.next(field.words.len())),
            Read::Bits { of, low, count } => {
                let Value::Int(whole) = all[of] else { panic!("bits of no number") };
                Value::Int((whole >> low) & ((1 << count) - 1))
            }
            _ => Value::Int(least + draw.next((most - least + 1) as usize) as i64),
        });
    }
    all
}

/// Frames of all kinds, `count` of them; every `nth` has a bit turned over, every `2 * nth` is cut short as well.
fn wire(profile: &Profile, count: usize, nth: usize) -> Vec<u8> {
    let (mut all, mut draw) = (Vec::new(), Draw(11));
    for number in 1..=count {
        let kind = draw.next(profile.kinds.len());
        let mut frame = profile.encode(kind, &values(profile, kind, &mut draw)).unwrap();
        if number % nth == 0 {
            let bit = draw.next(8 * frame.len());
            frame[bit / 8] ^= 1 << (bit % 8);
            let left = if number % (2 * nth) == 0 { draw.next(frame.len()) } else { frame.len() };
            frame.truncate(left);
        }
        all.extend(frame);
    }
    all
}

/// Good frames and others found in `wire`, and how often memory was asked for once the decoder had seen it before.
fn decoded(profile: &Arc<Profile>, wire: &[u8], reads: usize) -> (u64, u64, u64) {
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let (mut good, mut others, mut offset) = (0, 0, 0);
    let mut sink = |record: &Record<'_>| match record.what {
        What::Frame { .. } => good += 1,
        _ => others += 1,
    };
    let mut pass = |decoder: &mut Decoder| {
        for bytes in wire.chunks(reads) {
            decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
            offset += bytes.len() as u64;
        }
    };
    pass(&mut decoder);
    let counted = allocation_counter::measure(|| pass(&mut decoder));
    (good, others, counted.count_total)
}

#[test]
fn frames_on_clean_and_on_damaged_wires_cost_no_memory() {
    for (name, profile) in wagon::all() {
        for (nth, damaged) in [(usize::MAX / 2, false), (20, true), (3, true)] {
            let wire = wire(&profile, 2000, nth);
            for reads in [1, 62, 4096, wire.len()] {
                let (good, others, asked) = decoded(&profile, &wire, reads);
                println!("{name}, reads of {reads}: {good} good, {others} others, memory asked for {asked} times");
                assert!(good > 2000 && (others > 100) == damaged, "{name}: {good} good, {others} others");
                assert_eq!(asked, 0, "{name}, reads of {reads}, {good} good and {others} others");
            }
        }
    }
}

/// The counter counts: a vector that grows is seen.
#[test]
fn memory_asked_for_is_seen() {
    let mut kept = Vec::new();
    let counted = allocation_counter::measure(|| kept.extend([1_u8; 100]));
    assert_eq!((counted.count_total, kept.len()), (1, 100));
}
