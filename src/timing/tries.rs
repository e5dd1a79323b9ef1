//! Tries that a person counts in notes, and what a count without a failure still allows.
//!
//! A note `try wire pull: good` or `try wire pull: bad` is one try. The bound is that of Clopper and Pearson (The use of
//! confidence or fiducial limits illustrated in the case of the binomial, Biometrika 26, 1934; recalled), one-sided at
//! 95 %: the largest rate of failure at which so few failures still come up once in twenty times.

/// How sure the bound is.
const SURE: f64 = 0.95;
/// The most sorts of try that are told apart; a note beyond it is counted as not understood.
const MOST: usize = 16;

/// Tries of one sort.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tries {
    /// What was tried, in the person's words.
    pub what: String,
    /// How often.
    pub tries: u32,
    /// How often it went wrong.
    pub failed: u32,
}

/// All tries of a session.
#[derive(Clone, Debug, Default)]
pub struct Notebook {
    sorts: Vec<Tries>,
    not_understood: u32,
}

impl Notebook {
    /// Reads a note; one that does not begin with `try ` is none of its business.
    pub fn read(&mut self, note: &str) {
        let Some(rest) = note.trim().strip_prefix("try ") else { return };
        let outcome = rest.rsplit_once(':').and_then(|(what, outcome)| match outcome.trim() {
            "good" => Some((what.trim(), 0)),
            "bad" => Some((what.trim(), 1)),
            _ => None,
        });
        let counted = outcome.is_some_and(|(what, failed)| self.count(what, failed));
        self.not_understood += u32::from(!counted);
    }

    fn count(&mut self, what: &str, failed: u32) -> bool {
        if let Some(known) = self.sorts.iter_mut().find(|known| known.what == what) {
            known.tries += 1;
            known.failed += failed;
            return true;
        }
        let room = self.sorts.len() < MOST && !what.is_empty();
        if room {
            self.sorts.push(Tries { what: what.to_owned(), tries: 1, failed });
        }
        room
    }

    /// In the order of their first note.
    pub fn sorts(&self) -> &[Tries] {
        &self.sorts
    }

    /// Notes that begin with `try` and say neither `: good` nor `: bad`.
    pub const fn not_understood(&self) -> u32 {
        self.not_understood
    }
}

/// The rate of failure that `failed` in `tries` still allows (95 %, one-sided), 0 to 1. Nothing tried allows all.
pub fn still_allows(failed: u32, tries: u32) -> f64 {
    if failed >= tries {
        return 1.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let rate = f64::midpoint(low, high);
        if at_most(failed, tries, rate) > 1.0 - SURE { low = rate } else { high = rate }
    }
    high
}

/// How probable at most `failed` failures in `tries` are.
fn at_most(failed: u32, tries: u32, rate: f64) -> f64 {
    let (fails, works) = (rate.ln(), (-rate).ln_1p());
    let mut log = f64::from(tries) * works;
    let mut sum = log.exp();
    for count in 1..=failed {
        log += (f64::from(tries - count + 1) / f64::from(count)).ln() + fails - works;
        sum += log.exp();
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Roots of the regularised incomplete beta function, `1 - I(rate; failed + 1, tries - failed) = 0.05`, found with
    /// mpmath 1.3.0 (`betainc(regularized=True)`, bisected at 30 digits).
    const REFERENCE: [(u32, u32, f64); 8] = [
        (0, 1, 0.95),
        (0, 10, 0.258_865_550_893),
        (0, 20, 0.139_108_340_668),
        (0, 60, 0.048_702_913_310_1),
        (1, 10, 0.394_163_302_437),
        (2, 30, 0.195_326_043_655),
        (5, 100, 0.102_253_377_643),
        (17, 2000, 0.012_722_509_763_4),
    ];

    #[test]
    fn the_bound_is_that_of_the_reference_library() {
        for (failed, tries, bound) in REFERENCE {
            let ours = still_allows(failed, tries);
            assert!((ours - bound).abs() < 1e-9, "{failed} in {tries}: {ours} against {bound}");
        }
        assert_eq!((still_allows(3, 3), still_allows(0, 0)), (1.0, 1.0));
    }

    #[test]
    fn notes_count_tries() {
        let mut book = Notebook::default();
        for note in [
            "try wire pull: good",
            " try wire pull : bad ",
            "try start: good",
            "try start: maybe",
            "it tries hard",
            "trying: good",
        ] {
            book.read(note);
        }
        let sorts: Vec<(&str, u32, u32)> =
            book.sorts().iter().map(|tries| (tries.what.as_str(), tries.tries, tries.failed)).collect();
        assert_eq!(sorts, [("wire pull", 2, 1), ("start", 1, 0)]);
        assert_eq!(book.not_understood(), 1);
    }
}
