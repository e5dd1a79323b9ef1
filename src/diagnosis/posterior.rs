//! The posterior: a weight for every hypothesis, exact. No hypothesis is ever dropped.
//!
//! Weights stay linear. Before each answer they are brought back to a sum of 1; the logarithm of what was taken out
//! is kept, so that nothing can underflow however many answers come.

use crate::diagnosis::beliefs::Beliefs;
use crate::diagnosis::observation::Factor;
use crate::diagnosis::prediction::Predictions;
use crate::diagnosis::space::Space;

/// Weights of all hypotheses of a space.
#[derive(Clone, Debug)]
pub struct Posterior {
    weights: Vec<f64>,
    total: f64,
    log_scale: f64,
}

impl Posterior {
    /// Before any test.
    pub fn prior(space: &Space, beliefs: &Beliefs) -> Self {
        let hardware: Vec<f64> = space.hardware.iter().map(|hardware| beliefs.hardware(hardware)).collect();
        let mut weights = Vec::with_capacity(space.len());
        for block in space.blocks() {
            let table = beliefs.table(space.table(block.table), space.tables());
            weights.extend(hardware.iter().take(block.len).map(|weight| weight * table));
        }
        let total: f64 = weights.iter().sum();
        let mut prior = Self { weights, total, log_scale: 0.0 };
        prior.normalise();
        prior.log_scale = 0.0;
        prior
    }

    /// Takes one answer.
    pub fn take(&mut self, space: &Space, predictions: &Predictions, factor: &Factor) {
        let mut chance = [0.0; 256];
        for (scaled, likelihood) in chance.iter_mut().zip(&factor.likelihood) {
            *scaled = likelihood / self.total;
        }
        self.log_scale += self.total.ln();
        let mut total = 0.0;
        predictions.blocks(space, factor.question, |at, answers| {
            if let Some(weights) = self.weights.get_mut(at..at + answers.len()) {
                total += weigh(weights, answers, &chance);
            }
        });
        self.total = total;
    }

    /// Brings the weights back to a sum of 1.
    fn normalise(&mut self) {
        let total = self.total;
        for weight in &mut self.weights {
            *weight /= total;
        }
        self.log_scale += total.ln();
        self.total = 1.0;
    }

    /// Probability of the hypothesis at this place, 0 to 1.
    pub fn probability(&self, place: usize) -> f64 {
        self.weights.get(place).map_or(0.0, |weight| weight / self.total)
    }

    /// Probabilities of all hypotheses, in the space's order.
    pub fn probabilities(&self) -> impl Iterator<Item = f64> + '_ {
        self.weights.iter().map(|weight| weight / self.total)
    }

    /// Natural logarithm of the probability of all answers so far.
    pub fn log_evidence(&self) -> f64 {
        self.log_scale + self.total.ln()
    }

    /// Probability that the answer of this factor is the predicted one.
    pub fn agreement(&self, space: &Space, predictions: &Predictions, factor: &Factor) -> f64 {
        let agrees: Vec<f64> = factor.agrees.iter().map(|agrees| f64::from(u8::from(*agrees))).collect();
        let mut sum = 0.0;
        predictions.blocks(space, factor.question, |at, answers| {
            let weights = self.weights.get(at..at + answers.len()).unwrap_or_default();
            sum += weights.iter().zip(answers).map(|(w, a)| w * agrees[usize::from(*a)]).sum::<f64>();
        });
        sum / self.total
    }

    /// The plain weights and their sum, for those that add them up.
    pub(crate) fn parts(&self) -> (&[f64], f64) {
        (&self.weights, self.total)
    }
}

/// Multiplies each weight by the chance of its answer; gives the new sum. Four sums side by side, always in one order.
fn weigh(weights: &mut [f64], answers: &[u8], chance: &[f64; 256]) -> f64 {
    let mut sums = [0.0; 4];
    let mut fours = weights.chunks_exact_mut(4);
    let mut answer_fours = answers.chunks_exact(4);
    for (four, said) in fours.by_ref().zip(answer_fours.by_ref()) {
        for lane in 0..4 {
            four[lane] *= chance[usize::from(said[lane])];
            sums[lane] += four[lane];
        }
    }
    let rest = fours.into_remainder().iter_mut().zip(answer_fours.remainder());
    for (weight, said) in rest {
        *weight *= chance[usize::from(*said)];
        sums[0] += *weight;
    }
    sums.iter().sum()
}
