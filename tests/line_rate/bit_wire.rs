//! A wire at the level of bits, apart from the model that the search scores with: a list of edges in time, each with
//! its jitter, and a receiver that ticks sixteen times a bit and votes.
//!
//! Rules and their sources. A frame of 8N1 is a low start bit, eight data bits, a high stop bit, the line resting high
//! (Maxim tutorial 2141, excerpt; least significant bit first: from memory). The receiver begins at the falling edge
//! and looks at the middle of each bit; the last look is 9.5 bit times after the edge (Circuit Cellar, excerpt). It
//! ticks sixteen times a bit and takes the majority of the three middle looks (Microchip USART chapter, excerpt). A
//! stop bit that is low is a framing error; what follows then differs from part to part (from memory), so both ways
//! are drawn.

/// Chance by a seed: splitmix64 (Steele, Lea and Flood, OOPSLA 2014; from memory).
pub struct Chance(u64);

impl Chance {
    /// Chance that always comes out the same for a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Less than `end`.
    pub fn below(&mut self, end: usize) -> usize {
        (self.bits() % end as u64) as usize
    }

    /// From -1 to 1.
    pub fn sway(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    /// One of them.
    pub fn pick<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// Falling and rising edges in seconds, in order; the line is high before the first and changes at each.
pub struct Edges(Vec<f64>);

impl Edges {
    /// What a sender at `rate` bits a second puts on the wire: bytes back to back, now and then a short pause, every
    /// edge up to `jitter` bit times off.
    pub fn sent(bytes: &[u8], rate: f64, jitter: f64, chance: &mut Chance) -> Self {
        let bit = 1.0 / rate;
        let (mut edges, mut level, mut at) = (Vec::new(), true, 20.0 * bit);
        for byte in bytes {
            let mut frame = vec![false];
            frame.extend((0..8).map(|place| byte & (1 << place) != 0));
            frame.push(true);
            for next in frame {
                if next != level {
                    edges.push(at + chance.sway() * jitter * bit);
                    level = next;
                }
                at += bit;
            }
            if chance.below(4) == 0 {
                at += bit * chance.below(3) as f64;
            }
        }
        Self(edges)
    }
}

/// A receiver with its own clock.
pub struct Receiver {
    /// Bits a second, its clock error included.
    pub rate: f64,
    /// Whether a low stop bit is taken for the next start bit; else it waits for the line to go high.
    pub restarts: bool,
}

impl Receiver {
    /// The bytes it gives, each with its framing error.
    pub fn hears(&self, edges: &Edges, chance: &mut Chance) -> Vec<(u8, bool)> {
        let tick = 1.0 / self.rate / 16.0;
        let mut look = Look { edges: &edges.0, place: 0 };
        let offset = (chance.bits() % 1000) as f64 / 1000.0 * tick;
        let end = edges.0.last().copied().unwrap_or(0.0);
        let (mut heard, mut now) = (Vec::new(), offset);
        let mut forced = false;
        loop {
            if !forced {
                // On to the first tick after the next falling edge.
                if look.low(now) {
                    now = after(look.next_edge(now), offset, tick);
                    continue;
                }
                let Some(fall) = look.next_edge(now) else { return heard };
                now = after(Some(fall), offset, tick);
                if !look.low(now) {
                    continue;
                }
            }
            forced = false;
            let begin = now;
            let mut vote = |bit: usize| {
                let votes = (7..=9).filter(|step| look.low(begin + (16 * bit + step) as f64 * tick)).count();
                votes < 2
            };
            if vote(0) {
                now = begin + 9.0 * tick;
                continue;
            }
            let byte = (0..8).fold(0_u8, |byte, bit| byte | u8::from(vote(bit + 1)) << bit);
            let stop = vote(9);
            heard.push((byte, !stop));
            now = begin + f64::from(16 * 9 + 9) * tick;
            if !stop && self.restarts && now < end {
                now = begin + f64::from(16 * 9) * tick;
                forced = true;
            }
        }
    }
}

/// The first tick not before an instant.
fn after(instant: Option<f64>, offset: f64, tick: f64) -> f64 {
    let instant = instant.unwrap_or(f64::MAX / 4.0);
    offset + ((instant - offset) / tick).ceil() * tick
}

/// Levels at times that mostly ascend.
struct Look<'a> {
    edges: &'a [f64],
    /// Edges at or before the last time asked for.
    place: usize,
}

impl Look<'_> {
    fn go(&mut self, at: f64) {
        while self.edges.get(self.place).is_some_and(|edge| *edge <= at) {
            self.place += 1;
        }
        while self.place > 0 && self.edges[self.place - 1] > at {
            self.place -= 1;
        }
    }

    fn low(&mut self, at: f64) -> bool {
        self.go(at);
        self.place % 2 == 1
    }

    fn next_edge(&mut self, at: f64) -> Option<f64> {
        self.go(at);
        self.edges.get(self.place).copied()
    }
}

/// At one rate, bytes come through unharmed; one bit is 1/rate long.
#[test]
fn the_wire_carries_bytes() {
    let mut chance = Chance::new(1);
    let text = b"way,port\nU\x00\xFF";
    for rate in [1200.0, 115_200.0] {
        for off in [0.98, 1.0, 1.02] {
            let edges = Edges::sent(text, rate * off, 0.03, &mut chance);
            let heard = Receiver { rate, restarts: false }.hears(&edges, &mut chance);
            let sound: Vec<(u8, bool)> = text.iter().map(|byte| (*byte, false)).collect();
            assert_eq!(heard, sound);
        }
    }
}

/// Figures worked out apart from this project for a text at 115200 baud: about 0.09 bytes come for each byte sent at a
/// tap rate of 9600, 0.46 at 57600, 1.46 at 230400.
#[test]
fn a_wrong_rate_gives_the_share_of_bytes_worked_out_elsewhere() {
    let mut chance = Chance::new(2);
    let line = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    for (rate, share) in [(9600.0, 0.09), (57_600.0, 0.46), (230_400.0, 1.46)] {
        let (mut sent, mut came) = (0, 0);
        for _ in 0..50 {
            let edges = Edges::sent(line, 115_200.0, 0.01, &mut chance);
            sent += line.len();
            came += Receiver { rate, restarts: false }.hears(&edges, &mut chance).len();
        }
        let found = came as f64 / sent as f64;
        assert!((found / share - 1.0).abs() < 0.35, "{rate}: {found:.2} against {share}");
    }
}
