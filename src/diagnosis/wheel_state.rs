//! What may be wrong with one wheel, and how it then turns.

/// How strongly a wheel is driven in a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DutyLevel {
    /// Just above the duty at which a sound wheel starts.
    Low,
    /// Near full.
    High,
}

impl DutyLevel {
    /// Both, low first.
    pub const ALL: [Self; 2] = [Self::Low, Self::High];

    /// `low duty` or `high duty`.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Low => "low duty",
            Self::High => "high duty",
        }
    }
}

/// One of the six states of a wheel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WheelState {
    /// Turns as it is driven.
    Sound,
    /// Turns the other way round.
    Reversed,
    /// Never turns.
    Dead,
    /// Obeys forward only.
    ForwardOnly,
    /// Obeys backward only.
    BackwardOnly,
    /// Does not start at low duty; runs at high duty.
    Weak,
}

impl WheelState {
    /// All six, the sound one first.
    pub const ALL: [Self; 6] =
        [Self::Sound, Self::Reversed, Self::Dead, Self::ForwardOnly, Self::BackwardOnly, Self::Weak];

    /// Place in arrays of six.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Reversed => "reversed",
            Self::Dead => "dead",
            Self::ForwardOnly => "runs forward only",
            Self::BackwardOnly => "runs backward only",
            Self::Weak => "does not start at low duty",
        }
    }

    /// Which way the wheel turns (-1, 0, +1) when it is driven this way (-1, 0, +1).
    pub const fn turns(self, driven: i32, duty: DutyLevel) -> i32 {
        match (self, duty) {
            (Self::Sound, _) | (Self::Weak, DutyLevel::High) => driven,
            (Self::Reversed, _) => -driven,
            (Self::Dead, _) | (Self::Weak, DutyLevel::Low) => 0,
            (Self::ForwardOnly, _) => {
                if driven > 0 {
                    driven
                } else {
                    0
                }
            }
            (Self::BackwardOnly, _) => {
                if driven < 0 {
                    driven
                } else {
                    0
                }
            }
        }
    }
}
