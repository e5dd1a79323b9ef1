//! Mean turn correction: how much a driver steers against a turn while moving straight, by move.
//!
//! Only a link that orders a twist shows it. Time is cut into **runs**: one straight move without a pause, half a second
//! at least. Each run has one mean, weighted by how long each order stood; the runs are the sample, since the orders of
//! one run hang together. With the runs' means come their mean and its interval at 95 % by Student's t.

use wheeltap_parsers::Nanos;

use super::snapshot::wheel_check::MeanTurn;
use crate::rover::wheels::Twist;

/// A run counts from this length on.
const LEAST: Nanos = 500_000_000;
/// An order speaks for no longer than this.
const STANDS: Nanos = 500_000_000;
/// Slower than this, thousandths of full, is not called moving straight.
const SLOWEST: i32 = 150;
/// The most runs kept of one move.
const MOST: usize = 512;
/// A mean this small, thousandths of full, is no correction.
const NONE: f64 = 20.0;
/// Fewer runs give no interval.
const LEAST_RUNS: usize = 3;

/// The four straight moves.
const MOVES: [&str; 4] = ["forward", "backward", "left", "right"];

/// Runs of one session.
#[derive(Clone, Debug, Default)]
pub struct Corrections {
    means: [Vec<f64>; 4],
    run: Option<Run>,
}

/// A run that still goes on.
#[derive(Clone, Copy, Debug)]
struct Run {
    straight: usize,
    /// The last order: when, and its turn.
    last: (Nanos, i32),
    /// Turn times time, thousandths of full and nanoseconds.
    sum: i128,
    length: Nanos,
}

impl Corrections {
    /// Takes an order for this twist, thousandths of full.
    pub fn take(&mut self, at: Nanos, twist: Twist) {
        let straight = straight(twist);
        let goes_on = |run: &Run| straight == Some(run.straight) && at - run.last.0 <= 2 * STANDS;
        if let Some(run) = self.run.as_mut().filter(|run| goes_on(run)) {
            run.add(at);
            run.last = (at, twist.wz);
        } else {
            self.ends(at);
            self.run = straight.map(|straight| Run { straight, last: (at, twist.wz), sum: 0, length: 0 });
        }
    }

    /// Nothing is ordered, or nobody hears it, from `at` on.
    pub fn ends(&mut self, at: Nanos) {
        let Some(mut run) = self.run.take() else { return };
        run.add(at);
        if let Some(means) = self.means.get_mut(run.straight).filter(|_| run.length >= LEAST) {
            if means.len() == MOST {
                means.remove(0);
            }
            means.push(run.sum as f64 / run.length as f64);
        }
    }

    /// By move: mean, runs and interval; moves without a run are left out.
    pub fn measured(&self) -> Vec<MeanTurn> {
        let all = MOVES.iter().zip(&self.means).filter(|(_, means)| !means.is_empty());
        all.map(|(name, means)| mean_turn(name, means)).collect()
    }
}

impl Run {
    /// The last order stood until `at`.
    fn add(&mut self, at: Nanos) {
        let stood = (at - self.last.0).clamp(0, STANDS);
        self.sum += i128::from(self.last.1) * i128::from(stood);
        self.length += stood;
    }
}

/// Which of [`MOVES`] this is, whatever small turn goes with it.
fn straight(twist: Twist) -> Option<usize> {
    let Twist { vx, vy, wz } = twist;
    let (main, other, place) = if vx.abs() >= vy.abs() { (vx, vy, 0) } else { (vy, vx, 2) };
    let most = main.abs();
    let is = most >= SLOWEST && other.abs() * 4 <= most && wz.abs() * 2 <= most;
    is.then_some(place + usize::from(main < 0))
}

