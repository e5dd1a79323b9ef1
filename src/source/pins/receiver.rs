//! A receiver of bytes from the edges of one wire: start bit, eight data bits from the lowest on, stop bit (8N1), the
//! wire high at rest. Each bit is looked at in its middle, counted from the falling edge of the start bit.
//!
//! Its clock is set once; the sender's clock is measured on the way, by the last edge of each byte.

use super::dump::Picos;
use super::level::Level;

/// A byte as the edges tell it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heard {
    /// When its stop bit was complete.
    pub at: Picos,
    /// The byte.
    pub byte: u8,
    /// False when its stop bit was low.
    pub framed: bool,
}

/// What the receiver is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// The wire is high, or not known yet.
    Rest,
    /// Inside a byte that began here; so many bits have been looked at.
    Byte { begun: Picos, bits: u8, byte: u8, last_edge: Picos },
    /// The stop bit was low: the wire has to come back first.
    Low,
}

/// One wire's receiver.
#[derive(Clone, Debug)]
pub struct Receiver {
    bit: Picos,
    level: Level,
    state: State,
    /// Since the sender's clock last changed, but for the last bytes.
    clock: Clock,
    /// The last bytes, held against those before them.
    latest: Clock,
    framing_errors: u64,
    bytes: u64,
}

/// One in so many bytes may have a low stop bit; where more have, the bits are not those of the sender.
pub const ONE_BROKEN_IN: u64 = 12;

/// Edges against whole bits, least squares: the length of the sender's bit.
#[derive(Clone, Copy, Debug, Default)]
struct Clock {
    by_bits: f64,
    bits_squared: f64,
    spans_squared: f64,
    bytes: f64,
}

/// So many bytes at a time are held against those before them, to see whether the sender's clock has changed.
const AT_A_TIME: f64 = 64.0;
/// A change by less is none, as a share: the clock is told to a tenth of a per cent.
const NO_CHANGE: f64 = 0.001;

impl Receiver {
    /// A receiver whose bit lasts `bit`.
    pub const fn new(bit: Picos) -> Self {
        Self {
            bit,
            level: Level::Unknown,
            state: State::Rest,
            clock: Clock::NONE,
            latest: Clock::NONE,
            framing_errors: 0,
            bytes: 0,
        }
    }

    /// How many bytes had a low stop bit.
    pub const fn framing_errors(&self) -> u64 {
        self.framing_errors
    }

    /// How many bytes were heard.
    pub const fn bytes(&self) -> u64 {
        self.bytes
    }

    /// Whether hardly any byte had a low stop bit.
    pub const fn is_sound(&self) -> bool {
        self.framing_errors * ONE_BROKEN_IN <= self.bytes
    }

    /// The sender's bit as measured so far, in a dump whose times go by this step. `None` before enough bytes for half a
    /// per cent: an edge may lie anywhere within a step, so the error falls with the root of the sum of squared bits.
    pub fn measured_bit(&self, step: Picos) -> Option<f64> {
        const ENOUGH: f64 = 200.0;
        let all = self.clock.with(self.latest);
        let bits = all.bits_squared.sqrt();
        let told = self.is_sound() && bits > 0.0 && step as f64 * ENOUGH <= self.bit as f64 * bits;
        told.then(|| all.bit())
    }

    /// The sender's bit up to here, where the last bytes tell another one by more than the uncertainty of both, in a dump
    /// whose times go by this step. Asked after each byte; what follows is measured anew.
    pub fn changed(&mut self, step: Picos) -> Option<f64> {
        if self.latest.bytes < AT_A_TIME {
            return None;
        }
        let (before, latest) = (self.clock, std::mem::take(&mut self.latest));
        let apart = (before.bit() - latest.bit()).abs();
        let unsure = before.uncertainty(step) + latest.uncertainty(step);
        let changes = before.bytes > 0.0 && self.is_sound() && apart > unsure.max(NO_CHANGE * before.bit());
        self.clock = if changes { latest } else { before.with(latest) };
        changes.then(|| before.bit())
    }

    /// The recording is over at `now`. The byte under way, where all its eight bits were seen and the wire is high. Where
    /// nobody says how long the last level lasted (`open`) it stays, for a dump holds changes only.
    pub fn over(&mut self, now: Picos, open: bool) -> Option<Heard> {
        let heard = self.pass(now);
        if heard.is_some() || self.level != Level::High {
            return heard;
        }
        let State::Byte { bits, last_edge, .. } = self.state else { return None };
        (bits > 8 || open && last_edge == now).then(|| self.pass(Picos::MAX)).flatten()
    }

