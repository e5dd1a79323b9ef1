//! A pattern of four wheels (each backward, still or forward) and its number, 0 to 80.

use crate::rover::mecanum::Signs;

/// How many patterns there are.
pub const COUNT: usize = 81;

/// The pattern with all wheels still.
pub const STILL: u8 = 40;

/// The number of a pattern: FL counts 27, FR 9, RL 3, RR 1; backward 0, still 1, forward 2.
pub const fn number(signs: Signs) -> u8 {
    let [fl, fr, rl, rr] = signs;
    ((fl + 1) * 27 + (fr + 1) * 9 + (rl + 1) * 3 + rr + 1) as u8
}

/// The pattern with this number.
pub const fn signs(number: u8) -> Signs {
    let n = number as i32;
    [n / 27 - 1, n / 9 % 3 - 1, n / 3 % 3 - 1, n % 3 - 1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_patterns_are_one_to_one() {
        for n in 0..COUNT as u8 {
            assert_eq!(number(signs(n)), n);
        }
        assert_eq!(signs(STILL), [0; 4]);
    }
}
