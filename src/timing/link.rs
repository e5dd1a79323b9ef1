//! What is known of the link and the tap: line settings, adapter latency, wall clock.
//!
//! These belong to the session, not to the rover file: they say how the bytes were heard.

use wheeltap_parsers::{Chunk, Nanos, Wire};

/// What a receiver with 16 samples a bit should be asked to bear, and the most that it bears, parts per million: 2.0 %,
/// and 4.54 % slow (Microchip, USART chapter, table of the largest error of the receiver's rate, 8 data bits; excerpt).
pub const ASKED_OF_A_RECEIVER: i64 = 20_000;
/// See [`ASKED_OF_A_RECEIVER`].
pub const BORNE_BY_A_RECEIVER: i64 = 45_400;

/// How one wire was listened to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WireFacts {
    /// Line rate in baud; `None` when it is not known (raw bytes, a value stream).
    pub rate: Option<u32>,
    /// Data bits, parity, stop bits, such as `8N1`.
    pub settings: String,
    /// The longest a byte can have waited between the wire and the program, nanoseconds: the adapter's timer and one
    /// USB frame.
    pub latency: Nanos,
    /// The port or file, for a person.
    pub port: String,
}

/// How the whole session was listened to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LinkFacts {
    /// By [`Wire::index`]; `None` when that wire is not tapped.
    pub wires: [Option<WireFacts>; 2],
    /// How a wire is listened to that is not known as tapped before it speaks, as in a stream; `None` where nothing is
    /// known of it.
    pub later: Option<WireFacts>,
    /// Wall clock at time 0, microseconds since 1970-01-01T00:00:00Z.
    pub begun_unix_us: Option<i64>,
    /// Minutes to add to UTC for the local time of the place.
    pub utc_offset_min: i32,
    /// Read from a recording of levels, not from a receiver of bytes.
    pub dump: bool,
    /// The recording has the inputs of one wheel's half bridge at least.
    pub pins: bool,
    /// How well it knows the duty of each wheel, by the place's index.
    pub duties: [[DutyKnown; 4]; 2],
}

/// How well a recording of levels knows the duty at one wheel's half bridge.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DutyKnown {
    /// As exactly as its times.
    #[default]
    Whole,
    /// Within so many thousandths: its times are coarse.
    Within(i32),
    /// No enable was recorded: full duty says which way only, for the enable may be pulsed or low.
    WhenPulsed,
    /// Its times are too coarse for pulses: it says which way only, and not whether at all.
    WayOnly,
}

impl LinkFacts {
    /// Facts of one wire.
    pub fn wire(&self, wire: Wire) -> Option<&WireFacts> {
        self.wires[wire.index()].as_ref()
    }

    /// The tapped wires.
    pub fn open_wires(&self) -> impl Iterator<Item = Wire> + '_ {
        Wire::BOTH.into_iter().filter(|wire| self.wire(*wire).is_some())
    }

    /// The largest adapter latency of the tapped wires, nanoseconds.
    pub fn latency(&self) -> Nanos {
        self.wires.iter().flatten().map(|facts| facts.latency).max().unwrap_or(0)
    }

    /// The instant a tick taken at `empty_at` vouches for: whatever was complete before it has been handed over.
    pub fn tick(&self, empty_at: Nanos) -> Nanos {
        empty_at - self.latency()
    }
}

/// Shortest time one byte can take at `rate` baud, nanoseconds: ten bit times (8N1) less 2.5 % for both clocks.
/// Ten bits and the slack of two crystals are common practice for 8N1; see "Time" in `DEVELOPERS.md`.
pub fn byte_ns(rate: Option<u32>) -> Nanos {
    match rate {
        Some(rate) if rate > 0 => 9_750_000_000 / i64::from(rate),
        _ => 0,
    }
}

/// A read as a chunk: `read_at` is when it returned, `empty_at` the last instant at which nothing was waiting.
pub fn chunk<'a>(
    facts: &WireFacts,
    wire: Wire,
    offset: u64,
    read_at: Nanos,
    empty_at: Nanos,
    bytes: &'a [u8],
) -> Chunk<'a> {
    Chunk { wire, offset, bytes, lo: empty_at - facts.latency, hi: read_at, byte_ns: byte_ns(facts.rate) }
}
