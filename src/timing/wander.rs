//! How far a sender wanders about its beat, learned from frames that came certainly too early.
//!
//! A late frame may be a fault; an early one is the sender's own jitter and nothing else. So what is early tells how late
//! a frame of the same sender may be without being called so.
//!
//! Let a sender's jitter be normal with sigma s, and each frame be known within an interval of width w in which it can
//! lie anywhere. Two frames contradict each other where their jitters differ by more than both intervals hide: on
//! average by E[D+^3] / (6 w^2) with D normal, of sigma sqrt(2) s. So a frame comes before the latest of the twelve before
//! it by 4.5 s^3 / w^2 on average where w is wide. Where w is nothing it does so by 1.63 s, the expected largest of twelve
//! normal values (Tippett 1925, from memory). The sum of both inverses is within 17 % of s for every w between: see the
//! test, which draws the numbers.

use wheeltap_parsers::{Interval, Nanos};

/// Before anything is learned a sender is taken to wander so far (one sigma), nanoseconds. Judgement: small boards that
/// send between other work do so.
const AT_FIRST: Nanos = 2_000_000;
/// This belief weighs as much as so many frames.
const WEIGHT: i64 = 32;
/// So many frames are remembered.
const MEMORY: i64 = 2_048;
/// Jitter is believed to stay within so many sigma: three to either side of the beat, and one because sigma itself is
/// learned no better than within a sixth.
const SIGMAS: Nanos = 7;

/// What was learned: means over the last frames.
#[derive(Clone, Debug)]
pub struct Wander {
    frames: i64,
    /// By how much frames come certainly before the latest of the twelve before them allows, picoseconds.
    early: i64,
    /// How wide their intervals are, nanoseconds.
    width: Nanos,
    allowed: Nanos,
}

impl Default for Wander {
    fn default() -> Self {
        Self { frames: WEIGHT, early: 0, width: 0, allowed: SIGMAS * AT_FIRST }
    }
}

impl Wander {
    /// Takes a frame that was due no sooner than `earliest`, by each of the twelve before it.
    pub fn take(&mut self, at: Interval, earliest: Nanos) {
        if self.width == 0 {
            self.width = at.width().max(1);
            self.early = early(AT_FIRST, self.width);
        }
        self.frames = (self.frames + 1).min(MEMORY);
        self.early += ((earliest - at.hi).max(0) * 1_000 - self.early) / self.frames;
        self.width += (at.width() - self.width) / self.frames;
        self.allowed = SIGMAS * sigma(self.early, self.width);
    }

    /// Jitter that is this sender's own and is never called late, nanoseconds. Where intervals hide more than half a
    /// period they hide the jitter too, and what is early may be the trace of a late frame that was not called so: no
    /// more than three tenths of the period are believed then.
    pub fn allowed(&self, period: Nanos) -> Nanos {
        if self.width > period / 2 { self.allowed.min(period * 3 / 10) } else { self.allowed }
    }
}

/// The sigma of a sender whose frames come early so much on average (picoseconds), through intervals so wide.
fn sigma(early: i64, width: Nanos) -> Nanos {
    let micros = width / 1_000;
    // Nanoseconds by square microseconds: its cube root is in units of 100 ns.
    let cubed = (early / 1_000).saturating_mul(micros * micros) / 9 * 2;
    100 * cube_root(cubed) + early / 1_630
}

/// The other way round, by halving.
fn early(sigma_is: Nanos, width: Nanos) -> i64 {
    let (mut low, mut high) = (0, sigma_is.saturating_mul(1_630));
    while low + 1 < high {
        let middle = i64::midpoint(low, high);
        if sigma(middle, width) < sigma_is { low = middle } else { high = middle }
    }
    high
}

