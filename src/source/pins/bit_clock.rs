//! Does a signal carry bytes, and how long is its bit? Told from its edges alone.
//!
//! Inside a byte every distance of two edges is a whole number of bits. The shortest distances give a first guess, all
//! distances within a byte a better one, and a receiver with that bit has to hear bytes whose stop bits are high.

use super::dump::Picos;
use super::level::Level;
use super::receiver::Receiver;

/// So many steps of the dump's times a bit are needed to hear it: an edge lies up to a step from where it is told, two of
/// them may add up, and a bit is looked at half a bit behind its beginning.
pub const FEWEST_STEPS: i64 = 4;

/// Rates that senders have, baud: common practice, no source.
const COMMON: [i64; 14] =
    [1_200, 2_400, 4_800, 9_600, 19_200, 38_400, 57_600, 74_880, 115_200, 230_400, 250_000, 460_800, 500_000, 921_600];
/// A bit lasts from 0.25 us (4 Mbaud) to 3.4 ms (300 baud).
const BITS: std::ops::RangeInclusive<f64> = 250_000.0..=3_400_000_000.0;
/// A level that lasts so many bits is no part of a byte: rest, or a break.
const REST: f64 = 10.5;
/// Fewer bytes without a broken one are no proof that a bit as long as the dump's step is the sender's.
const FEWEST_EXACT: u64 = 32;
/// The usual rate of such links, baud: common practice, no source.
pub const USUAL: u32 = 115_200;
/// Fewer bytes are no proof.
const FEWEST_BYTES: u64 = 6;
/// A signal with fewer sorts of bytes is a clock or pulses.
const FEWEST_SORTS: usize = 4;

/// How a signal's bytes are clocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BitClock {
    /// Length of a bit.
    pub bit: Picos,
    /// Upside down: the wire rests low.
    pub turned: bool,
}

impl BitClock {
    /// The clock of a signal with these edges, in a dump of this unit of time; `None` when it does not look like bytes,
    /// upright or upside down. Text without pauses may look like bytes either way up, so the level at rest is asked first.
    pub fn of(edges: &[(Picos, Level)], unit: Picos) -> Option<Self> {
        let bit = guess(edges)?;
        let low = rests_low(edges, bit);
        let either = [low, !low].map(|turned| Self { bit, turned });
        either.into_iter().find(|clock| clock.is_heard_by(unit) && clock.carries_bytes(edges))
    }

    /// Whether all edges lie whole bits apart and no byte is broken: then they are exact, as simulators write them, however
    /// coarse the step of the dump's times looks.
    pub fn is_exact(self, edges: &[(Picos, Level)]) -> bool {
        let whole = inside(&spans(edges), self.bit as f64).all(|(span, _)| (span as Picos) % self.bit == 0);
        let receiver = self.listen(edges, |_| ());
        whole && receiver.bytes() >= FEWEST_EXACT && receiver.framing_errors() == 0
    }

    /// The clock of a signal that a person says carries bytes: where they cannot be made out, whole bits are enough, if
    /// the dump's times go by steps that are fine enough.
    pub fn of_named(edges: &[(Picos, Level)], unit: Picos, step: Picos) -> Option<Self> {
        let whole_bits = || guess(edges).map(|bit| Self { bit, turned: false }).filter(|clock| clock.is_heard_by(step));
        Self::of(edges, unit).or_else(whole_bits)
    }

    /// Of this rate, baud.
    pub fn of_rate(rate: u32) -> Self {
        Self { bit: 1_000_000_000_000 / i64::from(rate.max(1)), turned: false }
    }

    /// Whether times that go by this step are fine enough to hear it.
    pub const fn is_heard_by(self, step: Picos) -> bool {
        self.bit / FEWEST_STEPS >= step
    }

    /// The level as the receiver has to take it.
    pub const fn upright(self, level: Level) -> Level {
        if self.turned { level.turned() } else { level }
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

    /// What a receiver of this clock hears in these edges.
    fn listen(self, edges: &[(Picos, Level)], mut hears: impl FnMut(u8)) -> Receiver {
        let mut receiver = Receiver::new(self.bit);
        for (at, level) in edges {
            if let Some(heard) = receiver.edge(*at, self.upright(*level)) {
                hears(heard.byte);
            }
        }
        receiver
    }

    fn carries_bytes(self, edges: &[(Picos, Level)]) -> bool {
        let mut sorts = [false; 256];
        let receiver = self.listen(edges, |byte| {
            if let Some(sort) = sorts.get_mut(usize::from(byte)) {
                *sort = true;
            }
        });
        let sorts = sorts.iter().filter(|sort| **sort).count();
        receiver.bytes() >= FEWEST_BYTES && receiver.is_sound() && sorts >= FEWEST_SORTS
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

/// From each edge to the next.
fn spans(edges: &[(Picos, Level)]) -> Vec<Picos> {
    edges.iter().zip(edges.iter().skip(1)).map(|(a, b)| b.0 - a.0).filter(|span| *span > 0).collect()
}

/// Whether it rests low more often than high, where it rests at all.
fn rests_low(edges: &[(Picos, Level)], bit: Picos) -> bool {
    let rests = edges.iter().zip(edges.iter().skip(1)).filter(|(a, b)| (b.0 - a.0) as f64 > REST * bit as f64);
    let levels: Vec<Level> = rests.map(|(a, _)| a.1).collect();
    let count = |level| levels.iter().filter(|other| **other == level).count();
    count(Level::Low) > count(Level::High)
}

fn guess(edges: &[(Picos, Level)]) -> Option<Picos> {
    let mut spans = spans(edges);
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
            let mut edges = bytes(b"way,port\nway,rest\n", bit);
            assert_eq!(BitClock::of(&edges, 1_000), Some(BitClock { bit, turned: false }), "{bit}");
            assert_eq!(BitClock::of(&edges, bit / 3), None, "three steps a bit");
            for (_, level) in &mut edges {
                *level = level.turned();
            }
            assert_eq!(BitClock::of(&edges, 1_000), Some(BitClock { bit, turned: true }), "{bit}");
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
            assert_eq!(BitClock::of(&slow, 1_000), None, "{name}");
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
