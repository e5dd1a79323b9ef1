//! What bytes are to be expected at a trial rate, for each rate the sender may have.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::uart::{AfterError, HeardByte, Mismatch};

/// Rates that are tried and answered, baud: common practice, no source; 74880 is the start-up text of a chip with a
/// 26 MHz crystal (from memory). Rates closer than 4 % to another cannot be told apart and are left out.
pub const RATES: [u32; 17] = [
    1200, 2400, 4800, 9600, 14_400, 19_200, 28_800, 38_400, 57_600, 74_880, 115_200, 128_000, 230_400, 250_000,
    460_800, 500_000, 921_600,
];

/// Senders beyond the span: they are never tried, only told from those inside.
const BEYOND: [u32; 5] = [300, 600, 1_000_000, 1_500_000, 2_000_000];

/// Slowest and fastest sender of the close scale, baud, and its step.
const SCALE: (f64, f64, f64) = (300.0, 2_000_000.0, 1.05);

/// The close scale: senders of every rate, usual or not, by which an answer is fenced in.
pub fn scale() -> impl Iterator<Item = u32> {
    let (slowest, fastest, step) = SCALE;
    std::iter::successors(Some(slowest), move |rate| Some(rate * step))
        .take_while(move |rate| *rate <= fastest)
        .map(|rate| rate as u32)
}

/// Orders as people write them, of no link in particular; every link has its own, so this is only a likeness.
const TEXT: [&str; 14] = [
    "way,left\n",
    "go,12\r\n",
    "speed,180\n",
    "M1 -100\r\n",
    "stop\n",
    "F\n",
    "drive 0.5 30\n",
    "cmd=forward;\n",
    "L,255,0\r\n",
    "{\"x\":12}\n",
    "turn,-45\n",
    "A100 B200\n",
    "lamp,1\n",
    "S090\r\n",
];

/// Clock errors of the sender that are thought through, parts in one.
const ERRORS: [f64; 5] = [-0.02, -0.01, 0.0, 0.01, 0.02];

/// How late the edge is noticed, sixteenths of a bit: a receiver ticks, and edges sway a little.
const PHASES: [f64; 3] = [-0.3, 0.5, 1.3];

/// Bytes kept of one run of the model.
const MOST: usize = 300;

/// Share of everything else, so that no single byte decides.
const SPREAD: f64 = 0.06;

/// All rates a sender is thought to have: those that are answered and those beyond.
pub fn senders() -> impl Iterator<Item = u32> {
    RATES.into_iter().chain(BEYOND)
}

/// How likely each byte is, with and without a framing error.
#[derive(Clone, Debug)]
pub struct Expectation {
    with: [[f64; 2]; 256],
}

impl Expectation {
    /// What a receiver at `receiver` baud hears of `lines` from a sender at about `sender` baud, its clock off by each
    /// of `errors`.
    pub fn of<'a>(lines: impl Iterator<Item = &'a [u8]> + Clone, sender: f64, receiver: f64, errors: &[f64]) -> Self {
        let mut counts = [[0.0; 2]; 256];
        let mut all = 0.0;
        let ways = [AfterError::Waits, AfterError::Restarts].map(|after| PHASES.map(|phase| (after, phase)));
        for (error, (after, phase)) in
            errors.iter().flat_map(|error| ways.iter().flatten().map(move |way| (error, *way)))
        {
            let mismatch = Mismatch { sender: sender * (1.0 + error), receiver, phase, after };
            for line in lines.clone() {
                let heard = mismatch.hears(line, MOST);
                // Each line weighs what was sent, however many bytes it becomes.
                let weight = line.len() as f64 / heard.len().max(1) as f64;
                for HeardByte { byte, framing_error } in heard {
                    counts[usize::from(byte)][usize::from(framing_error)] += weight;
                    all += weight;
                }
            }
        }
        let even = SPREAD / 512.0;
        let share = |count: f64| if all > 0.0 { count / all * (1.0 - SPREAD) + even } else { 1.0 / 512.0 };
        Self { with: counts.map(|pair| pair.map(share)) }
    }

    /// Logarithm of how likely this byte is; `told` when the port tells framing errors.
    pub fn log(&self, heard: HeardByte, told: bool) -> f64 {
        let [fine, broken] = self.with[usize::from(heard.byte)];
        let likely = match (told, heard.framing_error) {
            (false, _) => fine + broken,
            (true, false) => 2.0 * fine,
            (true, true) => 2.0 * broken,
        };
        likely.ln()
    }
}

/// The expectations of all senders at all trial rates, worked out once.
#[derive(Clone, Debug)]
pub struct Expectations {
    text: BTreeMap<(u32, u32), Expectation>,
    bytes: BTreeMap<(u32, u32), Expectation>,
    /// Text of the senders of the close scale, worked out when it is first needed.
    close: OnceLock<BTreeMap<(u32, u32), Expectation>>,
}

impl Expectations {
    /// Works them out: some tenths of a second.
    pub fn new() -> Self {
        let text = table(&senders().collect::<Vec<_>>(), &text_lines(), &ERRORS);
        let bytes = table(&senders().collect::<Vec<_>>(), &binary_frames(), &ERRORS);
        Self { text, bytes, close: OnceLock::new() }
    }

    /// Logarithm of how likely a burst of text heard at `rate` is from this sender of the close scale.
    pub fn log_close(&self, sender: u32, rate: u32, burst: &[HeardByte], told: bool) -> f64 {
        let close = self.close.get_or_init(|| table(&scale().collect::<Vec<_>>(), &text_lines(), &[-0.0125, 0.0125]));
        close.get(&(sender, rate)).map_or(0.0, |of| burst.iter().map(|heard| of.log(*heard, told)).sum())
    }

    /// Logarithm of how likely a burst heard at `rate` is from this sender, as text or as plain bytes.
    pub fn log(&self, sender: u32, rate: u32, burst: &[HeardByte], told: bool) -> f64 {
        let sum = |table: &BTreeMap<(u32, u32), Expectation>| {
            table.get(&(sender, rate)).map_or(0.0, |of| burst.iter().map(|heard| of.log(*heard, told)).sum::<f64>())
        };
        sum(&self.text).max(sum(&self.bytes) - 2.0)
    }
}

impl Default for Expectations {
    fn default() -> Self {
        Self::new()
    }
}

fn text_lines() -> Vec<Vec<u8>> {
    TEXT.iter().map(|line| line.as_bytes().to_vec()).collect()
}

fn table(senders: &[u32], lines: &[Vec<u8>], errors: &[f64]) -> BTreeMap<(u32, u32), Expectation> {
    let pairs = senders.iter().flat_map(|sender| RATES.map(|rate| (*sender, rate)));
    let of = |(sender, rate): (u32, u32)| {
        let lines = lines.iter().map(Vec::as_slice);
        ((sender, rate), Expectation::of(lines, sender.into(), rate.into(), errors))
    };
    pairs.map(of).collect()
}

/// Frames of bytes with every value about as often: a multiplicative walk, the same each time.
fn binary_frames() -> Vec<Vec<u8>> {
    let mut state = 1_u32;
    let mut next = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    (0..12).map(|_| (0..11).map(|_| next()).collect()).collect()
}
