//! Counters in frames: the sequence number and the panel's own counter.

/// A counter that counts up by one and begins again at 0.
#[derive(Clone, Debug)]
pub struct Counter {
    counts: i64,
    last: Option<i64>,
}

/// How a counter moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The first value heard.
    First,
    /// On by one.
    Next,
    /// The same value again.
    Repeat,
    /// On by more: so many are missing.
    Gap(i64),
    /// Back by so many: frames out of order.
    Back(i64),
    /// To 0 from somewhere else: the sender began anew.
    Restart,
}

/// A step back by at most this many is taken as out of order, not as a wide gap. Common practice, no source.
const NEAR: i64 = 8;

impl Counter {
    /// A counter with `counts` values, 0 to `counts - 1`.
    pub fn new(counts: i64) -> Self {
        Self { counts: counts.max(2), last: None }
    }

    /// The last value.
    pub const fn last(&self) -> Option<i64> {
        self.last
    }

    /// Takes the next value. Where frames were `hit` since the last, a few missing before 0 were among them: no new start.
    pub fn take(&mut self, value: i64, hit: bool) -> Step {
        let Some(last) = self.last.replace(value) else { return Step::First };
        match (value - last).rem_euclid(self.counts) {
            0 => Step::Repeat,
            1 => Step::Next,
            ahead if value == 0 && !(hit && ahead <= NEAR) => Step::Restart,
            ahead if self.counts - ahead <= NEAR.min(self.counts / 4) => Step::Back(self.counts - ahead),
            ahead => Step::Gap(ahead - 1),
        }
    }

    /// Forgets: the sender is known to have begun anew.
    pub fn forget(&mut self) {
        self.last = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps() {
        let mut counter = Counter::new(100);
        let steps: Vec<Step> =
            [92, 97, 98, 98, 97, 99, 0, 1, 50, 0].into_iter().map(|v| counter.take(v, false)).collect();
        let due = [
            Step::First,
            Step::Gap(4),
            Step::Next,
            Step::Repeat,
            Step::Back(1),
            Step::Gap(1),
            Step::Next,
            Step::Next,
            Step::Gap(48),
            Step::Restart,
        ];
        assert_eq!(steps, due);
    }

    #[test]
    fn frames_that_were_hit_before_zero_are_no_new_start() {
        let step = |last, hit| {
            let mut counter = Counter::new(256);
            counter.take(last, false);
            counter.take(0, hit)
        };
        assert_eq!([step(254, true), step(254, false)], [Step::Gap(1), Step::Restart]);
        assert_eq!([step(248, true), step(247, true)], [Step::Gap(7), Step::Restart]);
    }
}
