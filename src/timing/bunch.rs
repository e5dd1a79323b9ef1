//! Frames that waited and then came one upon the other: a stall of the sender, seen by its end.
//!
//! Certain only: the silence was longer than 1.8 periods whatever the tap did, and the frames behind it came nearer to
//! each other than their rhythm whatever the tap did. Frames that one read brought together prove nothing.

use wheeltap_parsers::{Interval, Nanos};

/// Frames that waited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bunched {
    /// How many came together, as far as is certain.
    pub frames: u32,
    /// The silence before them was at least so long, nanoseconds.
    pub gap: Nanos,
}

/// Fewest and most frames of a bunch.
const FRAMES: std::ops::RangeInclusive<u32> = 3..=6;

/// Looks for bunches among the frames of one sort.
#[derive(Clone, Debug, Default)]
pub struct Bunch {
    before: Option<Interval>,
    open: Option<(Interval, Bunched)>,
}

impl Bunch {
    /// The next frame says nothing with those before it.
    pub fn interrupt(&mut self) {
        *self = Self::default();
    }

    /// Takes a frame due `period` after the one before; `due` is false where silence before it was no fault.
    pub fn take(&mut self, at: Interval, period: Nanos, due: bool) -> Option<Bunched> {
        let before = self.before.replace(at)?;
        let gap = at.lo - before.hi;
        if due && gap * 10 > period * 18 {
            self.open = Some((at, Bunched { frames: 1, gap }));
            return None;
        }
        let (first, bunched) = self.open.as_mut()?;
        bunched.frames += 1;
        let over = at.hi - first.lo;
        let close = over * 10 < i64::from(bunched.frames - 1) * period * 6;
        let found = (close && FRAMES.contains(&bunched.frames)).then_some(*bunched);
        if found.is_some() || bunched.frames >= *FRAMES.end() {
            self.open = None;
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    fn found(times: &[i64], width: i64) -> Vec<Bunched> {
        let mut bunch = Bunch::default();
        let at = |ms: &i64| Interval::new((ms - width) * MS, ms * MS);
        times.iter().filter_map(|ms| bunch.take(at(ms), 50 * MS, true)).collect()
    }

    #[test]
    fn a_stall_and_its_bunch() {
        let times = [0, 50, 100, 300, 303, 306, 309, 350];
        assert_eq!(found(&times, 1), [Bunched { frames: 3, gap: 199 * MS }]);
        // Through a 16 ms timer it takes one frame more to be sure: 17 + 9 ms is not below 0.6 * 50 ms.
        assert_eq!(found(&times, 17), [Bunched { frames: 3, gap: 183 * MS }]);
        assert_eq!(found(&[0, 50, 250, 300, 350, 400, 450], 1), [], "a silence alone is no bunch");
        assert_eq!(found(&[0, 50, 52, 54, 56, 58], 1), [], "nor are frames together without a silence");
    }
}
