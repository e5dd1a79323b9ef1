//! Learns whether frames come evenly, and how far apart: from slopes over long baselines and from the intervals of
//! single and of eightfold steps.
//!
//! The distance of two reads says nothing of the period: through an adapter's 16 ms timer a 20 ms rhythm shows as 16 or
//! 32. A slope over many frames does, for the error of its two ends is divided by their number.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

/// What was learned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Learned {
    /// Too little was heard.
    Little,
    /// The frames do not come evenly.
    Uneven,
    /// They do.
    Even(Even),
}

/// An even rhythm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Even {
    /// From frame to frame, nanoseconds.
    pub period: Nanos,
    /// Jitter that is usual for this sender and is never called late, nanoseconds.
    pub jitter: Nanos,
    /// The period is known so well that twelve frames further on it is off by less than half the least jitter.
    pub settled: bool,
}

/// Jitter of a sound sender that is never called late, nanoseconds.
pub const ALLOWED_JITTER: Nanos = 3_000_000;
/// How many gaps are kept to judge the rhythm.
const GAPS: usize = 64;
/// Fewest single gaps before a rhythm is believed.
const ENOUGH: usize = 16;
/// Fewest eightfold gaps.
const ENOUGH_EIGHTFOLD: usize = 4;
/// The baselines of slopes, in frames.
const BASELINES: [usize; 3] = [8, 32, 200];
/// Fewest slopes of a baseline before it is used.
const ENOUGH_SLOPES: usize = 24;
/// A period must hold over so many frames for a common beat.
const BEAT: Nanos = 12;
/// So many in a hundred single and eightfold gaps must fit before a rhythm is believed.
const BELIEVE: [usize; 2] = [90, 80];
/// So many keep it: a stall or a few late frames do not change a sender's rhythm.
const KEEP: [usize; 2] = [70, 40];
/// It is judged anew after so many frames, and after so many once it is old.
const AGAIN: [u64; 2] = [8, 64];

/// Learns from the frames of one sort.
#[derive(Clone, Debug)]
pub struct Learner {
    /// This run of frames: (place in the run, interval).
    run: VecDeque<(i64, Interval)>,
    slopes: [VecDeque<Nanos>; 3],
    single: VecDeque<Interval>,
    eightfold: VecDeque<Interval>,
    heard: u64,
    learned: Learned,
}

impl Default for Learner {
    fn default() -> Self {
        Self {
            run: VecDeque::new(),
            slopes: Default::default(),
            single: VecDeque::new(),
            eightfold: VecDeque::new(),
            heard: 0,
            learned: Learned::Little,
        }
    }
}

impl Learner {
    /// What was learned so far.
    pub const fn learned(&self) -> Learned {
        self.learned
    }

    /// The next frame was not due at a time that the last one set.
    pub fn interrupt(&mut self) {
        self.run.clear();
    }

    /// Takes a frame that came `steps` places after the one before.
    pub fn take(&mut self, steps: i64, at: Interval) {
        self.heard += 1;
        let place = match self.run.back().copied() {
            None => 0,
            Some((before, was)) => {
                let gap = at.since(was);
                if steps == 1 {
                    push(&mut self.single, gap, GAPS);
                }
                if self.is_silence(gap, steps) {
                    self.run.clear();
                    0
                } else {
                    before + steps.max(1)
                }
            }
        };
        push(&mut self.run, (place, at), BASELINES[2] + 1);
        self.add_slopes(place, at);
        let again = AGAIN[usize::from(self.heard > 512)];
        if self.heard.is_multiple_of(again) {
            self.learned = self.judge();
        }
    }

    /// Over a silence nothing can be learned: nobody knows how many frames it cost.
    fn is_silence(&self, gap: Interval, steps: i64) -> bool {
        matches!(self.learned, Learned::Even(even) if gap.lo * 2 > (2 * steps.max(1) + 3) * even.period)
    }

    fn add_slopes(&mut self, place: i64, at: Interval) {
        for (slopes, baseline) in self.slopes.iter_mut().zip(BASELINES) {
            let begin = self.run.len().checked_sub(baseline + 1).and_then(|index| self.run.get(index));
            let Some((before, was)) = begin else { return };
            let over = at.since(*was);
            push(slopes, middle(over) / (place - before).max(1), GAPS);
            if baseline == BASELINES[0] && place - before == baseline as i64 {
                push(&mut self.eightfold, over, GAPS);
            }
        }
    }

