//! The tap's intervals against the wagon's exact byte times.
#![allow(clippy::unwrap_used)]
use super::*;
use crate::simulation::{Fault, Style};

const ADAPTERS: [Adapter; 3] = [Adapter::None, Adapter::Timer { ms: 1 }, Adapter::Timer { ms: 16 }];

/// Runs a source to its end and checks every promise a tap makes; gives the widths of the byte intervals, sorted, and the
/// number of ticks.
fn honest(source: &mut SimulatedSource) -> (Vec<Nanos>, usize) {
    let mut inputs = Vec::new();
    let mut got: [Vec<u8>; 2] = Default::default();
    let mut last = 0;
    while let Some(input) = source.next().unwrap() {
        match input {
            Input::Chunk(chunk) => {
                let index = chunk.wire.index();
                assert_eq!(chunk.offset, got[index].len() as u64);
                assert!(!chunk.bytes.is_empty() && chunk.hi >= last && chunk.lo <= chunk.hi);
                last = chunk.hi;
                got[index].extend(chunk.bytes);
                inputs.push((Some((chunk.wire, chunk.lo, chunk.hi, chunk.byte_ns, chunk.bytes.len())), 0));
            }
            Input::Tick(at) => inputs.push((None, at)),
            other => unreachable!("{other:?}"),
        }
    }
    let mut times: [Vec<Nanos>; 2] = Default::default();
    let mut sent: [Vec<u8>; 2] = Default::default();
    for burst in &source.heard {
        sent[burst.wire.index()].extend(&burst.bytes);
        times[burst.wire.index()].extend((0..burst.bytes.len()).map(|index| burst.complete_at(index)));
    }
    let mut widths = Vec::new();
    let mut place = [0; 2];
    let mut before = [None; 2];
    let mut ticks = 0;
    for (chunk, tick) in inputs {
        let Some((wire, lo, hi, byte_ns, len)) = chunk else {
            // Everything complete before the tick has been handed over by now.
            ticks += 1;
            for wire in [0, 1] {
                assert!(times[wire].get(place[wire]).is_none_or(|at| *at >= tick), "tick {tick}");
            }
            continue;
        };
        let index = wire.index();
        let bytes = vec![0; len];
        let chunk = wheeltap_parsers::Chunk { wire, offset: 0, bytes: &bytes, lo, hi, byte_ns };
        for j in 0..len {
            let interval = chunk.byte_interval(j, before[index]);
            let at = times[index][place[index] + j];
            assert!(interval.lo <= at && at <= interval.hi, "{wire:?} byte {j} of {len}: {at} not in {interval:?}");
            widths.push(interval.width());
        }
        let first = before[index].map_or(lo, |before: Nanos| lo.max(before + byte_ns));
        before[index] = Some(first + (len as Nanos - 1) * byte_ns);
        place[index] += len;
    }
    for wire in [0, 1] {
        assert_eq!(got[wire], sent[wire][..got[wire].len()]);
    }
    widths.sort_unstable();
    (widths, ticks)
}

#[test]
fn every_byte_lies_in_its_interval() {
    let troubled = vec![Fault::LostBytes, Fault::SupplySag, Fault::RadioGaps, Fault::LateSender];
    for style in Style::ALL {
        for adapter in ADAPTERS {
            for faults in [Vec::new(), troubled.clone()] {
                let settings = Settings { faults, ..Settings::demo(style, 11) };
                let mut source = SimulatedSource::new(&settings, adapter).ends_at(30_000 * MS);
                let (widths, ticks) = honest(&mut source);
                assert!(widths.len() > 300 && ticks > 500, "{} {adapter:?}: {} {ticks}", style.name(), widths.len());
            }
        }
    }
}

#[test]
fn widths_are_those_of_the_adapter() {
    for (adapter, longest) in ADAPTERS.into_iter().zip([0, 2, 17]) {
        let mut source = SimulatedSource::new(&Settings::demo(Style::CueLine, 3), adapter).ends_at(30_000 * MS);
        let (widths, _) = honest(&mut source);
        let median = widths[widths.len() / 2];
        println!("{adapter:?}: median {median} ns, largest {} ns", widths.last().unwrap());
        // Never wider than the latency, one wait of the loop, and a burst's slack; and no better than the latency allows.
        assert!(*widths.last().unwrap() <= longest * MS + POLL + 5 * MS);
        assert!(median >= (longest - 1) * MS, "{adapter:?} {median}");
    }
}

#[test]
fn the_same_settings_give_the_same_inputs() {
    let settings = Settings { faults: vec![Fault::Noise, Fault::RadioGaps], ..Settings::demo(Style::Stave, 5) };
    let mut one = SimulatedSource::new(&settings, Adapter::Timer { ms: 16 }).ends_at(20_000 * MS);
    let mut two = one.clone();
    loop {
        let (left, right) = (one.next().unwrap(), two.next().unwrap());
        assert_eq!(left, right);
        if left.is_none() {
            break;
        }
    }
    assert_eq!(one.now(), 20_000 * MS);
}

#[test]
fn the_wire_back_is_open_only_where_something_talks() {
    for style in Style::ALL {
        let source = SimulatedSource::new(&Settings::demo(style, 1), Adapter::None).begun_at(7, 60);
        assert_eq!(source.link().wire(Wire::FromDrive).is_some(), style.answers());
        assert_eq!(source.link().open_wires().next(), Some(Wire::ToDrive));
        assert_eq!((source.link().begun_unix_us, source.link().utc_offset_min), (Some(7), 60));
    }
}