    /// The wire has this level from `at` on. A floating wire counts as high: a receiver's input is pulled up (common
    /// practice, no source). One that is not known breaks off the byte.
    pub fn edge(&mut self, at: Picos, level: Level) -> Option<Heard> {
        let level = if level == Level::Floating { Level::High } else { level };
        if level == self.level {
            return None;
        }
        let heard = self.pass(at);
        let fell = self.level == Level::High && level == Level::Low;
        self.level = level;
        self.state = match self.state {
            _ if level == Level::Unknown => State::Rest,
            State::Rest if fell => State::Byte { begun: at, bits: 0, byte: 0, last_edge: at },
            State::Byte { begun, bits, byte, .. } => State::Byte { begun, bits, byte, last_edge: at },
            State::Low if level == Level::High => State::Rest,
            other => other,
        };
        heard
    }

    /// Nothing has changed up to `at`: the byte under way, if its stop bit has been looked at by then.
    pub fn pass(&mut self, at: Picos) -> Option<Heard> {
        while let State::Byte { begun, bits, byte, last_edge } = self.state {
            // The middle of bit n, 0 the start bit, lies n and a half bits behind the edge.
            let look = begun.saturating_add((2 * i64::from(bits) + 1).saturating_mul(self.bit) / 2);
            if look >= at {
                return None;
            }
            let high = self.level == Level::High;
            self.state = match bits {
                0 if high => State::Rest,
                0..=8 => {
                    let set = if bits > 0 && high { 1 << (bits - 1) } else { 0 };
                    State::Byte { begun, bits: bits + 1, byte: byte | set, last_edge }
                }
                _ => return Some(self.complete(begun, byte, last_edge, high)),
            };
        }
        None
    }

    fn complete(&mut self, begun: Picos, byte: u8, last_edge: Picos, framed: bool) -> Heard {
        self.state = if framed { State::Rest } else { State::Low };
        self.bytes += 1;
        self.framing_errors += u64::from(!framed);
        if framed {
            self.latest.take(last_edge - begun, self.bit);
        }
        Heard { at: begun.saturating_add(10 * self.bit), byte, framed }
    }
}

impl Clock {
    /// The last edge of a byte lies a whole number of the sender's bits behind its first.
    fn take(&mut self, span: Picos, bit: Picos) {
        let bits = (span as f64 / bit as f64).round();
        self.by_bits += span as f64 * bits;
        self.bits_squared += bits * bits;
        self.spans_squared += span as f64 * span as f64;
        self.bytes += 1.0;
    }

    const NONE: Self = Self { by_bits: 0.0, bits_squared: 0.0, spans_squared: 0.0, bytes: 0.0 };

    fn with(self, other: Self) -> Self {
        Self {
            by_bits: self.by_bits + other.by_bits,
            bits_squared: self.bits_squared + other.bits_squared,
            spans_squared: self.spans_squared + other.spans_squared,
            bytes: self.bytes + other.bytes,
        }
    }

    fn bit(self) -> f64 {
        self.by_bits / self.bits_squared.max(1.0)
    }

