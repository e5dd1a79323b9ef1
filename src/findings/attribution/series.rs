//! Series of the panel's own counter: one panel counts on, two go on with what they counted before.

use std::collections::VecDeque;

/// A counter that comes back to within so many of where it jumped from is a second series.
const NEAR: i64 = 3;
/// Where the counter left a series, so many places are kept.
const KEPT: usize = 4;
/// From so many returns on there are two series.
const SURE: u64 = 3;

/// Where the counter has been.
#[derive(Clone, Debug, Default)]
pub(super) struct Series {
    /// Values at which it left a series.
    left: VecDeque<i64>,
    /// How often it came back to one.
    returns: u64,
}

impl Series {
    /// The counter jumps: whether it goes on with a series that it left before, where two are known.
    pub(super) fn jumps(&mut self, from: i64, to: i64) -> bool {
        let goes_on = self.left.iter().any(|left| (1..=NEAR).contains(&(to - left)));
        if self.left.len() == KEPT {
            self.left.pop_front();
        }
        self.left.push_back(from);
        goes_on && self.returns >= SURE
    }

    /// Whether this value goes on behind `from` and not behind `to`, where a jump led from the one to the other.
    pub(super) fn comes_back(&mut self, value: i64, (from, to): (i64, i64)) -> bool {
        let back = (1..=NEAR).contains(&(value - from)) && !(0..=NEAR).contains(&(value - to));
        self.returns += u64::from(back);
        back
    }
}
