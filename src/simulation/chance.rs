//! Seeded chance whose values never change with a library's version.
//!
//! The generator is `ChaCha` with 8 rounds (D. J. Bernstein, "`ChaCha`, a variant of Salsa20", 2008); how a draw becomes
//! a number in a range is written here.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use wheeltap_parsers::Nanos;

/// A stream of draws.
#[derive(Clone, Debug)]
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    /// The draws of `stream` under `seed`. Each part of the wagon has its own stream, so a fault in one part does not
    /// change what the others draw.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8..16].copy_from_slice(&stream.to_le_bytes());
        Self(ChaCha8Rng::from_seed(key))
    }

    /// A whole number from 0 to `n - 1`; 0 when `n` is 0.
    pub(super) fn below(&mut self, n: u64) -> u64 {
        ((u128::from(self.0.next_u64()) * u128::from(n)) >> 64) as u64
    }

    /// A time from `low` up to but not including `high`.
    pub(super) fn span(&mut self, low: Nanos, high: Nanos) -> Nanos {
        low + self.below(u64::try_from(high - low).unwrap_or(0)) as Nanos
    }

    /// True once in `n` draws on average.
    pub(super) fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    /// A number around 0 with about this standard deviation: twelve even draws added, which is close to a bell curve.
    pub(super) fn bell(&mut self, deviation: i32) -> i32 {
        let sum: i64 = (0..12).map(|_| self.below(1001) as i64 - 500).sum();
        (sum * i64::from(deviation) / 1000) as i32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_stay_in_range_and_repeat() {
        let mut one = Chance::new(7, 1);
        let mut two = Chance::new(7, 1);
        let mut other = Chance::new(7, 2);
        let mut differs = false;
        for _ in 0..1000 {
            let draw = one.below(10);
            assert!(draw < 10);
            assert_eq!(draw, two.below(10));
            differs |= draw != other.below(10);
            assert!((5..9).contains(&one.span(5, 9)));
            two.span(5, 9);
        }
        assert!(differs);
        assert_eq!(one.below(0), 0);
    }

    #[test]
    fn the_bell_has_its_width() {
        let mut chance = Chance::new(1, 0);
        let draws: Vec<i64> = (0..4000).map(|_| i64::from(chance.bell(100))).collect();
        let mean = draws.iter().sum::<i64>() / 4000;
        let variance = draws.iter().map(|draw| (draw - mean).pow(2)).sum::<i64>() / 4000;
        assert!(mean.abs() < 6, "{mean}");
        assert!((9_000..11_000).contains(&variance), "{variance}");
    }
}
