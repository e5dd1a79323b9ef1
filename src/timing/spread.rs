//! How many times are spread: quantiles of times that are known as intervals only.
//!
//! The quantile of all lower ends is no larger, that of all upper ends no smaller than the true one, for sorting keeps
//! the order of what is below and what is above. So a quantile is an interval itself, and the true one lies inside.

use wheeltap_parsers::{Interval, Nanos};

/// Steps of a bucket within each doubling: a bucket is at most 1/64 of its value wide.
const STEPS: u64 = 64;

/// Counts times in buckets that widen with the time.
#[derive(Clone, Debug, Default)]
struct Buckets {
    counts: Vec<u32>,
}

/// The bucket of a time in microseconds.
const fn bucket(micros: u64) -> usize {
    if micros < 2 * STEPS {
        return micros as usize;
    }
    let doubling = (micros.ilog2() - STEPS.ilog2()) as u64;
    (STEPS * doubling + (micros >> doubling)) as usize
}

/// The shortest time in a bucket, and the shortest in the next one, microseconds.
const fn edges(bucket: usize) -> (u64, u64) {
    let bucket = bucket as u64;
    if bucket < 2 * STEPS {
        return (bucket, bucket + 1);
    }
    let doubling = bucket / STEPS - 1;
    let low = (bucket - STEPS * doubling) << doubling;
    (low, low + (1 << doubling))
}

impl Buckets {
    fn add(&mut self, time: Nanos) {
        let place = bucket(time.max(0).unsigned_abs() / 1000);
        if self.counts.len() <= place {
            self.counts.resize(place + 1, 0);
        }
        if let Some(count) = self.counts.get_mut(place) {
            *count = count.saturating_add(1);
        }
    }

    /// Edges of the bucket that holds the time of this rank (from 1).
    fn at(&self, rank: u64) -> (u64, u64) {
        let mut below = 0;
        let place = self.counts.iter().position(|count| {
            below += u64::from(*count);
            below >= rank
        });
        edges(place.unwrap_or(0))
    }
}

/// Times, each known as an interval.
#[derive(Clone, Debug, Default)]
pub struct Spread {
    count: u64,
    lo: Buckets,
    hi: Buckets,
    longest: [Nanos; 2],
}

impl Spread {
    /// Takes one more time; what lies below nothing counts as nothing.
    pub fn add(&mut self, time: Interval) {
        self.count += 1;
        self.lo.add(time.lo);
        self.hi.add(time.hi);
        let [lo, hi] = self.longest;
        self.longest = [lo.max(time.lo), hi.max(time.hi)];
    }

    /// How many.
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// The time that `per_mille` of a thousand do not exceed (nearest rank); `None` before the first.
    pub fn quantile(&self, per_mille: u64) -> Option<Interval> {
        let rank = (self.count * per_mille).div_ceil(1000).clamp(1, self.count.max(1));
        let lo = self.lo.at(rank).0 * 1000;
        let hi = self.hi.at(rank).1 * 1000;
        (self.count > 0).then(|| Interval::new(lo as Nanos, (hi as Nanos).min(self.longest[1].max(0))))
    }

    /// The longest; `None` before the first.
    pub fn longest(&self) -> Option<Interval> {
        let [lo, hi] = self.longest;
        (self.count > 0).then(|| Interval::new(lo, hi))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn buckets_follow_on_each_other() {
        for place in 0..2000 {
            let (low, next) = edges(place);
            assert_eq!(edges(place + 1).0, next);
            assert_eq!((bucket(low), bucket(next - 1)), (place, place));
            assert!((next - low) * STEPS <= low.max(STEPS), "bucket {place}: {low} to {next}");
        }
    }

    proptest! {
        /// The reference sorts the true times and takes the nearest rank: the smallest with at least that share at or
        /// below it.
        #[test]
        fn the_true_quantile_lies_inside(
            times in prop::collection::vec((0i64..5_000_000_000, 0i64..20_000_000, 0i64..20_000_000), 1..300),
            per_mille in prop::sample::select(vec![500u64, 950, 999, 1000]),
        ) {
            let mut spread = Spread::default();
            for (time, before, after) in &times {
                spread.add(Interval::new(time - before, time + after));
            }
            let mut sorted: Vec<i64> = times.iter().map(|(time, ..)| *time).collect();
            sorted.sort_unstable();
            let share = per_mille as f64 / 1000.0;
            let place = sorted.iter().position(|time| {
                sorted.iter().filter(|other| *other <= time).count() as f64 >= share * sorted.len() as f64 - 1e-9
            });
            let truth = sorted[place.unwrap()];
            let found = spread.quantile(per_mille).unwrap();
            prop_assert!(found.lo <= truth && truth <= found.hi, "{truth} is not in {found:?}");
            let longest = spread.longest().unwrap();
            prop_assert!(longest.lo <= *sorted.last().unwrap() && *sorted.last().unwrap() <= longest.hi);
        }
    }
}
