//! The four motors: a dead band, a lag, and what the leads and plugs make of a duty.

use super::Settings;
use super::assembly::{Assembly, Work};
use super::chassis::{Chassis, Going};
use crate::rover::wheels::Duties;

/// Below this duty a wheel does not move, thousandths. Invented: a geared motor of this size needs some.
const DEAD_BAND: i32 = 120;
/// Time in which a wheel covers 63 % of the way to a new speed, milliseconds. Invented.
const LAG_MS: i64 = 80;
/// Speeds are kept in thousandths of a thousandth, so that the lag can end.
const FINE: i64 = 1000;

/// A wheel slower than this stands, for a person who looks, thousandths of full speed.
const STANDS: i32 = 20;

/// What a person at the wheels sees and hears of one wheel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Look {
    /// Turns forward: the top of the tyre goes to the nose.
    Forward,
    /// Turns backward.
    Backward,
    /// Stands, silent.
    Still,
    /// Stands and hums: driven, but too weakly to start.
    Hums,
}

/// How each wheel turns.
#[derive(Clone, Debug)]
pub(super) struct Motors {
    assembly: Assembly,
    chassis: Chassis,
    /// What the bridges give, and what of it reaches the motors.
    duties: Duties,
    reaching: Duties,
    aimed: Duties,
    fine: [i64; 4],
}

impl Motors {
    pub(super) fn new(settings: &Settings) -> Self {
        let assembly = Assembly::new(settings);
        let chassis = Chassis::new(assembly.hands());
        Self { assembly, chassis, duties: [0; 4], reaching: [0; 4], aimed: [0; 4], fine: [0; 4] }
    }

    /// How the wheels are put together.
    pub(super) const fn assembly(&self) -> &Assembly {
        &self.assembly
    }

    /// Somebody works at the wheels.
    pub(super) fn work(&mut self, work: Work) {
        self.assembly.work(work);
        self.chassis = Chassis::new(self.assembly.hands());
        self.drive(self.duties);
    }

    /// What a person sees of each wheel.
    pub(super) fn looks(&self) -> [Look; 4] {
        let turning = self.turning();
        [0, 1, 2, 3].map(|wheel: usize| match turning[wheel] {
            STANDS.. => Look::Forward,
            turn if turn <= -STANDS => Look::Backward,
            _ if self.reaching[wheel] != 0 && self.aimed[wheel] == 0 => Look::Hums,
            _ => Look::Still,
        })
    }

    /// Where the wagon goes on the floor.
    pub(super) fn goes(&self) -> Going {
        self.chassis.goes(self.turning())
    }

    /// Lets one millisecond pass.
    pub(super) fn pass_ms(&mut self) {
        for (fine, aimed) in self.fine.iter_mut().zip(self.aimed) {
            let distance = i64::from(aimed) * FINE - *fine;
            let part = distance / LAG_MS;
            *fine += if part == 0 { distance.signum() } else { part };
        }
    }

    /// From now on the bridges get these duties.
    pub(super) fn drive(&mut self, duties: Duties) {
        self.duties = duties;
        self.reaching = self.assembly.reaches(duties);
        self.aimed = self.reaching.map(|duty| if duty.abs() < DEAD_BAND { 0 } else { duty });
    }

    /// How each wheel really turns, thousandths of full speed.
    pub(super) fn turning(&self) -> Duties {
        self.fine.map(|fine| (fine / FINE) as i32)
    }

    /// How fast the wagon turns, thousandths, counter-clockwise from above.
    pub(super) fn yaw(&self) -> i32 {
        self.goes().spin
    }

    /// Load on the pack, thousandths of four motors starting at full duty: starting takes six times what running takes
    /// (2.1 A stalled, 0.35 A running), and wheels that work against each other take up to eight tenths more.
    pub(super) fn load(&self) -> i32 {
        let speeds = self.turning();
        let sizes = self.aimed.iter().zip(speeds).map(|(aimed, speed)| (aimed - speed).abs() + speed.abs() / 6);
        let [fl, fr, rl, rr] = self.aimed;
        let scrub = (fl + fr - rl - rr).abs() / 2;
        sizes.sum::<i32>() / 4 * (1000 + scrub.min(1000) * 8 / 10) / 1000
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rover::wheels::Wheel;
    use crate::simulation::{Fault, Style};

    fn pass(motors: &mut Motors, ms: u32) {
        (0..ms).for_each(|_| motors.pass_ms());
    }

    fn motors(faults: &[Fault]) -> Motors {
        let mut settings = Settings::demo(Style::CueLine, 1);
        settings.faults = faults.to_vec();
        Motors::new(&settings)
    }

    #[test]
    fn a_first_order_lag() {
        let mut motors = motors(&[]);
        motors.drive([1000, -500, 100, 0]);
        pass(&mut motors, 80);
        // 1 - 1/e = 63.2 % after one time constant.
        let [fl, fr, rl, rr] = motors.turning();
        assert!((625..=640).contains(&fl), "{fl}");
        assert!((-320..=-312).contains(&fr), "{fr}");
        assert_eq!([rl, rr], [0, 0]);
        pass(&mut motors, 5000);
        assert_eq!(motors.turning(), [1000, -500, 0, 0]);
    }

    #[test]
    fn leads_and_plugs() {
        for wheel in Wheel::ALL {
            let mut one = motors(&[Fault::LeadsReversed(wheel)]);
            one.drive([600; 4]);
            pass(&mut one, 5000);
            let mut want = [600; 4];
            want[wheel.index()] = -600;
            assert_eq!(one.turning(), want);
            let mut none = motors(&[Fault::Dead(wheel)]);
            none.drive([600; 4]);
            pass(&mut none, 5000);
            want[wheel.index()] = 0;
            assert_eq!(none.turning(), want);
        }
    }

    #[test]
    fn one_reversed_wheel_turns_the_wagon_to_its_side() {
        // Least-squares body motion of four wheels: ahead, a reversed left wheel turns it counter-clockwise, a reversed
        // right one clockwise, by half of full.
        for (wheel, yaw) in [(Wheel::FL, 500), (Wheel::FR, -500), (Wheel::RL, 500), (Wheel::RR, -500)] {
            let mut one = motors(&[Fault::LeadsReversed(wheel)]);
            one.drive([1000; 4]);
            pass(&mut one, 5000);
            assert_eq!(one.yaw(), yaw);
        }
    }

    #[test]
    fn starting_costs_more_than_running_and_fighting_more_again() {
        let mut healthy = motors(&[]);
        healthy.drive([1000; 4]);
        assert_eq!(healthy.load(), 1000);
        let mut fighting = motors(&[Fault::LeadsReversed(Wheel::RR)]);
        fighting.drive([1000; 4]);
        assert_eq!(fighting.load(), 1800);
        pass(&mut healthy, 5000);
        assert_eq!(healthy.load(), 166);
    }

    #[test]
    fn a_wheel_below_its_dead_band_hums_and_one_without_plug_is_silent() {
        let mut motors = motors(&[Fault::Dead(Wheel::FL)]);
        motors.drive([100; 4]);
        pass(&mut motors, 100);
        assert_eq!(motors.looks(), [Look::Still, Look::Hums, Look::Hums, Look::Hums]);
        motors.drive([-500, 500, 500, -500]);
        pass(&mut motors, 500);
        assert_eq!(motors.looks(), [Look::Still, Look::Forward, Look::Forward, Look::Backward]);
    }
}
