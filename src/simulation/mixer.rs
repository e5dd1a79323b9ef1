//! From forward, slide and turn to four wheels.
//!
//! The signs are those of the usual mecanum equations for rollers that form an X seen from above, x forward, y left,
//! turn counter-clockwise; the same as in Taheri, Qiao and Ghaeminezhad, International Journal of Computer Applications
//! 113(3), 2015 (equations recalled, not re-read).

use super::Way;
use crate::rover::wheels::Duties;

/// What a mix gave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Mixed {
    /// Duties of the wheels, whole per cent written in thousandths.
    pub(super) duties: Duties,
    /// Whether a wheel would have passed 100 per cent, so that all four were divided.
    pub(super) scaled: bool,
}

/// Forward, slide left and turn counter-clockwise before any scaling: FL, FR, RL, RR.
pub(super) const fn raw(f: i32, s: i32, t: i32) -> [i32; 4] {
    [f - s - t, f + s + t, f + s - t, f - s + t]
}

/// Signs of FL, FR, RL, RR in a move of the plain line, as they should be.
pub(super) fn of_way(way: Way) -> [i32; 4] {
    let [f, s, t] = way.signs();
    raw(f, s, t).map(i32::signum)
}

/// Mixes `f`, `s`, `t` (per cent, -100 to 100) in gear 1, 2 or 3: all four divided by the largest where it exceeds
/// 100, times the gear, rounded once, half away from zero.
pub(super) fn mix(f: i32, s: i32, t: i32, gear: u8) -> Mixed {
    let raw = raw(f, s, t);
    let peak = raw.iter().map(|duty| duty.abs()).max().unwrap_or(0);
    let divisor = peak.max(100);
    let share = gear_per_cent(gear);
    Mixed { duties: raw.map(|duty| rounded(duty * share, divisor) * 10), scaled: peak > 100 }
}

/// Share of full duty a gear allows, per cent. The boards know three gears; anything else counts as the lowest.
const fn gear_per_cent(gear: u8) -> i32 {
    match gear {
        2 => 65,
        3 => 100,
        _ => 40,
    }
}

/// `value / divisor`, rounded half away from zero; `divisor` is positive.
pub(super) const fn rounded(value: i32, divisor: i32) -> i32 {
    let half = if value < 0 { -divisor } else { divisor };
    (2 * value + half) / (2 * divisor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_half_away_from_zero() {
        let cases = [(5, 10, 1), (-5, 10, -1), (4, 10, 0), (-4, 10, 0), (15, 10, 2), (-25, 10, -3), (0, 3, 0)];
        for (value, divisor, want) in cases {
            assert_eq!(rounded(value, divisor), want, "{value}/{divisor}");
        }
    }

    #[test]
    fn gear_two_of_a_forward_left_to_right_slide() {
        // 95 and -35 per cent before the gear; 61.75 and -22.75 after it.
        assert_eq!(mix(30, -65, 0, 2), Mixed { duties: [620, -230, -230, 620], scaled: false });
    }

    #[test]
    fn the_largest_divides_all_four() {
        // Raw -40, 240, 160, 40.
        assert_eq!(mix(100, 100, 40, 3), Mixed { duties: [-170, 1000, 670, 170], scaled: true });
    }
}
