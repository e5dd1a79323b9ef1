//! Where the wagon goes on the floor when its wheels turn: friction settles on the motion that slips least.
//!
//! Per wheel, along the axle of the roller that touches the floor, `turn = ahead + h*left + (h*x - y)/lever * spin`,
//! with the wheel at (x, y), x forward, y left, and `h` the hand of its rollers: -1 for FL and RR, +1 for FR and RL of
//! a sound wagon. It is the no-slip condition of one wheel, derived from rolling along the axle alone; K. M. Lynch and
//! F. C. Park, Modern Robotics (2017), 13.2 has the same form (from memory). `lever` is half length and half width
//! together, so that a sound wagon's parts are `(FL+FR+RL+RR)/4` and so on. Equal contacts are assumed.

use super::fault::hand;
use crate::rover::wheels::{Duties, Wheel};

/// Half the wheelbase and half the track, millimetres: those of the wagon's rover files.
const HALF: [i64; 2] = [130, 150];
/// Unit of the shares below, in parts of one.
const UNIT: i64 = 1_000_000;
/// Steps of the settling; more change nothing.
const STEPS: usize = 6_000;

/// What the floor makes of four turning wheels, thousandths of the motion that full duty gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Going {
    /// Towards the nose.
    pub ahead: i32,
    /// To the left.
    pub left: i32,
    /// Turning counter-clockwise from above.
    pub spin: i32,
    /// The largest slip of a wheel over the floor.
    pub slip: i32,
}

/// The wagon on its wheels.
#[derive(Clone, Debug)]
pub(super) struct Chassis {
    /// What one wheel alone, turning at full, gives of ahead, left and spin; millionths.
    gives: [[i64; 3]; 4],
    rows: [[i64; 3]; 4],
}

impl Chassis {
    /// A wagon with rollers of these hands.
    pub(super) fn new(hands: [i32; 4]) -> Self {
        let rows = Wheel::ALL.map(|wheel| row(wheel, i64::from(hands[wheel.index()])));
        let sound = Wheel::ALL.into_iter().all(|wheel| hands[wheel.index()] == hand(wheel));
        let alone = |wheel: Wheel| if sound { rows[wheel.index()].map(|part| part / 4) } else { settle(&rows, wheel) };
        Self { gives: Wheel::ALL.map(alone), rows }
    }

    /// Where it goes.
    pub(super) fn goes(&self, turning: Duties) -> Going {
        let part = |part: usize| {
            let sum: i64 = turning.iter().zip(self.gives).map(|(turn, gives)| i64::from(*turn) * gives[part]).sum();
            sum / UNIT
        };
        let [ahead, left, spin] = [part(0), part(1), part(2)];
        let slip = |(row, turn): (&[i64; 3], i32)| {
            let rolls = (row[0] * ahead + row[1] * left + row[2] * spin) / UNIT;
            (i64::from(turn) - rolls).abs()
        };
        let slip = self.rows.iter().zip(turning).map(slip).max().unwrap_or(0);
        Going { ahead: ahead as i32, left: left as i32, spin: spin as i32, slip: slip as i32 }
    }
}

/// A wheel's share of each part of the motion, millionths.
const fn row(wheel: Wheel, hand: i64) -> [i64; 3] {
    let x = if matches!(wheel, Wheel::FL | Wheel::FR) { HALF[0] } else { -HALF[0] };
    let y = if matches!(wheel, Wheel::FL | Wheel::RL) { HALF[1] } else { -HALF[1] };
    [UNIT, hand * UNIT, (hand * x - y) * UNIT / (HALF[0] + HALF[1])]
}

/// The motion on which friction settles from standing, when this wheel alone turns: each step gives way to the slips.
fn settle(rows: &[[i64; 3]; 4], wheel: Wheel) -> [i64; 3] {
    // Finer than the result, so that what is lost in dividing does not show.
    const FINE: i64 = 1_000;
    let mut motion = [0_i64; 3];
    for _ in 0..STEPS {
        let mut push = [0_i64; 3];
        for (index, row) in rows.iter().enumerate() {
            let turns = if index == wheel.index() { UNIT * FINE } else { 0 };
            let rolls: i64 = row.iter().zip(motion).map(|(share, part)| share * (part / FINE) / UNIT * FINE).sum();
            for (push, share) in push.iter_mut().zip(row) {
                *push += (turns - rolls) / UNIT * share / 8;
            }
        }
        for (part, push) in motion.iter_mut().zip(push) {
            *part += push;
        }
    }
    motion.map(|part| part / FINE)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOUND: [i32; 4] = [-1, 1, 1, -1];

    fn near(going: Going, wanted: [i32; 3]) {
        let got = [going.ahead, going.left, going.spin];
        assert!(got.iter().zip(wanted).all(|(got, want)| (got - want).abs() <= 3), "{got:?} is not {wanted:?}");
    }

    #[test]
    fn a_sound_wagon_goes_as_the_common_table_of_mecanum_moves_says() {
        let chassis = Chassis::new(SOUND);
        let rows = [
            ([1000; 4], [1000, 0, 0]),
            ([-1000, 1000, 1000, -1000], [0, 1000, 0]),
            ([-1000, 1000, -1000, 1000], [0, 0, 1000]),
            ([0, 1000, 1000, 0], [500, 500, 0]),
        ];
        for (turning, wanted) in rows {
            near(chassis.goes(turning), wanted);
            assert_eq!(chassis.goes(turning).slip, 0);
        }
    }

    #[test]
    fn settling_gives_a_sound_wagon_its_closed_form() {
        // For right hands the columns of the four rows are orthogonal, so a quarter of each row is the least slip.
        let rows = Wheel::ALL.map(|wheel| row(wheel, i64::from(hand(wheel))));
        for wheel in Wheel::ALL {
            let settled = settle(&rows, wheel);
            let wanted = rows[wheel.index()].map(|part| part / 4);
            assert!(settled.iter().zip(wanted).all(|(got, want)| (got - want).abs() < 2_000), "{settled:?} {wanted:?}");
        }
    }

    #[test]
    fn wheels_of_the_wrong_hand_go_as_their_geometry_says() {
        // Front pair exchanged: forward stays forward; spin-port becomes a slide. Left pair exchanged: slides and
        // turns change places, so that a slide stands still and scrubs (null vector 1, -1, -1, 1 of those rows).
        let front = Chassis::new([1, -1, 1, -1]);
        near(front.goes([1000; 4]), [1000, 0, 0]);
        let turned = front.goes([-1000, 1000, -1000, 1000]);
        assert!(turned.left.abs() > 3 * turned.spin.abs() && turned.left < 0, "{turned:?}");
        let left = Chassis::new([1, 1, -1, -1]);
        near(left.goes([1000; 4]), [1000, 0, 0]);
        let slid = left.goes([-1000, 1000, 1000, -1000]);
        near(slid, [0, 0, 0]);
        assert!(slid.slip > 900, "{slid:?}");
    }

    #[test]
    fn a_reversed_wheel_crawls_diagonally_and_turns() {
        // One reversed wheel on forward: half ahead, half aside, half a turn, the signs name the wheel.
        let chassis = Chassis::new(SOUND);
        near(chassis.goes([-1000, 1000, 1000, 1000]), [500, 500, 500]);
        near(chassis.goes([1000, 1000, 1000, -1000]), [500, 500, -500]);
    }
}
