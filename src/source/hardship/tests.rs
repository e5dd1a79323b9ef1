//! Hardships on a source whose every byte and time is known.
#![allow(clippy::unwrap_used)]
use super::*;
use crate::simulation::{Settings, Style};
use crate::source::simulated::{Adapter, SimulatedSource};

const MS: Nanos = 1_000_000;

fn wagon(adapter: Adapter) -> SimulatedSource {
    SimulatedSource::new(&Settings::demo(Style::CueLine, 4), adapter).ends_at(12_000 * MS)
}

fn all<S: Source>(mut source: S) -> Vec<Held> {
    let mut inputs = Vec::new();
    let mut offsets = [0; 2];
    while let Some(input) = source.next().unwrap() {
        if let Input::Chunk(chunk) = input {
            assert_eq!(chunk.offset, offsets[chunk.wire.index()], "offsets have no holes");
            assert!(!chunk.bytes.is_empty());
            offsets[chunk.wire.index()] += chunk.bytes.len() as u64;
        }
        inputs.push(owned(input));
    }
    inputs
}

fn bytes_of(inputs: &[Held], of: Wire) -> Vec<u8> {
    let chunks = inputs.iter().filter_map(|input| match input {
        Held::Chunk { wire, bytes, .. } if *wire == of => Some(bytes.clone()),
        _ => None,
    });
    chunks.flatten().collect()
}

/// Each byte's interval as a decoder would see it, for one wire.
fn intervals(inputs: &[Held], of: Wire) -> Vec<(Nanos, Nanos)> {
    let mut found = Vec::new();
    let mut before = None;
    for input in inputs {
        let Some(chunk) = input.chunk(0).filter(|chunk| chunk.wire == of) else {
            continue;
        };
        found.extend((0..chunk.bytes.len()).map(|index| {
            let interval = chunk.byte_interval(index, before);
            (interval.lo, interval.hi)
        }));
        let first = before.map_or(chunk.lo, |before: Nanos| chunk.lo.max(before + chunk.byte_ns));
        before = Some(first + (chunk.bytes.len() as Nanos - 1) * chunk.byte_ns);
    }
    found
}

#[test]
fn none_changes_nothing() {
    let plain = all(wagon(Adapter::Timer { ms: 16 }));
    assert_eq!(all(Hardship::new(wagon(Adapter::Timer { ms: 16 }), Hardships::default())), plain);
}

#[test]
fn a_later_clock_moves_every_time_alike() {
    let plain = all(wagon(Adapter::Timer { ms: 1 }));
    let moved = all(Hardship::new(wagon(Adapter::Timer { ms: 1 }), Hardships { delay: 77, ..Hardships::default() }));
    assert_eq!(moved, plain.into_iter().map(|held| later(held, 77)).collect::<Vec<_>>());
}

#[test]
fn splitting_keeps_every_interval() {
    let plain = all(wagon(Adapter::Timer { ms: 16 }));
    let split =
        all(Hardship::new(wagon(Adapter::Timer { ms: 16 }), Hardships { split_one_in: 1, ..Hardships::default() }));
    assert!(split.len() > plain.len() + 50);
    for wire in Wire::BOTH {
        assert_eq!(bytes_of(&split, wire), bytes_of(&plain, wire));
        // The lower bound is capped at the upper one where a read was clumsy; both ways stay the same.
        assert_eq!(intervals(&split, wire), intervals(&plain, wire));
    }
}

/// Reads whose bytes count up, so that each byte left over is known again; and when each byte was complete.
struct Counting {
    link: LinkFacts,
    reads: VecDeque<(Wire, Vec<u8>, Nanos, Nanos)>,
    shown: Vec<u8>,
}

const BYTE: Nanos = 86_806;
const SLACK: Nanos = 84_635;

/// When byte `number` of a wire is complete: runs of 9 bytes, every 20 ms.
fn complete(number: usize) -> Nanos {
    (number / 9) as Nanos * 20 * MS + (number % 9 + 1) as Nanos * BYTE
}

impl Counting {
    fn new() -> Self {
        let mut link = LinkFacts::default();
        let facts = crate::timing::link::WireFacts {
            rate: Some(115_200),
            settings: "8N1".into(),
            latency: 0,
            port: "test".into(),
        };
        link.wires = [Some(facts.clone()), Some(facts)];
        let mut reads = VecDeque::new();
        for run in 0..3000_usize {
            let bytes: Vec<u8> = (run * 9..run * 9 + 9).map(|number| number as u8).collect();
            let (begins, ends) = (complete(run * 9) - BYTE, complete(run * 9 + 8));
            for wire in Wire::BOTH {
                reads.push_back((wire, bytes.clone(), begins - 300_000, ends + 40_000));
            }
        }
        Self { link, reads, shown: Vec::new() }
    }
}

impl Source for Counting {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        Ok(self.reads.pop_front().map(|(wire, bytes, lo, hi)| {
            self.shown = bytes;
            Input::Chunk(Chunk { wire, offset: 0, bytes: &self.shown, lo, hi, byte_ns: SLACK })
        }))
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}

