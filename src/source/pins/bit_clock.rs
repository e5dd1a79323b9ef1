//! Does a signal carry bytes, and how long is its bit? Told from its edges alone.
//!
//! Inside a byte every distance of two edges is a whole number of bits. The shortest distances give a first guess, all
//! distances within a byte a better one, and a receiver with that bit has to hear bytes whose stop bits are high.

use super::dump::Picos;
use super::level::Level;
use super::receiver::Receiver;

/// Rates that senders have, baud: common practice, no source.
const COMMON: [i64; 14] =
    [1_200, 2_400, 4_800, 9_600, 19_200, 38_400, 57_600, 74_880, 115_200, 230_400, 250_000, 460_800, 500_000, 921_600];
/// A bit lasts from 0.25 us (4 Mbaud) to 3.4 ms (300 baud).
const BITS: std::ops::RangeInclusive<f64> = 250_000.0..=3_400_000_000.0;
/// Fewer bytes are no proof.
const FEWEST_BYTES: u64 = 6;
/// One byte in so many may have a low stop bit.
const ONE_BROKEN_IN: u64 = 12;
/// A signal with fewer sorts of bytes is a clock or pulses.
const FEWEST_SORTS: usize = 4;

/// How a signal's bytes are clocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BitClock {
    /// Length of a bit.
    pub bit: Picos,
}

impl BitClock {
    /// The clock of a signal with these edges; `None` when it does not look like bytes.
    pub fn of(edges: &[(Picos, Level)]) -> Option<Self> {
        let clock = Self { bit: guess(edges)? };
        clock.carries_bytes(edges).then_some(clock)
    }

    /// The clock of a signal that a person says carries bytes: only whole bits are asked for.
    pub fn of_named(edges: &[(Picos, Level)]) -> Option<Self> {
        guess(edges).map(|bit| Self { bit })
    }

    /// Of this rate, baud.
    pub fn of_rate(rate: u32) -> Self {
        Self { bit: 1_000_000_000_000 / i64::from(rate.max(1)) }
    }

    /// The rate, baud.
    pub const fn baud(self) -> i64 {
        (self.milli_baud() + 500) / 1_000
    }

    /// The rate, thousandths of a baud.
    pub const fn milli_baud(self) -> i64 {
        1_000_000_000_000_000 / if self.bit > 0 { self.bit } else { 1 }
    }

    /// Shortest time one byte takes, nanoseconds: ten bits less 2.5 %, as of every wire.
    pub const fn byte_ns(self) -> i64 {
        self.bit * 39 / 4 / 1_000
    }

    fn carries_bytes(self, edges: &[(Picos, Level)]) -> bool {
        let mut receiver = Receiver::new(self.bit);
        let mut sorts = [false; 256];
        for (at, level) in edges {
            if let Some(heard) = receiver.edge(*at, *level)
                && let Some(sort) = sorts.get_mut(usize::from(heard.byte))
            {
                *sort = true;
            }
        }
        let sorts = sorts.iter().filter(|sort| **sort).count();
        let broken = receiver.framing_errors() * ONE_BROKEN_IN;
        receiver.bytes() >= FEWEST_BYTES && broken <= receiver.bytes() && sorts >= FEWEST_SORTS
    }
}

/// The stated rate, where the measured one is near it; else the nearest common one, within 6 %.
pub fn nominal(milli_baud: i64, stated: Option<u32>) -> Option<u32> {
    let off = |rate: i64| (milli_baud - rate * 1_000).abs() * 100 / (rate * 1_000).max(1);
    let stated = stated.map(i64::from).filter(|rate| off(*rate) < 12);
    let common =
        || COMMON.into_iter().filter(|rate| off(*rate) < 6).min_by_key(|rate| (milli_baud - rate * 1_000).abs());
    stated.or_else(common).and_then(|rate| u32::try_from(rate).ok())
}

fn guess(edges: &[(Picos, Level)]) -> Option<Picos> {
    let mut spans: Vec<Picos> =
        edges.iter().zip(edges.iter().skip(1)).map(|(a, b)| b.0 - a.0).filter(|span| *span > 0).collect();
    spans.sort_unstable();
    // Not the very shortest: a spike is shorter than any bit.
    let shortest = *spans.get(spans.len() / 50)? as f64;
    let mut bit = shortest;
    for _ in 0..4 {
        let (sum, bits) = inside(&spans, bit).fold((0.0, 0.0), |(sum, all), (span, bits)| (sum + span, all + bits));
        bit = if bits > 0.0 { sum / bits } else { return None };
    }
    let fit = inside(&spans, bit).filter(|(span, bits)| (span / bit - bits).abs() < 0.2).count();
    let all = inside(&spans, bit).count();
    (all >= 3 && fit * 10 >= all * 9 && BITS.contains(&bit)).then_some(bit.round() as Picos)
}

/// The spans that lie within a byte, with their whole number of bits.
fn inside(spans: &[Picos], bit: f64) -> impl Iterator<Item = (f64, f64)> {
    let spans = spans.iter().map(|span| *span as f64).filter(move |span| *span > 0.5 * bit && *span < 9.6 * bit);
    spans.map(move |span| (span, (span / bit).round()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes(text: &[u8], bit: Picos) -> Vec<(Picos, Level)> {
        let mut edges = vec![(0, Level::High)];
        for (place, byte) in text.iter().enumerate() {
            let begin = 1_000_000_000 + place as Picos * 11 * bit;
            let bits = u16::from(*byte) << 1 | 1 << 9;
            for at in 0..10 {
                let level = if bits >> at & 1 == 1 { Level::High } else { Level::Low };
                if edges.last().is_none_or(|(_, last)| *last != level) {
                    edges.push((begin + at * bit, level));
                }
            }
        }
        edges
    }

    #[test]
    fn bytes_are_told_from_pulses() {
        for bit in [2_000_000, 8_680_556, 104_166_667] {
            assert_eq!(BitClock::of(&bytes(b"way,port\nway,rest\n", bit)), Some(BitClock { bit }), "{bit}");
        }
        let pulses = |on: &dyn Fn(Picos) -> Picos| -> Vec<(Picos, Level)> {
            (0..400).flat_map(|n| [(n * 1_024_000, Level::High), (n * 1_024_000 + on(n), Level::Low)]).collect()
        };
        for (name, edges) in [
            ("even pulses", pulses(&|_| 512_000)),
            ("uneven pulses", pulses(&|_| 600_000)),
            ("pulses that widen", pulses(&|n| 100_000 + n * 2_000)),
            ("a level that changes twice", vec![(0, Level::Low), (5_000_000, Level::High), (9_000_000, Level::Low)]),
            ("nothing", Vec::new()),
        ] {
            let slow: Vec<_> = edges.iter().map(|(at, level)| (at * 1_000, *level)).collect();
            assert_eq!(BitClock::of(&slow), None, "{name}");
        }
    }

    #[test]
    fn the_rate_meant_is_the_stated_or_the_nearest_common_one() {
        assert_eq!(nominal(111_111_111, None), Some(115_200));
        assert_eq!(nominal(125_000_000, Some(115_200)), Some(115_200));
        assert_eq!(nominal(125_000_000, None), None);
        assert_eq!(nominal(9_612_000, Some(115_200)), Some(9_600));
    }
}