    fn judge(&self) -> Learned {
        if self.single.len() < ENOUGH {
            return self.learned;
        }
        let enough = |index: &usize| self.slopes[*index].len() >= ENOUGH_SLOPES;
        let longest = (0..BASELINES.len()).rev().find(enough).unwrap_or(0);
        let Some(period) = median(self.slopes[longest].iter().copied()) else { return Learned::Uneven };
        let known = matches!(self.learned, Learned::Even(even) if (even.period - period).abs() <= period / 50);
        let [single, eightfold] = if known { KEEP } else { BELIEVE };
        let even = period > 2 * ALLOWED_JITTER
            && share(&self.single, period) >= single
            && self.eightfold.len() >= ENOUGH_EIGHTFOLD
            && share(&self.eightfold, 8 * period) >= eightfold;
        if !even {
            return Learned::Uneven;
        }
        // The interval of a gap is as wide as those of both its ends.
        let width = median(self.single.iter().map(|gap| gap.width())).unwrap_or(0) / 2;
        let early = self.single.iter().filter(|gap| gap.hi < period - ALLOWED_JITTER.max(period / 10)).count();
        let settled = enough(&longest)
            && width * BEAT / BASELINES[longest] as i64 <= ALLOWED_JITTER / 2
            && early * OWN_BEAT <= self.single.len();
        Learned::Even(Even { period, jitter: self.jitter(period, width), settled })
    }

    /// 3 ms or a tenth of the period; or six times the spread beyond what the tap cannot tell; or half as much again as
    /// one gap in ten certainly exceeds. A tap that is nearly as fine as the sender's own jitter hides half of it:
    /// there half its width comes on top. A tenth and a half are judgement: senders that wander so are sound.
    fn jitter(&self, period: Nanos, width: Nanos) -> Nanos {
        let beyond = self.single.iter().map(|gap| ((middle(*gap) - period).abs() - gap.width() / 2).max(0));
        let spread = 6 * median(beyond).unwrap_or(0);
        let mut over: Vec<Nanos> = self.single.iter().map(|gap| (gap.lo - period).max(0)).collect();
        over.sort_unstable();
        let usual = over.get(over.len() * 9 / 10).map_or(0, |over| over * 3 / 2);
        let hidden = if width <= 2 * ALLOWED_JITTER { width / 2 } else { 0 };
        spread.max(usual).max(ALLOWED_JITTER).max(period / 10) + hidden
    }
}

/// A sender of which one gap in so many or more is certainly short sends changes in between: it has no common beat, and
/// its period is learned too short to reckon twelve frames on.
const OWN_BEAT: usize = 50;

/// How many in a hundred of these gaps can be `due` long, give or take a fiftieth and the jitter.
fn share(gaps: &VecDeque<Interval>, due: Nanos) -> usize {
    let slack = due / 50 + ALLOWED_JITTER;
    let fits = gaps.iter().filter(|gap| gap.lo - slack <= due && due <= gap.hi + slack).count();
    fits * 100 / gaps.len().max(1)
}

const fn middle(interval: Interval) -> Nanos {
    i64::midpoint(interval.lo, interval.hi)
}

fn push<T>(list: &mut VecDeque<T>, item: T, most: usize) {
    if list.len() == most {
        list.pop_front();
    }
    list.push_back(item);
}

fn median(list: impl Iterator<Item = Nanos>) -> Option<Nanos> {
    let mut list: Vec<Nanos> = list.collect();
    let half = list.len() / 2;
    (!list.is_empty()).then(|| *list.select_nth_unstable(half).1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    /// A row of numbers that looks random and is the same each time (xorshift, Marsaglia 2003).
    struct Row(u64);

    impl Row {
        fn below(&mut self, below: i64) -> i64 {
            self.0 ^= self.0 << 13;
            self.0 ^= self.0 >> 7;
            self.0 ^= self.0 << 17;
            (self.0 % below as u64) as i64
        }
    }

    /// As a 16 ms timer hands frames over.
    fn gridded(at: Nanos) -> Interval {
        let grid = (at + 16 * MS - 1).div_euclid(16 * MS) * 16 * MS;
        Interval::new(grid - 17 * MS, grid)
    }

    fn learned(times: impl Iterator<Item = Nanos>) -> Learned {
        let mut learner = Learner::default();
        times.for_each(|at| learner.take(1, gridded(at)));
        learner.learned()
    }

    #[test]
    fn a_rhythm_is_seen_through_the_adapters_grid() {
        for (period, seed) in [(20, 1), (50, 2), (20, 3), (50, 4), (100, 5)] {
            let mut row = Row(seed);
            let learned = learned((0..400).map(|n| n * period * MS + row.below(1_500_000)));
            let Learned::Even(even) = learned else { panic!("{period} ms: {learned:?}") };
            assert!((even.period - period * MS).abs() * 1000 < period * MS, "{period} ms: {even:?}");
            assert!(even.settled && even.jitter == ALLOWED_JITTER.max(even.period / 10), "{even:?}");
        }
    }

    #[test]
    fn chance_is_not_a_rhythm() {
        for seed in 1..40 {
            let mut row = Row(seed);
            let mut at = 0;
            let poisson = (0..200).map(|_| {
                at += (-(1.0 - row.below(1 << 30) as f64 / f64::from(1 << 30)).ln() * 50e6) as i64;
                at
            });
            let learned = learned(poisson);
            assert_eq!(learned, Learned::Uneven, "seed {seed}");
        }
    }
}
