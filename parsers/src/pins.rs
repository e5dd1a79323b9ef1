//! What a recording of levels tells besides bytes: what the pins of a driver were told, and the clock of a wire.

use crate::chunk::{Nanos, Wire};

/// Where pins were recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// At the drive board's own pins.
    Chip,
    /// At the inputs of the half bridge that feeds the wheel, behind the loom.
    Wheel,
}

impl Place {
    /// Both, in the order used everywhere.
    pub const BOTH: [Self; 2] = [Self::Chip, Self::Wheel];

    /// Place in arrays of two.
    pub const fn index(self) -> usize {
        match self {
            Self::Chip => 0,
            Self::Wheel => 1,
        }
    }

    /// `chip` or `wheel`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chip => "chip",
            Self::Wheel => "wheel",
        }
    }
}

/// What one wheel's half bridge was told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Told {
    /// Its signals are not in the recording.
    #[default]
    NotProbed,
    /// One of its inputs floated or was not known: nobody can say.
    Open,
    /// A duty in thousandths, -1000 to +1000, plus towards the nose.
    Duty(i32),
}

/// What the pins at one place told all four wheels, FL FR RL RR, from an instant on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pins {
    /// From when on.
    pub at: Nanos,
    /// Where.
    pub place: Place,
    /// What each wheel was told.
    pub wheels: [Told; 4],
}

/// The clock of one wire's sender, measured from the edges so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineClock {
    /// Up to when.
    pub at: Nanos,
    /// Which wire.
    pub wire: Wire,
    /// Measured rate, thousandths of a baud.
    pub milli_baud: i64,
    /// Measured rate against the stated one, millionths; plus is fast. `None` where no rate is stated or common.
    pub error_ppm: Option<i64>,
    /// Bytes whose stop bit was low.
    pub framing_errors: u64,
}
