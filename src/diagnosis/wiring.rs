//! Which driver output reaches which wheel: 24 ways, the right one first.

use crate::rover::wheels::Wheel;

/// By wheel: the output (named after the wheel it should feed) that reaches it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Wiring(pub [Wheel; 4]);

impl Wiring {
    /// Every output reaches its own wheel.
    pub const RIGHT: Self = Self(Wheel::ALL);

    /// All 24, the right one first.
    pub fn all() -> Vec<Self> {
        let mut all = Vec::with_capacity(24);
        for number in 0..256_usize {
            let places = [number >> 6, number >> 4 & 3, number >> 2 & 3, number & 3];
            let seen = places.iter().fold(0, |seen, place| seen | 1 << place);
            if seen == 15 {
                all.push(Self(places.map(|place| Wheel::ALL[place])));
            }
        }
        all
    }

    /// The output that reaches this wheel.
    pub const fn output_of(self, wheel: Wheel) -> Wheel {
        self.0[wheel.index()]
    }

    /// The wheel that this output reaches.
    pub fn reached_by(self, output: Wheel) -> Wheel {
        Wheel::ALL.into_iter().find(|wheel| self.output_of(*wheel) == output).unwrap_or(output)
    }

    /// 1 where this output drives this wheel as it drives its own; -1 where one of the two motors is mounted mirrored, so
    /// that the same voltage rolls it the other way. `inverted` says, by wheel, whether the table turns the sign for it.
    pub const fn mirrored(output: Wheel, wheel: Wheel, inverted: [bool; 4]) -> i32 {
        if inverted[output.index()] == inverted[wheel.index()] { 1 } else { -1 }
    }

    /// The same with the plugs at two outputs exchanged.
    pub fn with_plugs_exchanged(self, a: Wheel, b: Wheel) -> Self {
        Self(self.0.map(|output| {
            if output == a {
                b
            } else if output == b {
                a
            } else {
                output
            }
        }))
    }

    /// The exchanges of two plugs that put it right, fewest first to last.
    pub fn repairs(self) -> Vec<(Wheel, Wheel)> {
        let mut now = self;
        let mut steps = Vec::new();
        for wheel in Wheel::ALL {
            let output = now.output_of(wheel);
            if output != wheel {
                steps.push((wheel, output));
                now = now.with_plugs_exchanged(wheel, output);
            }
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_four_ways_each_put_right_by_its_exchanges() {
        let all = Wiring::all();
        assert_eq!((all.len(), all[0]), (24, Wiring::RIGHT));
        for wiring in all {
            let steps = wiring.repairs();
            assert!(steps.len() <= 3, "{wiring:?}");
            let end = steps.iter().fold(wiring, |now, (a, b)| now.with_plugs_exchanged(*a, *b));
            assert_eq!(end, Wiring::RIGHT, "{wiring:?}");
        }
    }
}
