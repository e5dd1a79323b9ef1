//! Drivers: what their direction inputs are told, and what is left of the pack's volts at the motor.

use crate::rover::machine::Part;
use crate::rover::wheels::{Duty, Level};

/// Volts lost in the driver at 1 A, millivolts: least and most.
///
/// L298: total drop 1.80 V least, 3.2 V most at 1 A, Tj 25 C (ST L298 data sheet, January 2000, electrical
/// characteristics, page 3). TB6612FNG: 0.5 ohm typical (Toshiba TB6612FNG data sheet, features; excerpt), the most,
/// 0.7 V, from memory. DRV8833: 0.36 ohm typical (TI DRV8833 data sheet SLVSAR1, second hand), no most known.
pub const fn drop_at_one_ampere(part: Part) -> Option<[i64; 2]> {
    match part {
        Part::L298 => Some([1800, 3200]),
        Part::Tb6612 => Some([500, 700]),
        Part::Drv8833 => Some([360, 360]),
        Part::Other => None,
    }
}

/// The current that one output bears for long, milliamperes.
///
/// L298: 2 A DC a channel, absolute maximum (ST L298 data sheet, January 2000, page 2). TB6612FNG: 1.2 A on the mean
/// (Toshiba TB6612FNG data sheet, features; excerpt). DRV8833: 1.5 A RMS (TI DRV8833 data sheet SLVSAR1, second hand).
pub const fn bears(part: Part) -> Option<i64> {
    match part {
        Part::L298 => Some(2_000),
        Part::Tb6612 => Some(1_200),
        Part::Drv8833 => Some(1_500),
        Part::Other => None,
    }
}

/// Volts across the motor at this duty, millivolts, lowest and highest: the mean of a pulsed drive at about 1 A.
pub fn motor_millivolts(part: Part, pack: i64, duty: Duty) -> Option<[i64; 2]> {
    let [least, most] = drop_at_one_ampere(part)?;
    let at = |drop: i64| (pack - drop).max(0) * i64::from(duty.abs()) / 1000;
    Some([at(most), at(least)])
}

/// IN1 and IN2 for a duty: one pulses, the other rests low; both low at zero. Truth tables: ST L298 data sheet,
/// figure 6 (IN1 high and IN2 low is one direction, the other way round the other, both equal is brake with EN high).
/// Which input is which direction is the rover file's convention: IN1 drives the wheel forward, unless inverted.
pub const fn inputs(duty: Duty, inverted: bool) -> [Level; 2] {
    if duty == 0 {
        return [Level::Low, Level::Low];
    }
    let on = if duty.abs() >= 1000 { Level::High } else { Level::Pulsed };
    if (duty > 0) == inverted { [Level::Low, on] } else { [on, Level::Low] }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table worked out from the L298 data sheet's saturation voltages (page 3): at 1 A and 100 % duty, 11.1 V leaves
    /// 7.9 V at worst and 9.3 V at best; 7.4 V leaves 4.2 V and 5.6 V.
    #[test]
    fn l298_leaves_what_the_data_sheet_says() {
        assert_eq!(motor_millivolts(Part::L298, 11_100, 1000), Some([7_900, 9_300]));
        assert_eq!(motor_millivolts(Part::L298, 7_400, -1000), Some([4_200, 5_600]));
        assert_eq!(motor_millivolts(Part::Other, 7_400, 500), None);
    }

    #[test]
    fn inputs_follow_sign_and_inversion() {
        assert_eq!(inputs(710, false), [Level::Pulsed, Level::Low]);
        assert_eq!(inputs(710, true), [Level::Low, Level::Pulsed]);
        assert_eq!(inputs(-1000, true), [Level::High, Level::Low]);
        assert_eq!(inputs(0, true), [Level::Low, Level::Low]);
    }
}
