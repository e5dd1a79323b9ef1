//! Whether a difference is more than chance: exact tests on counts.
//!
//! Sources: R. A. Fisher, The Design of Experiments, chapter 2 (the exact test of a table of two by two; the two-sided
//! value sums every table with the same sums that is no likelier than the one seen). A. M. Mood, Introduction to the
//! Theory of Statistics, 1950 (the median test: values above and up to the common median, as such a table).
//! S. Holm, A simple sequentially rejective multiple test procedure, Scandinavian Journal of Statistics 6, 1979.

/// Tables that are likelier by no more than this share count as no likelier: rounding of the logarithms.
const ROUNDING: f64 = 1e-7;

/// Natural logarithms of factorials.
struct Factorials(Vec<f64>);

impl Factorials {
    fn up_to(most: usize) -> Self {
        let mut sums = Vec::with_capacity(most + 1);
        let mut sum = 0.0;
        sums.push(sum);
        for number in 1..=most {
            sum += (number as f64).ln();
            sums.push(sum);
        }
        Self(sums)
    }

    fn ln(&self, number: u64) -> f64 {
        usize::try_from(number).ok().and_then(|at| self.0.get(at)).copied().unwrap_or(f64::INFINITY)
    }

    /// Logarithm of the number of ways to choose `part` of `all`.
    fn choices(&self, all: u64, part: u64) -> f64 {
        self.ln(all) - self.ln(part) - self.ln(all - part)
    }
}

/// Fisher's exact test, two-sided: the probability of a table at least as uneven, where `hits` of `all` things were of
/// the sort in question on each side and chance alone decided. 1 where one side is empty, or where a count is no share of its whole.
pub fn fisher(hits: [u64; 2], all: [u64; 2]) -> f64 {
    let (of_sort, total) = (hits[0] + hits[1], all[0] + all[1]);
    let Ok(size) = usize::try_from(total) else { return 1.0 };
    let no_share = hits[0] > all[0] || hits[1] > all[1];
    if no_share || all.contains(&0) || of_sort == 0 || of_sort == total {
        return 1.0;
    }
    let factorials = Factorials::up_to(size);
    let base = factorials.choices(total, of_sort);
    let probability =
        |first: u64| factorials.choices(all[0], first) + factorials.choices(all[1], of_sort - first) - base;
    let lowest = of_sort.saturating_sub(all[1]);
    let highest = of_sort.min(all[0]);
    let seen = probability(hits[0]) + ROUNDING;
    let sum: f64 = (lowest..=highest).map(probability).filter(|one| *one <= seen).map(f64::exp).sum();
    sum.min(1.0)
}

/// Mood's median test, exact: whether values of both sides lie on the same side of their common median. 1 where one
/// side is empty.
pub fn median_test(values: [&[i64]; 2]) -> f64 {
    let mut both: Vec<i64> = values.concat();
    both.sort_unstable();
    let Some(median) = both.get(both.len().saturating_sub(1) / 2).copied() else { return 1.0 };
    let above = values.map(|side| side.iter().filter(|value| **value > median).count() as u64);
    fisher(above, values.map(|side| side.len() as u64))
}

/// Holm's procedure: what each of several values comes to when all were looked at, in the same order.
pub fn holm(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut corrected = vec![1.0; values.len()];
    let mut largest = 0.0_f64;
    for (rank, at) in order.into_iter().enumerate() {
        largest = largest.max((values.len() - rank) as f64 * values[at]).min(1.0);
        corrected[at] = largest;
    }
    corrected
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-9 * b.abs().max(1e-9)
    }

    // Fisher's lady tasting tea: 3 of 4 and 1 of 4. Of 70 tables, 1 + 16 + 16 + 1 are no likelier: 34/70.
    #[test]
    fn the_lady_tasting_tea() {
        assert!(close(fisher([3, 1], [4, 4]), 34.0 / 70.0));
        assert!(close(fisher([4, 0], [4, 4]), 2.0 / 70.0));
    }

    #[test]
    fn nothing_to_tell_is_chance() {
        for (hits, all) in [([0, 0], [5, 5]), ([5, 5], [5, 5]), ([0, 0], [0, 9]), ([0, 3], [0, 9])] {
            assert!(close(fisher(hits, all), 1.0));
        }
        assert!(close(median_test([&[], &[1, 2]]), 1.0));
        assert!(close(median_test([&[], &[]]), 1.0));
    }

    // Four below and four above: the table 0 of 4 against 4 of 4.
    #[test]
    fn medians_apart() {
        assert!(close(median_test([&[1, 2, 3, 4], &[5, 6, 7, 8]]), 2.0 / 70.0));
        assert!(close(median_test([&[1, 1, 1, 1], &[1, 1, 1, 1]]), 1.0));
    }

    // The step-down values by hand: 3 * 0.01, 2 * 0.03 and the running largest of 1 * 0.04.
    #[test]
    fn holm_steps_down() {
        let corrected = holm(&[0.04, 0.01, 0.03]);
        assert!(close(corrected[0], 0.06) && close(corrected[1], 0.03) && close(corrected[2], 0.06));
    }
}
