//! How far the sender's clock is off: what was heard beside its rate, against what its own orders would give there.

use super::expectation::Expectation;
use super::trial::Trial;

/// Farthest error thought of, thousandths: beyond it nothing would read clean.
const FARTHEST: i32 = 40;

/// Step, thousandths.
const STEP: i32 = 2;

/// Errors less likely than the best by more than this, in natural logarithms, are ruled out. Generous, because the
/// model knows nothing of edges and noise.
const RULED_OUT: f64 = 16.0;

/// A span wider than this says nothing, thousandths.
const TELLING: i32 = 60;

/// Lowest and highest error, thousandths, that agree with what was heard at the other trial rates; `None` where they
/// say too little. `own` is the trial that read clean.
pub fn error(own: &Trial, others: &[&Trial], told: bool) -> Option<[i32; 2]> {
    let lines: Vec<Vec<u8>> = own.bursts.iter().map(|burst| burst.iter().map(|heard| heard.byte).collect()).collect();
    let scores: Vec<(i32, f64)> = (-FARTHEST..=FARTHEST)
        .step_by(STEP as usize)
        .map(|error| (error, others.iter().map(|trial| score(&lines, own.rate, error, trial, told)).sum()))
        .collect();
    let best = scores.iter().map(|(_, score)| *score).fold(f64::NEG_INFINITY, f64::max);
    let likely = || scores.iter().filter(|(_, score)| best - score <= RULED_OUT).map(|(error, _)| *error);
    let span = [likely().min()? - STEP, likely().max()? + STEP];
    (span[1] - span[0] <= TELLING).then_some(span)
}

fn score(lines: &[Vec<u8>], rate: u32, error: i32, trial: &Trial, told: bool) -> f64 {
    let sender = f64::from(rate) * (1.0 + f64::from(error) / 1000.0);
    let expected = Expectation::of(lines.iter().map(Vec::as_slice), sender, trial.rate.into(), &[-0.002, 0.0, 0.002]);
    trial.bursts.iter().flatten().map(|heard| expected.log(*heard, told)).sum()
}
