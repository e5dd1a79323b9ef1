//! A USB adapter as its makers describe it, and a computer that looks at it: only for tests, and sharing nothing with the
//! code that judges times.
//!
//! The adapter collects bytes and hands them over when a packet is full (64 bytes, 2 of them status, so 62 of data) or
//! when its latency timer runs out, 16 ms as delivered; the timer runs freely and begins again with each packet (FTDI
//! application note AN232B-04, read at second hand). Then the next USB frame takes them (1 ms at full speed: USB 2.0
//! specification, section 4.4.1, recalled). The reading loop looks every 4 ms, wakes up to 0.3 ms late, and now and then
//! does not run at all for 20 to 60 ms.

/// One millisecond, nanoseconds.
pub const MS: i64 = 1_000_000;
/// Its latency timer as delivered.
pub const TIMER: i64 = 16 * MS;
/// Data bytes of a packet.
const PACKET: usize = 62;
/// A USB frame.
const FRAME: i64 = MS;
/// The loop waits this long for bytes.
const POLL: i64 = 4 * MS;

/// Numbers that look random and are the same each time (xorshift, Marsaglia 2003).
pub struct Chance(u64);

impl Chance {
    /// Begins with this seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// 0 to below 1.
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low` to below `high`.
    pub fn span(&mut self, low: i64, high: i64) -> i64 {
        low + (self.share() * (high - low) as f64) as i64
    }

    /// Normally distributed about nothing (Box and Muller 1958).
    pub fn bell(&mut self, sigma: i64) -> i64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        (radius * (std::f64::consts::TAU * self.share()).cos() * sigma as f64) as i64
    }
}

/// What the loop came back with.
#[derive(Clone, Debug)]
pub struct Look {
    /// When.
    pub at: i64,
    /// When it came back the time before.
    pub before: i64,
    /// What it read; empty when nothing was waiting.
    pub bytes: Vec<u8>,
}

/// Packets as an adapter with this timer hands them over: when they are there to be read, and their bytes.
fn packets(bytes: &[(i64, u8)], timer: i64) -> Vec<(i64, Vec<u8>)> {
    let mut packets = Vec::new();
    let mut waiting: Vec<u8> = Vec::new();
    let mut began = 0;
    let mut send = |at: i64, waiting: &mut Vec<u8>| {
        if !waiting.is_empty() {
            packets.push(((at / FRAME + 1) * FRAME, std::mem::take(waiting)));
        }
    };
    for (at, byte) in bytes {
        while began + timer <= *at {
            began += timer;
            send(began, &mut waiting);
        }
        waiting.push(*byte);
        if waiting.len() == PACKET {
            began = *at;
            send(began, &mut waiting);
        }
    }
    send(began + timer, &mut waiting);
    packets
}

/// What a computer sees of these bytes until `end`, through an adapter with this timer. `stalls` says how often a second
/// it does not run.
pub fn looks(bytes: &[(i64, u8)], end: i64, timer: i64, stalls: f64, chance: &mut Chance, mut see: impl FnMut(&Look)) {
    let packets = packets(bytes, timer);
    let mut packets = packets.into_iter().peekable();
    let mut before = 0;
    let gap = |chance: &mut Chance| match stalls {
        0.0 => i64::MAX / 2,
        often => (-(1.0 - chance.share()).ln() / often * 1e9) as i64,
    };
    let mut stall = gap(chance);
    while before < end {
        let ready = packets.peek().map_or(i64::MAX, |(at, _)| *at).max(before);
        let mut at = ready.min(before + POLL) + chance.span(20_000, 300_000);
        if at >= stall {
            at = at.max(stall + chance.span(20 * MS, 60 * MS));
            stall = at + gap(chance);
        }
        let mut read = Vec::new();
        while let Some((_, bytes)) = packets.next_if(|(there, _)| *there <= at) {
            read.extend(bytes);
        }
        see(&Look { at, before, bytes: read });
        before = at;
    }
}