    /// Three times the spread of the edges about whole bits, and the step of their times, over the root of the squared bits.
    fn uncertainty(self, step: Picos) -> f64 {
        let left = (self.spans_squared - self.by_bits * self.bit()).max(0.0) / (self.bytes - 1.0).max(1.0);
        (2.0 * step as f64 + 3.0 * left.sqrt()) / self.bits_squared.max(1.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BIT: Picos = 8_680_556;

    /// The edges of these bytes, back to back, at a sender whose bit lasts `bit`.
    fn edges(bytes: &[u8], bit: f64) -> Vec<(Picos, Level)> {
        let mut edges = vec![(0, Level::High)];
        let mut at = 1_000_000.0;
        for byte in bytes {
            let bits = u16::from(*byte) << 1 | 1 << 9;
            for place in 0..10 {
                let level = if bits >> place & 1 == 1 { Level::High } else { Level::Low };
                edges.push((at as Picos, level));
                at += bit;
            }
        }
        edges
    }

    fn heard(edges: &[(Picos, Level)], bit: Picos) -> (Vec<u8>, Receiver) {
        let mut receiver = Receiver::new(bit);
        let mut bytes: Vec<u8> =
            edges.iter().filter_map(|(at, level)| receiver.edge(*at, *level)).map(|heard| heard.byte).collect();
        bytes.extend(receiver.pass(Picos::MAX).map(|heard| heard.byte));
        (bytes, receiver)
    }

    fn all_bytes() -> Vec<u8> {
        (0..=255).chain((0..=255).rev()).collect()
    }

    /// The last sample lies 9.5 bits behind the edge, so clocks may differ by 0.5 / 9.5 = 5.26 % in all (Circuit Cellar,
    /// answers of the engineering quotient, and the AVR's receiver text; read in excerpts); real receivers that sample
    /// 16 times a bit allow 4.54 % slow to 4.58 % fast (Microchip, USART chapter, table of the largest error of the
    /// receiver's rate with 8 data bits; read in an excerpt). In shares of the receiver's bit that is 5.5 % slow, where
    /// the stop bit begins too late, to 5.0 % fast, where the next start bit begins too early.
    #[test]
    fn clocks_may_differ_by_what_the_middle_of_the_stop_bit_allows() {
        for per_mille in [-52, -45, -35, -20, 0, 20, 35, 45, 49] {
            let bit = BIT as f64 * (1.0 - f64::from(per_mille) / 1000.0);
            let (bytes, receiver) = heard(&edges(&all_bytes(), bit), BIT);
            assert!(bytes == all_bytes() && receiver.framing_errors() == 0, "{per_mille} per mille");
        }
        for per_mille in [-58, 53] {
            let bit = BIT as f64 * (1.0 - f64::from(per_mille) / 1000.0);
            let (bytes, receiver) = heard(&edges(&all_bytes(), bit), BIT);
            assert!(bytes != all_bytes() || receiver.framing_errors() > 0, "{per_mille} per mille");
        }
    }

    #[test]
    fn the_senders_clock_is_measured_to_a_tenth_of_a_per_cent() {
        for per_mille in [-40, -10, 1, 21, 40] {
            let bit = BIT as f64 * (1.0 + f64::from(per_mille) / 1000.0);
            let (_, receiver) = heard(&edges(b"way,port\n", bit), BIT);
            let measured = receiver.measured_bit(1_000).unwrap_or(0.0);
            assert!((measured / bit - 1.0).abs() < 0.000_01, "{per_mille}: {measured}");
        }
    }

    /// A wire that stays low for longer than a frame is one byte 0 with a low stop bit, and then nothing until it has
    /// been high again (behaviour of 16550-type receivers, from memory).
    #[test]
    fn a_long_low_is_one_broken_byte() {
        let mut all = edges(b"a", BIT as f64);
        let end = all.last().map_or(0, |(at, _)| *at) + 2 * BIT;
        all.extend([(end, Level::Low), (end + 40 * BIT, Level::High)]);
        all.extend(edges(b"b", BIT as f64).iter().skip(1).map(|(at, level)| (at + end + 60 * BIT, *level)));
        let (bytes, receiver) = heard(&all, BIT);
        assert_eq!((bytes.as_slice(), receiver.framing_errors()), (&b"a\0b"[..], 1));
    }

    /// A sender that goes 1 % slower after 400 bytes is told once, with the clock that it had; a steady one, and one with
    /// edges off by a fiftieth of a bit, never.
    #[test]
    fn a_clock_that_changes_is_told_and_a_steady_one_is_not() {
        let changes = |edges: &[(Picos, Level)]| {
            let mut receiver = Receiver::new(BIT);
            let heard = |edge: &(Picos, Level)| receiver.edge(edge.0, edge.1).and_then(|_| receiver.changed(1_000));
            edges.iter().filter_map(heard).collect::<Vec<f64>>()
        };
        let (one, two) = (BIT as f64, BIT as f64 * 1.01);
        let steady = edges(&all_bytes(), one);
        assert!(changes(&steady).is_empty());
        let wandering = |(place, (at, level)): (usize, &(Picos, Level))| (at + place as Picos * 7919 % 173_000, *level);
        assert!(changes(&steady.iter().enumerate().map(wandering).collect::<Vec<_>>()).is_empty());
        let end = steady.last().map_or(0, |(at, _)| *at) + 4 * BIT;
        let later = edges(&all_bytes(), two).into_iter().skip(1).map(|(at, level)| (at + end, level));
        let told = changes(&steady.iter().copied().chain(later).collect::<Vec<_>>());
        assert!(matches!(told.as_slice(), [bit] if (bit / one - 1.0).abs() < 0.001), "{told:?}");
    }

    #[test]
    fn a_short_low_is_no_byte_and_what_is_not_known_breaks_one_off() {
        let short = [(0, Level::High), (BIT, Level::Low), (BIT + BIT / 4, Level::High)];
        assert_eq!(heard(&short, BIT).0, b"");
        let broken = [(0, Level::High), (BIT, Level::Low), (4 * BIT, Level::Unknown), (6 * BIT, Level::High)];
        assert_eq!(heard(&broken, BIT).0, b"");
    }
}