#[test]
fn whatever_happens_each_byte_left_lies_in_its_interval() {
    let some = Hardships { join_one_in: 3, ..Hardships::default() };
    let cuts = Hardships { cut_every: 2_000 * MS, cut_for: 90 * MS, ..some };
    for what in [
        some,
        Hardships { split_one_in: 2, ..some },
        Hardships { lose_one_in: 7, ..some },
        Hardships { drop_one_in: 9, delay: 123, ..some },
        Hardships { seed: 8, lose_one_in: 11, split_one_in: 3, ..cuts },
    ] {
        let inputs = all(Hardship::new(Counting::new(), what));
        for wire in Wire::BOTH {
            let mut number = 0;
            let bytes = bytes_of(&inputs, wire);
            assert!(bytes.len() > 15_000, "{}", bytes.len());
            for (byte, (lo, hi)) in bytes.into_iter().zip(intervals(&inputs, wire)) {
                while number as u8 != byte {
                    number += 1;
                }
                let at = complete(number) + what.delay;
                assert!(lo <= at && at <= hi, "{what:?} byte {number}: {at} not in {lo}..{hi}");
                number += 1;
            }
            assert!(number <= 27_000);
        }
    }
}

#[test]
fn no_tick_vouches_for_a_read_kept_back() {
    let what = Hardships { join_one_in: 2, ..Hardships::default() };
    let plain = all(wagon(Adapter::Timer { ms: 1 }));
    let inputs = all(Hardship::new(wagon(Adapter::Timer { ms: 1 }), what));
    for wire in Wire::BOTH {
        assert_eq!(bytes_of(&inputs, wire), bytes_of(&plain, wire));
        // Byte by byte, what came after a tick lay at or after it.
        let times = intervals(&plain, wire);
        let mut given = 0;
        for input in &inputs {
            match input {
                Held::Chunk { wire: of, bytes, .. } if *of == wire => given += bytes.len(),
                Held::Tick(at) => assert!(times.get(given).is_none_or(|(_, hi)| hi >= at)),
                _ => {}
            }
        }
    }
}

#[test]
fn loss_and_noise_are_about_as_asked() {
    let plain = bytes_of(&all(wagon(Adapter::None)), Wire::ToDrive);
    let what = Hardships { seed: 2, lose_one_in: 20, ..Hardships::default() };
    let lost = bytes_of(&all(Hardship::new(wagon(Adapter::None), what)), Wire::ToDrive);
    let missing = plain.len() - lost.len();
    assert!((plain.len() / 30..plain.len() / 14).contains(&missing), "{missing} of {}", plain.len());
    let what = Hardships { seed: 2, flip_one_in: 20, ..Hardships::default() };
    let hit = bytes_of(&all(Hardship::new(wagon(Adapter::None), what)), Wire::ToDrive);
    let bits: Vec<u32> =
        hit.iter().zip(&plain).map(|(one, other)| (one ^ other).count_ones()).filter(|bits| *bits > 0).collect();
    assert!(bits.iter().all(|bits| *bits == 1));
    assert!((plain.len() / 30..plain.len() / 14).contains(&bits.len()), "{} of {}", bits.len(), plain.len());
}

#[test]
fn dropped_reads_are_counted() {
    let plain = all(wagon(Adapter::Timer { ms: 1 }));
    let dropped =
        all(Hardship::new(wagon(Adapter::Timer { ms: 1 }), Hardships { drop_one_in: 5, ..Hardships::default() }));
    for wire in Wire::BOTH {
        let counted: u64 = dropped
            .iter()
            .map(|held| {
                if let Held::Lost { wire: of, bytes, .. } = held
                    && *of == wire
                {
                    *bytes
                } else {
                    0
                }
            })
            .sum();
        assert!(counted > 0);
        assert_eq!(counted + bytes_of(&dropped, wire).len() as u64, bytes_of(&plain, wire).len() as u64);
    }
}

#[test]
fn a_port_away_is_silent_and_comes_back() {
    let what = Hardships { seed: 3, cut_every: 1_500 * MS, cut_for: 400 * MS, ..Hardships::default() };
    let inputs = all(Hardship::new(wagon(Adapter::Timer { ms: 16 }), what));
    let mut away = [false; 2];
    let mut gone = 0;
    for input in &inputs {
        match input {
            Held::PortGone { wire, .. } => {
                assert!(!std::mem::replace(&mut away[wire.index()], true));
                gone += 1;
            }
            Held::PortBack { wire, .. } => assert!(std::mem::replace(&mut away[wire.index()], false)),
            Held::Chunk { wire, .. } => assert!(!away[wire.index()]),
            _ => {}
        }
    }
    assert!(gone > 4, "{gone}");
    assert!(inputs.iter().filter(|held| !matches!(held, Held::Tick(_))).map(Held::at).is_sorted());
}