/// The largest whole number whose cube is not above `cubed`, which is not negative.
fn cube_root(cubed: i64) -> i64 {
    // Near enough that one step to either side is the most it can be off.
    let near = (cubed as f64).cbrt() as i64;
    let is_above = |root: i64| root.checked_pow(3).is_none_or(|cube| cube > cubed);
    match (is_above(near), is_above(near + 1)) {
        (true, _) => near - 1,
        (_, true) => near,
        _ => near + 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::VecDeque;

    const MS: Nanos = 1_000_000;

    /// Numbers that look random and are the same each time (xorshift, Marsaglia 2003).
    struct Row(u64);

    impl Row {
        fn share(&mut self) -> f64 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            (self.0 >> 11) as f64 / (1_u64 << 53) as f64
        }

        /// Normally distributed about nothing (Box and Muller 1958), never beyond three sigma.
        fn bell(&mut self, sigma: f64) -> f64 {
            loop {
                let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
                let drawn = radius * (std::f64::consts::TAU * self.share()).cos();
                if drawn.abs() <= 3.0 {
                    return drawn * sigma;
                }
            }
        }
    }

    #[test]
    fn cube_roots() {
        for (cubed, root) in [(0, 0), (1, 1), (7, 1), (8, 2), (26, 2), (27, 3), (1_000_000_000, 1_000)] {
            assert_eq!(cube_root(cubed), root);
        }
        assert_eq!(cube_root(i64::MAX), 2_097_151);
        for root in (1..2_097_151).step_by(997) {
            let cubed = root * root * root;
            assert_eq!([cubed - 1, cubed, cubed + 1].map(cube_root), [root - 1, root, root]);
        }
    }

    /// What is learned is the sigma that was drawn, and no frame of such a sender comes later than is allowed.
    #[test]
    fn a_senders_jitter_is_learned_through_any_tap() {
        for width in [0.2, 1.0, 3.0, 5.0, 9.0, 17.0, 19.0] {
            for sigma in [0.3, 0.5, 1.0, 2.0, 3.0] {
                let mut row = Row((width * 10.0 + sigma * 1000.0) as u64 + 77);
                let mut wander = Wander::default();
                let mut kept: VecDeque<Interval> = VecDeque::new();
                let mut learned = Vec::new();
                for place in 0..20_000 {
                    let done = row.bell(sigma);
                    let lo = done - row.share() * width;
                    let at = Interval::new((lo * 1e6) as i64, ((lo + width) * 1e6) as i64);
                    if kept.len() == 12 {
                        let latest = kept.iter().map(|at| at.hi).min().unwrap_or(0);
                        let late = at.lo - latest;
                        // One that wanders more than is believed at first has to be learned before.
                        let learning = sigma > 2.0 && place < 1_000;
                        let allowed = wander.allowed(Nanos::MAX);
                        assert!(late <= allowed || learning, "{sigma} ms by {width} ms, frame {place}: {late} ns late");
                        wander.take(at, kept.iter().map(|at| at.lo).max().unwrap_or(0));
                        kept.pop_front();
                    }
                    kept.push_back(at);
                    if place >= 2_000 {
                        learned.push(wander.allowed(Nanos::MAX) / SIGMAS);
                    }
                }
                let mean = learned.iter().sum::<i64>() as f64 / learned.len() as f64 / 1e6;
                // Where a wide interval hides small jitter, contradictions are too rare to tell it from none.
                let least = if sigma < 1.0 { 0.0 } else { 0.85 };
                assert!((least..=1.3).contains(&(mean / sigma)), "{sigma} ms by {width} ms: learned {mean}");
            }
        }
    }

    #[test]
    fn a_sender_that_keeps_its_beat_is_soon_believed() {
        let mut wander = Wander::default();
        assert_eq!(wander.allowed(Nanos::MAX), 14 * MS);
        for _ in 0..400 {
            wander.take(Interval::new(0, 17 * MS), 0);
        }
        assert!(wander.allowed(Nanos::MAX) < 7 * MS, "{}", wander.allowed(Nanos::MAX));
    }
}
