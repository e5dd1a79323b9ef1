//! The four motors: a dead band, a lag, and what the leads and plugs make of a duty.

use super::{Fault, Settings};
use crate::rover::wheels::{Duties, Wheel};

/// Below this duty a wheel does not move, thousandths. Invented: a geared motor of this size needs some.
const DEAD_BAND: i32 = 120;
/// Time in which a wheel covers 63 % of the way to a new speed, milliseconds. Invented.
const LAG_MS: i64 = 80;
/// Speeds are kept in thousandths of a thousandth, so that the lag can end.
const FINE: i64 = 1000;

/// How each wheel turns.
#[derive(Clone, Debug)]
pub(super) struct Motors {
    /// What each wheel's leads make of a positive duty: 1, -1, or 0 for no plug.
    leads: [i32; 4],
    aimed: Duties,
    fine: [i64; 4],
}

impl Motors {
    pub(super) fn new(settings: &Settings) -> Self {
        let leads = Wheel::ALL.map(|wheel| match wheel {
            _ if settings.has(Fault::Dead(wheel)) => 0,
            _ if settings.has(Fault::LeadsReversed(wheel)) => -1,
            _ => 1,
        });
        Self { leads, aimed: [0; 4], fine: [0; 4] }
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
        self.aimed = [0, 1, 2, 3].map(|wheel: usize| {
            let duty = duties[wheel] * self.leads[wheel];
            if duty.abs() < DEAD_BAND { 0 } else { duty }
        });
    }

    /// How each wheel really turns, thousandths of full speed.
    pub(super) fn turning(&self) -> Duties {
        self.fine.map(|fine| (fine / FINE) as i32)
    }

    /// How fast the wagon turns, thousandths, counter-clockwise from above.
    pub(super) fn yaw(&self) -> i32 {
        let [fl, fr, rl, rr] = self.turning();
        (-fl + fr - rl + rr) / 4
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
    use crate::simulation::Style;

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
}
