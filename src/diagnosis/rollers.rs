//! Roller hands: at which corners the wheel of the wrong hand is mounted. 16 ways.

use crate::rover::wheels::Wheel;

/// The corners whose rollers have the wrong hand; bit 0 is FL, bit 3 is RR.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rollers(u8);

impl Rollers {
    /// An X seen from above.
    pub const RIGHT: Self = Self(0);

    /// How many ways there are.
    pub const COUNT: usize = 16;

    /// All sixteen, the right one first.
    pub fn all() -> [Self; Self::COUNT] {
        std::array::from_fn(|bits| Self(bits as u8))
    }

    /// Wrong at these corners.
    pub fn wrong_at(corners: &[Wheel]) -> Self {
        Self(corners.iter().fold(0, |bits, corner| bits | 1 << corner.index()))
    }

    /// Place in arrays of sixteen.
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// Whether the wheel at this corner has the wrong hand.
    pub const fn is_wrong(self, corner: Wheel) -> bool {
        self.0 >> corner.index() & 1 == 1
    }

    /// The corners that are wrong.
    pub fn wrong(self) -> Vec<Wheel> {
        Wheel::ALL.into_iter().filter(|corner| self.is_wrong(*corner)).collect()
    }

    /// Each corner takes what `from` names.
    pub fn moved(self, from: [Wheel; 4]) -> Self {
        let corners: Vec<Wheel> = Wheel::ALL.into_iter().filter(|corner| self.is_wrong(from[corner.index()])).collect();
        Self::wrong_at(&corners)
    }

    /// Every corner the other way.
    pub const fn turned_over(self) -> Self {
        Self(15 ^ self.0)
    }

    /// After the wheels of two corners are exchanged: a hand that was right there may be wrong here.
    pub fn with_wheels_exchanged(self, a: Wheel, b: Wheel) -> Self {
        let hand = |corner: Wheel| self.is_wrong(corner) != (roller_sign(corner) > 0);
        let wrong = |corner: Wheel, other: Wheel| hand(other) != (roller_sign(corner) > 0);
        let kept = self.0 & !(1 << a.index() | 1 << b.index());
        let bit = |corner: Wheel, other: Wheel| u8::from(wrong(corner, other)) << corner.index();
        Self(kept | bit(a, b) | bit(b, a))
    }
}

/// The sign of the touching roller's axle, along (1, s) in (x forward, y left), for an X seen from above.
pub const fn roller_sign(corner: Wheel) -> i32 {
    match corner {
        Wheel::FL | Wheel::RR => -1,
        Wheel::FR | Wheel::RL => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wheels_of_two_corners_exchanged() {
        let right = Rollers::RIGHT;
        assert_eq!(right.with_wheels_exchanged(Wheel::FL, Wheel::RR), right, "the same hand");
        let front = right.with_wheels_exchanged(Wheel::FL, Wheel::FR);
        assert_eq!(front, Rollers::wrong_at(&[Wheel::FL, Wheel::FR]), "the other hand");
        for rollers in Rollers::all() {
            let back = rollers.with_wheels_exchanged(Wheel::FL, Wheel::RL).with_wheels_exchanged(Wheel::FL, Wheel::RL);
            assert_eq!(back, rollers);
        }
    }
}
