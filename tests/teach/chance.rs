//! Chance for tests: the same seed gives the same numbers. The rule is that of Steele, Lea and Flood, "Fast splittable
//! pseudorandom number generators", OOPSLA 2014 (constants from memory). Nothing depends on its quality.

/// A stream of numbers.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut word = self.0;
        word = (word ^ (word >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        word = (word ^ (word >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        word ^ (word >> 31)
    }

    /// A whole number from `low` to `high`, both inside.
    pub fn whole(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }

    /// True once in `many`.
    pub fn one_in(&mut self, many: i64) -> bool {
        self.whole(1, many) == 1
    }

    /// One of these.
    pub fn one_of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.whole(0, list.len() as i64 - 1) as usize]
    }

    /// A word of `low` to `high` letters.
    pub fn word(&mut self, low: i64, high: i64) -> String {
        let len = self.whole(low, high);
        (0..len).map(|_| char::from(b'a' + self.whole(0, 25) as u8)).collect()
    }
}
