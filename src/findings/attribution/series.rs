//! Series of numbers: one panel, or one sender, counts on; two go on with what they counted before.

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

/// A series that is taken up again is taken up within so many orders.
const SOON: u8 = 6;
/// Numbers of two senders lie so far apart; what is nearer may be one sender's, out of turn.
const APART: i64 = 10;

/// The sequence numbers of the orders: whether two senders take turns.
#[derive(Clone, Debug, Default)]
pub(super) struct Turns {
    last: Option<i64>,
    /// The newest jump, and how many orders it is old.
    jump: Option<((i64, i64), u8)>,
    series: Series,
}

impl Turns {
    /// The next number; `jumps` when it does not follow the one before. Whether it is another sender's turn.
    pub(super) fn take(&mut self, value: i64, jumps: bool) -> bool {
        if let Some((jump, age)) = self.jump.take() {
            self.series.comes_back(value, jump);
            self.jump = (age < SOON).then_some((jump, age + 1));
        }
        let from = self.last.replace(value).filter(|last| jumps && (value - last).abs() >= APART);
        let jump = from.map(|from| (from, value));
        let turn = jump.is_some_and(|(from, to)| self.series.jumps(from, to));
        self.jump = jump.map(|jump| (jump, 0)).or(self.jump);
        turn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turns(values: impl IntoIterator<Item = i64>) -> usize {
        let mut turns = Turns::default();
        let mut last = None;
        let mut take = |value: i64| {
            let jumps = last.replace(value).is_some_and(|last| value != last + 1);
            turns.take(value, jumps)
        };
        values.into_iter().filter(|value| take(*value)).count()
    }

    #[test]
    fn two_senders_take_turns() {
        // By hand: of 199 jumps the first few tell nothing yet.
        assert!(turns((0..100).flat_map(|n| [100 + n, 600 + n])) > 190);
        assert!(turns((0..100).flat_map(|n| [100 + 2 * n, 101 + 2 * n, 600 + n])) > 190);
    }

    #[test]
    fn one_that_skips_or_begins_anew_takes_none() {
        assert_eq!(turns((0..300).filter(|n| n % 7 != 3)), 0);
        assert_eq!(turns((0..20).flat_map(|_| 0..90)), 0);
        assert_eq!(turns((0..20).flat_map(|n| [10 * n, 10 * n + 1, 10 * n + 4, 10 * n + 2])), 0);
    }
}
