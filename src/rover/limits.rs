//! What the motors bear, and how far the rover runs on when the wire falls silent: worked out, never measured.

use wheeltap_parsers::Nanos;

use crate::rover::bridge::{bears, drop_at_one_ampere};
use crate::rover::machine::{FullSpeed, Machine};
use crate::rover::wheels::{Duty, Wheel};

/// The highest duty, thousandths, at which the mean volts at every motor stay inside their rating with this pack
/// (millivolts). `None` where the rover file lacks rating, driver or its figures.
///
/// Reckoned with the least the driver can lose, so that no motor gets more. It bounds the mean alone: the peak of the
/// current follows the full pack volts.
pub fn duty_cap(machine: &Machine, pack: i64) -> Option<Duty> {
    let rated = machine.motor?.rated?;
    let of = |wheel| {
        let [least, _] = drop_at_one_ampere(machine.driver_of(wheel)?.part)?;
        let there = (pack - least).max(1);
        Some((rated.saturating_mul(1000) / there).clamp(0, 1000) as Duty)
    };
    let caps: Option<Vec<Duty>> = Wheel::ALL.into_iter().map(of).collect();
    caps?.into_iter().min()
}

/// What a stalled motor draws and what the weakest driver bears for long, milliamperes, where the first is more. `None`
/// where it bears it, or where the rover file lacks `stall_amps` or drivers.
pub fn stall_beyond(machine: &Machine) -> Option<(i64, i64)> {
    let stall = machine.motor?.stall?;
    let each = Wheel::ALL.into_iter().filter_map(|wheel| bears(machine.driver_of(wheel)?.part));
    each.min().filter(|bears| stall > *bears).map(|bears| (stall, bears))
}

/// The most that a wheel at this duty rolls, thousandths of a millimetre a second. `None` where the rover file says no
/// full speed.
///
/// Speed is taken to follow the mean volts (sellers' and practice's rule: half the volts, about half the speed).
pub fn speed(machine: &Machine, pack: i64, duty: Duty) -> Option<i64> {
    let share = i64::from(duty.abs());
    match machine.motor?.full_speed? {
        FullSpeed::OnTheFloor(speed) => Some(speed.saturating_mul(share) / 1000),
        FullSpeed::AtRatedVolts { milli_rpm } => {
            let rated = machine.motor?.rated?;
            let [_, _, radius] = machine.geometry?;
            let least =
                Wheel::ALL.into_iter().map(|wheel| Some(drop_at_one_ampere(machine.driver_of(wheel)?.part)?[0]));
            let least = least.collect::<Option<Vec<_>>>()?.into_iter().min()?;
            let there = (pack - least).max(0).saturating_mul(share) / 1000;
            // Rim: turns a minute times 2 pi r, a sixtieth a second; 355/113 is pi to seven digits.
            let rim = milli_rpm.saturating_mul(radius).saturating_mul(2 * 355) / (113 * 60 * 1000);
            Some(rim.saturating_mul(there) / rated)
        }
    }
}

/// Way gone at this speed in this time, whole millimetres, rounded up.
pub fn way(speed: i64, time: Nanos) -> i64 {
    let nanometres = i128::from(speed) * i128::from(time);
    i64::try_from((nanometres + 999_999_999_999) / 1_000_000_000_000).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::rover::machine::{Driver, Motor, Part, WheelWiring};

    fn machine(part: Part, rated: i64, full_speed: Option<FullSpeed>) -> Machine {
        let wiring = WheelWiring {
            driver: "A".to_owned(),
            terminal: String::new(),
            inputs: Vec::new(),
            enable: None,
            pins: Vec::new(),
            inverted: false,
        };
        Machine {
            wheels: [const { None::<WheelWiring> }; 4].map(|_| Some(wiring.clone())),
            drivers: vec![Driver { name: "A".to_owned(), part }],
            geometry: Some([130_000, 150_000, 30_000]),
            pack: None,
            motor: Some(Motor { rated: Some(rated), running: None, stall: None, full_speed }),
        }
    }

    /// L298: at least 1.80 V are lost at 1 A (ST L298 data sheet, January 2000, page 3). A 6 V motor on 12.6 V can get
    /// 10.8 V at full duty, so 6 / 10.8 = 55.5 %; on 11.1 V 6 / 9.3 = 64.5 %. On 7.4 V it never gets 6 V.
    #[test]
    fn the_cap_keeps_a_motor_inside_its_rating() {
        let six_volts = machine(Part::L298, 6_000, None);
        assert_eq!(duty_cap(&six_volts, 12_600), Some(555));
        assert_eq!(duty_cap(&six_volts, 11_100), Some(645));
        assert_eq!(duty_cap(&six_volts, 7_400), Some(1000));
        assert_eq!(duty_cap(&machine(Part::Other, 6_000, None), 12_600), None);
        for pack in [6_000, 7_400, 11_100, 12_600] {
            let cap = duty_cap(&six_volts, pack).unwrap();
            let [_, most] = crate::rover::bridge::motor_millivolts(Part::L298, pack, cap).unwrap();
            assert!(most <= 6_000, "{pack}: {most}");
        }
    }

    /// L298: 2 A for long (ST L298 data sheet, January 2000, page 2).
    #[test]
    fn a_motor_that_draws_more_than_its_driver_bears_is_told() {
        let mut rover = machine(Part::L298, 6_000, None);
        assert_eq!(stall_beyond(&rover), None, "nothing is stated");
        for (stall, told) in [(2_100, Some((2_100, 2_000))), (2_000, None), (350, None)] {
            rover.motor = Some(Motor { rated: None, running: None, stall: Some(stall), full_speed: None });
            assert_eq!(stall_beyond(&rover), told);
        }
        rover.drivers[0].part = Part::Other;
        assert_eq!(stall_beyond(&rover), None);
    }

    /// A 60 mm wheel at 200 turns a minute rolls 0.63 m in a second (200 / 60 * 3.1416 * 60 mm = 628 mm).
    #[test]
    fn a_wheel_rolls_as_its_turns_say() {
        let turning = machine(Part::L298, 6_000, Some(FullSpeed::AtRatedVolts { milli_rpm: 200_000 }));
        // 7.8 V less 1.8 V is just the rating.
        let found = speed(&turning, 7_800, 1000).unwrap();
        assert!((627_000..=629_000).contains(&found), "{found}");
        assert_eq!(speed(&turning, 7_800, -500).unwrap(), found / 2);
        let floor = machine(Part::Other, 6_000, Some(FullSpeed::OnTheFloor(500_000)));
        assert_eq!(speed(&floor, 12_600, 710), Some(355_000));
        assert_eq!(speed(&machine(Part::L298, 6_000, None), 7_800, 1000), None);
    }

    /// 0.5 m/s for 0.32 s is 16 cm; at 0.63 m/s a time-out of 0.5 s costs 0.32 m before any coasting (0.315, up).
    #[test]
    fn way_until_a_deadline() {
        assert_eq!(way(500_000, 320_000_000), 160);
        assert_eq!(way(630_000, 500_000_000), 315);
        assert_eq!(way(1, 1), 1, "rounded up");
        assert_eq!(way(i64::MAX, i64::MAX), i64::MAX);
    }
}
