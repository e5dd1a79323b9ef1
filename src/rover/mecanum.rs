//! Four-wheel mecanum kinematics: from a body motion to wheel signs and back.
//!
//! Axes follow ISO 8855 (x forward, y left, z up; turn positive counter-clockwise from above); rollers form an X seen
//! from above. Per wheel `r*w = vx + s*vy + (s*x - y)*wz`, with the wheel at (x, y) and `s` = -1 for FL and RR, +1 for
//! FR and RL. Derived from no slip along the touching roller's axle; the same form stands in K. M. Lynch and
//! F. C. Park, *Modern Robotics* (Cambridge University Press, 2017), section 13.2 (from memory).

use crate::rover::wheels::{Duties, Twist, Wheel};

/// Signs of FL, FR, RL, RR: -1, 0 or +1.
pub type Signs = [i32; 4];

/// A move of the body in words: what every build of a mecanum rover can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Motion {
    /// Towards the nose.
    Forward,
    /// Away from the nose.
    Backward,
    /// Sideways to the left.
    Left,
    /// Sideways to the right.
    Right,
    /// Diagonally.
    ForwardLeft,
    /// Diagonally.
    ForwardRight,
    /// Diagonally.
    BackwardLeft,
    /// Diagonally.
    BackwardRight,
    /// On the spot, counter-clockwise from above.
    TurnLeft,
    /// On the spot, clockwise from above.
    TurnRight,
    /// All wheels at zero.
    Rest,
}

impl Motion {
    /// Every motion.
    pub const ALL: [Self; 11] = [
        Self::Forward,
        Self::Backward,
        Self::Left,
        Self::Right,
        Self::ForwardLeft,
        Self::ForwardRight,
        Self::BackwardLeft,
        Self::BackwardRight,
        Self::TurnLeft,
        Self::TurnRight,
        Self::Rest,
    ];

    /// The word a rover file uses.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Backward => "backward",
            Self::Left => "left",
            Self::Right => "right",
            Self::ForwardLeft => "forward-left",
            Self::ForwardRight => "forward-right",
            Self::BackwardLeft => "backward-left",
            Self::BackwardRight => "backward-right",
            Self::TurnLeft => "turn-left",
            Self::TurnRight => "turn-right",
            Self::Rest => "rest",
        }
    }

    /// The body motion, each part -1000, 0 or 1000.
    pub const fn twist(self) -> Twist {
        let (vx, vy, wz) = match self {
            Self::Forward => (1000, 0, 0),
            Self::Backward => (-1000, 0, 0),
            Self::Left => (0, 1000, 0),
            Self::Right => (0, -1000, 0),
            Self::ForwardLeft => (1000, 1000, 0),
            Self::ForwardRight => (1000, -1000, 0),
            Self::BackwardLeft => (-1000, 1000, 0),
            Self::BackwardRight => (-1000, -1000, 0),
            Self::TurnLeft => (0, 0, 1000),
            Self::TurnRight => (0, 0, -1000),
            Self::Rest => (0, 0, 0),
        };
        Twist { vx, vy, wz }
    }

    /// Which way each wheel turns in this move.
    pub fn signs(self) -> Signs {
        wheel_sums(self.twist()).map(i32::signum)
    }
}

/// The wheels' shares of a body motion, not scaled: FL = x - y - w, FR = x + y + w, RL = x + y - w, RR = x - y + w,
/// where `w` already counts the lever (half length + half width).
pub const fn wheel_sums(twist: Twist) -> [i32; 4] {
    let Twist { vx, vy, wz } = twist;
    [vx - vy - wz, vx + vy + wz, vx + vy - wz, vx - vy + wz]
}

/// The body motion that wheel duties give (least squares; exact when they do not fight), thousandths.
pub const fn body_motion(duties: Duties) -> Twist {
    let [fl, fr, rl, rr] = duties;
    Twist { vx: (fl + fr + rl + rr) / 4, vy: (-fl + fr + rl - rr) / 4, wz: (-fl + fr - rl + rr) / 4 }
}

/// The part of the duties that no body motion can use: `(FL + FR - RL - RR) / 2`, thousandths.
pub const fn scrub(duties: Duties) -> i32 {
    let [fl, fr, rl, rr] = duties;
    (fl + fr - rl - rr) / 2
}

/// The roller hand each wheel should have, seen from above, for an X.
pub const fn roller_hand(wheel: Wheel) -> crate::rover::wheels::RollerHand {
    use crate::rover::wheels::RollerHand::{Back, Slash};
    match wheel {
        Wheel::FL | Wheel::RR => Back,
        Wheel::FR | Wheel::RL => Slash,
    }
}

/// Signs as text, such as `-++-`.
pub fn signs_text(signs: Signs) -> String {
    signs
        .iter()
        .map(|sign| match sign.signum() {
            1 => '+',
            -1 => '-',
            _ => '0',
        })
        .collect()
}

/// Signs from text of exactly four of `+`, `-` and `0`.
pub fn signs_from(text: &str) -> Option<Signs> {
    let signs: Option<Vec<i32>> = text
        .chars()
        .map(|symbol| match symbol {
            '+' => Some(1),
            '-' => Some(-1),
            '0' => Some(0),
            _ => None,
        })
        .collect();
    signs?.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Direction table in the convention above. Source: common to Lynch and Park (2017) section 13.2 and Taheri, Qiao
    /// and Ghaeminezhad, Int. J. Computer Applications 113(3), 2015, both from memory; re-derived by hand.
    #[test]
    fn direction_table() {
        let rows = [
            (Motion::Forward, "++++"),
            (Motion::Backward, "----"),
            (Motion::Left, "-++-"),
            (Motion::Right, "+--+"),
            (Motion::ForwardLeft, "0++0"),
            (Motion::BackwardRight, "0--0"),
            (Motion::ForwardRight, "+00+"),
            (Motion::BackwardLeft, "-00-"),
            (Motion::TurnLeft, "-+-+"),
            (Motion::TurnRight, "+-+-"),
            (Motion::Rest, "0000"),
        ];
        for (motion, signs) in rows {
            assert_eq!(signs_text(motion.signs()), signs, "{}", motion.id());
        }
    }

    /// Lynch and Park (2017), capstone figures for r = 0.0475 m, l = 0.235 m, w = 0.15 m (from memory, recomputed):
    /// one second at 10 rad/s in order FL, FR, RR, RL.
    #[test]
    fn capstone_figures() {
        let radius = 0.0475;
        let lever = 0.235 + 0.15;
        let run = |fl: i32, fr: i32, rr: i32, rl: i32| {
            let twist = body_motion([fl * 1000, fr * 1000, rl * 1000, rr * 1000]);
            [f64::from(twist.vx) * radius, f64::from(twist.vy) * radius, f64::from(twist.wz) * radius / lever]
                .map(|thousandths| thousandths.round() as i64)
        };
        // Metres and radians in a second, thousandths.
        assert_eq!(run(10, 10, 10, 10), [475, 0, 0]);
        assert_eq!(run(-10, 10, -10, 10), [0, 475, 0]);
        assert_eq!(run(-10, 10, 10, -10), [0, 0, 1234]);
    }

    #[test]
    fn sound_orders_do_not_fight_and_come_back() {
        for motion in Motion::ALL {
            let duties = wheel_sums(motion.twist());
            assert_eq!(scrub(duties), 0);
            assert_eq!(body_motion(duties), motion.twist());
        }
        assert_eq!(scrub([-1000, 1000, 1000, 1000]), -1000, "one reversed front wheel fights at full strength");
    }
}
