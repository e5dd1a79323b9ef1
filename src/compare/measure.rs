//! One thing measured in both sessions: a share of counted things, or a spread of values, with its test.

use super::chance::{fisher, holm, median_test};

/// Below this the answer is "more than chance", after correction for the number of tests.
pub const LEVEL: f64 = 0.05;
/// The most values of each side that go into a test; more are thinned out evenly.
const MOST: usize = 200_000;

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Of the sort in question.
    pub hits: u64,
    /// All of them.
    pub all: u64,
}

impl Counts {
    /// `hits` of `all`.
    pub const fn new(hits: u64, all: u64) -> Self {
        Self { hits, all }
    }

    /// The share, 0 to 1; `None` of nothing.
    pub fn share(self) -> Option<f64> {
        (self.all > 0).then(|| self.hits as f64 / self.all as f64)
    }
}

/// Values of one session.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Spread {
    /// How many.
    pub count: usize,
    /// One in ten is below; half are; nine in ten; 99 in a hundred. Millionths of the unit's base (us, uV).
    pub parts: Option<[i64; 4]>,
}

impl Spread {
    /// Of these values.
    pub fn of(values: &[i64]) -> Self {
        let mut sorted = values.to_vec();
        sorted.sort_unstable();
        let at = |hundredths: usize| sorted.get(sorted.len().saturating_sub(1) * hundredths / 100).copied();
        let parts = at(10).zip(at(50)).zip(at(90)).zip(at(99)).map(|(((a, b), c), d)| [a, b, c, d]);
        Self { count: values.len(), parts }
    }
}

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A share in each session.
    Rate([Counts; 2]),
    /// Values in each session.
    Values([Spread; 2]),
}

/// Whether the difference is more than chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Yes.
    MoreThanChance,
    /// Chance alone may have made it.
    WithinChance,
    /// So few that no difference could have shown.
    TooFew,
}

impl Verdict {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::MoreThanChance => "more than chance",
            Self::WithinChance => "within chance",
            Self::TooFew => "too few to tell",
        }
    }
}

/// One thing measured.
#[derive(Clone, Debug)]
pub struct Measure {
    /// What.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The figures.
    pub what: What,
    /// Probability that chance alone makes a difference as large.
    pub p: f64,
    /// The same, corrected for the number of tests.
    pub corrected: f64,
    /// The verdict after correction.
    pub verdict: Verdict,
}

impl Measure {
    /// A share.
    pub fn rate(name: &'static str, unit: &'static str, counts: [Counts; 2]) -> Self {
        let p = fisher(counts.map(|side| side.hits), counts.map(|side| side.all));
        // The most uneven table that these sums allow: where even that is no rarer, nothing can show.
        let all = counts.map(|side| side.all);
        let hits = counts[0].hits + counts[1].hits;
        let first = hits.min(all[0]);
        let possible = fisher([first, hits - first], all).min(fisher([hits - hits.min(all[1]), hits.min(all[1])], all));
        Self::new(name, unit, What::Rate(counts), p, possible)
    }

    /// Values.
    pub fn spread(name: &'static str, unit: &'static str, spreads: [Spread; 2], values: [&[i64]; 2]) -> Self {
        let thinned = values.map(thinned);
        let p = median_test([&thinned[0], &thinned[1]]);
        let all = values.map(|side| side.len().min(MOST) as u64);
        let possible = fisher([0, all[1]], all);
        Self::new(name, unit, What::Values(spreads), p, possible)
    }

    fn new(name: &'static str, unit: &'static str, what: What, p: f64, possible: f64) -> Self {
        let verdict = if possible > LEVEL { Verdict::TooFew } else { Verdict::WithinChance };
        Self { name, unit, what, p, corrected: p, verdict }
    }

    /// Whether it was met in either session.
    pub fn is_anything(&self) -> bool {
        match self.what {
            What::Rate(counts) => counts.iter().any(|side| side.all > 0),
            What::Values(spreads) => spreads.iter().any(|side| side.count > 0),
        }
    }
}

fn thinned(values: &[i64]) -> Vec<i64> {
    let step = values.len().div_ceil(MOST).max(1);
    values.iter().copied().step_by(step).collect()
}

/// Corrects all that could have shown something for their number, and gives the verdicts. How many those are.
pub fn correct(measures: &mut [Measure]) -> usize {
    let tested = |measure: &&mut Measure| measure.verdict != Verdict::TooFew;
    let values: Vec<f64> = measures.iter_mut().filter(tested).map(|measure| measure.p).collect();
    for (measure, corrected) in measures.iter_mut().filter(tested).zip(holm(&values)) {
        measure.corrected = corrected;
        if corrected < LEVEL {
            measure.verdict = Verdict::MoreThanChance;
        }
    }
    values.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_things_are_called_few_and_many_are_judged() {
        let mut few = [Measure::rate("x", "of y", [Counts::new(0, 2), Counts::new(2, 2)])];
        assert_eq!((correct(&mut few), few[0].verdict), (0, Verdict::TooFew));
        let mut many = [
            Measure::rate("x", "of y", [Counts::new(1, 1000), Counts::new(40, 1000)]),
            Measure::rate("x", "of y", [Counts::new(10, 1000), Counts::new(12, 1000)]),
        ];
        assert_eq!(correct(&mut many), 2);
        assert_eq!(many.map(|one| one.verdict), [Verdict::MoreThanChance, Verdict::WithinChance]);
    }

    #[test]
    fn parts_of_a_hundred_values() {
        let values: Vec<i64> = (1..=101).rev().collect();
        assert_eq!(Spread::of(&values).parts, Some([11, 51, 91, 100]));
        assert_eq!(Spread::of(&[]).parts, None);
    }
}
