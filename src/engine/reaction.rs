//! How long a press takes to reach the wire: a key of the laptop is tapped together with the panel.
//!
//! Two hands never tap at quite the same instant: some 10 to 30 ms lie between them (common practice, no source), so
//! one tap says little and twenty say more.

use wheeltap_parsers::Nanos;

use super::snapshot::Reaction;

/// The remark that the console writes for a tap.
pub const TAP: &str = "tapped together with the panel";
/// A line this much before or after a tap can belong to it.
const NEAR: (Nanos, Nanos) = (300_000_000, 2_000_000_000);
/// The most taps kept.
const MOST: usize = 64;

/// Taps and the lines that belong to them.
#[derive(Clone, Debug, Default)]
pub struct Reactions {
    last_press: Option<Nanos>,
    waiting: Option<Nanos>,
    delays: Vec<Nanos>,
}

impl Reactions {
    /// A tap at `at`. A line that came just before belongs to it.
    pub fn tapped(&mut self, at: Nanos) {
        match self.last_press.take().filter(|press| at - press <= NEAR.0) {
            Some(press) => self.keep(press - at),
            None => self.waiting = Some(at),
        }
    }

    /// A move began on the wire at `at`.
    pub fn pressed(&mut self, at: Nanos) {
        match self.waiting.take().filter(|tap| at - tap <= NEAR.1) {
            Some(tap) => self.keep(at - tap),
            None => self.last_press = Some(at),
        }
    }

    fn keep(&mut self, delay: Nanos) {
        if self.delays.len() == MOST {
            self.delays.remove(0);
        }
        self.delays.push(delay);
    }

    /// Median and spread; `None` before the first tap with its line.
    pub fn measured(&self) -> Option<Reaction> {
        let mut sorted = self.delays.clone();
        sorted.sort_unstable();
        let at = |share: usize| sorted.get((sorted.len().checked_sub(1)?) * share / 100).copied();
        Some(Reaction { taps: sorted.len(), median: at(50)?, low: at(10)?, high: at(90)? })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    #[test]
    fn taps_find_their_lines_on_either_side() {
        let mut reactions = Reactions::default();
        for (tap, press) in [(1000, 1040), (3000, 3060), (5000, 4990)] {
            if press < tap {
                reactions.pressed(press * MS);
                reactions.tapped(tap * MS);
            } else {
                reactions.tapped(tap * MS);
                reactions.pressed(press * MS);
            }
        }
        // A tap with no line, and a line with no tap, count for nothing.
        reactions.tapped(9000 * MS);
        reactions.pressed(20_000 * MS);
        let measured = reactions.measured();
        assert_eq!(measured, Some(Reaction { taps: 3, median: 40 * MS, low: -10 * MS, high: 40 * MS }));
    }
}