fn mean_turn(name: &'static str, means: &[f64]) -> MeanTurn {
    let n = means.len();
    let mean = means.iter().sum::<f64>() / n as f64;
    let interval = (n >= LEAST_RUNS).then(|| {
        let squares: f64 = means.iter().map(|one| (one - mean).powi(2)).sum();
        let half = student(n - 1) * (squares / (n - 1) as f64 / n as f64).sqrt();
        [mean - half, mean + half]
    });
    let sign = interval.and_then(|[low, high]| match () {
        () if low > 0.0 && mean >= NONE => Some(1),
        () if high < 0.0 && mean <= -NONE => Some(-1),
        () if low > -NONE && high < NONE => Some(0),
        () => None,
    });
    let thousandths = |value: f64| value.round() as i32;
    MeanTurn { name, runs: n, mean: thousandths(mean), interval: interval.map(|ends| ends.map(thousandths)), sign }
}

/// Student's t that leaves 2.5 % on either side, by degrees of freedom (from memory; the test below integrates the
/// density).
fn student(freedom: usize) -> f64 {
    const TABLE: [f64; 15] =
        [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131];
    // Beyond the table the last value is a little wide, which claims less.
    let last = TABLE.len();
    TABLE.get(freedom.clamp(1, last) - 1).copied().unwrap_or(12.706)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    /// Orders every 50 ms for a second, then a rest; `trims` is the turn of each run.
    fn driven(vx: i32, vy: i32, trims: &[i32]) -> Corrections {
        let mut corrections = Corrections::default();
        let mut at = 0;
        for trim in trims {
            for _ in 0..20 {
                corrections.take(at, Twist { vx, vy, wz: *trim });
                at += 50 * MS;
            }
            corrections.take(at, Twist::default());
            at += 1_000 * MS;
        }
        corrections
    }

    /// Mean -80, standard error sqrt(((10^2 + 0 + 10^2) / 2) / 3) = 5.774, times 4.303: 24.8, worked out by hand.
    #[test]
    fn the_mean_of_three_runs_and_its_interval() {
        let measured = driven(600, 0, &[-70, -80, -90]).measured();
        let due = MeanTurn { name: "forward", runs: 3, mean: -80, interval: Some([-105, -55]), sign: Some(-1) };
        assert_eq!(measured, [due]);
    }

    #[test]
    fn what_is_not_sure_has_no_sign() {
        let sign = |corrections: Corrections| corrections.measured().first().and_then(|one| one.sign);
        assert_eq!(sign(driven(0, 600, &[80, 80])), None, "two runs are too few");
        assert_eq!(sign(driven(0, 600, &[80, -60, 90])), None, "they contradict each other");
        assert_eq!(sign(driven(0, -600, &[2, -3, 1, 0])), Some(0), "surely none");
        assert_eq!(driven(600, 600, &[80; 5]).measured(), [], "a diagonal is not straight");
        assert_eq!(driven(100, 0, &[80; 5]).measured(), [], "hardly moving");
    }

    #[test]
    fn a_short_run_and_a_long_silence_do_not_count() {
        let mut corrections = Corrections::default();
        corrections.take(0, Twist { vx: 600, vy: 0, wz: 100 });
        corrections.take(10_000 * MS, Twist { vx: 600, vy: 0, wz: 0 });
        corrections.ends(10_100 * MS);
        let measured = corrections.measured();
        assert_eq!((measured.len(), measured[0].runs, measured[0].mean), (1, 1, 100), "half a second of the first");
    }

    /// The share of Student's density between -t and t must be 0.95; Simpson's rule over 20,000 steps.
    #[test]
    fn the_table_leaves_five_per_cent() {
        for freedom in 1..=15 {
            let v = freedom as f64;
            let shape = |x: f64| (1.0 + x * x / v).powf(-f64::midpoint(v, 1.0));
            // x = tan(a) makes the whole line a finite piece.
            let density = |a: f64| shape(a.tan()) / a.cos().powi(2);
            let area = |to: f64| {
                let step = to / 20_000.0;
                let inner = |at: u32| density(f64::from(at) * step) * if at % 2 == 1 { 4.0 } else { 2.0 };
                (density(0.0) + density(to) + (1..20_000).map(inner).sum::<f64>()) * step / 3.0
            };
            let share = area(student(freedom).atan()) / area(std::f64::consts::FRAC_PI_2 - 1e-9);
            assert!((share - 0.95).abs() < 3e-4, "{freedom}: {share}");
        }
    }
}
