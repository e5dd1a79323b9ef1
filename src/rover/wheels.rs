//! Wheels, duties, moves and the words for them.

use wheeltap_parsers::Nanos;

/// One of the four wheels; left and right are the rover's own, seen from above with its nose up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Wheel {
    /// Front left.
    FL,
    /// Front right.
    FR,
    /// Rear left.
    RL,
    /// Rear right.
    RR,
}

impl Wheel {
    /// All four, in the order used everywhere.
    pub const ALL: [Self; 4] = [Self::FL, Self::FR, Self::RL, Self::RR];

    /// Place in arrays of four.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// `FL`, `FR`, `RL` or `RR`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FL => "FL",
            Self::FR => "FR",
            Self::RL => "RL",
            Self::RR => "RR",
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::FL => "front left",
            Self::FR => "front right",
            Self::RL => "rear left",
            Self::RR => "rear right",
        }
    }
}

/// A duty in thousandths, -1000 to +1000; positive would roll the rover towards its nose.
pub type Duty = i32;

/// Duties of FL, FR, RL, RR.
pub type Duties = [Duty; 4];

/// A duty as whole per cent, rounded half away from zero.
pub const fn per_cent(duty: Duty) -> i32 {
    (duty + if duty < 0 { -5 } else { 5 }) / 10
}

/// A body motion in thousandths of full scale: x forward, y left, turn counter-clockwise from above (ISO 8855 axes).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Twist {
    /// Forward.
    pub vx: i32,
    /// Left.
    pub vy: i32,
    /// Counter-clockwise.
    pub wz: i32,
}

/// The hand of a wheel's rollers, seen from above, as they should be mounted: X needs FL and RR one way, FR and RL
/// the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RollerHand {
    /// The top roller's axle runs like `\` seen from above, nose up.
    Back,
    /// The top roller's axle runs like `/`.
    Slash,
}

/// What one direction input of a driver is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Level {
    /// Low.
    Low,
    /// High.
    High,
    /// Switching with the duty.
    Pulsed,
}

/// A move from press to release.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leg {
    /// When it began.
    pub begins: Nanos,
    /// When it ended; `None` while it lasts.
    pub ends: Option<Nanos>,
    /// The move in the person's own word, or the twist in words.
    pub name: String,
    /// The wheels' duties as meant, at its strongest.
    pub meant: Duties,
    /// How it ended.
    pub end: LegEnd,
}

/// How a leg ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LegEnd {
    /// It lasts.
    Open,
    /// A rest was ordered.
    Rest,
    /// Another move was ordered with no rest between.
    NextMove,
    /// The deadline ran out.
    Lapse,
    /// The command board started again, the port went away, or the session ended.
    Cut,
}
