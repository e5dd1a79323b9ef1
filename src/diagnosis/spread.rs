//! Spread: how the weight of all hypotheses is spread over the answers of a question.
//!
//! Most move tables leave most rows alone. Their weights are added up by hardware once, so that a question about a row
//! looks at each hardware once, and at the few tables that change that row.

use crate::diagnosis::move_table::TableFault;
use crate::diagnosis::posterior::Posterior;
use crate::diagnosis::prediction::{Predictions, Question};
use crate::diagnosis::space::Space;
use crate::diagnosis::test::Order;

/// How many answers a question can have at most.
const ANSWERS: usize = 81;

/// Weights of one posterior, added up by hardware.
#[derive(Debug)]
pub struct Spread<'a> {
    space: &'a Space,
    posterior: &'a Posterior,
    /// Over all tables.
    all: Vec<f64>,
    /// By row: over the tables that leave it alone; and the others.
    rows: Vec<(Vec<f64>, Vec<usize>)>,
}

impl<'a> Spread<'a> {
    /// Adds up.
    pub fn new(space: &'a Space, posterior: &'a Posterior) -> Self {
        let tables = || 0..space.tables();
        let all = added(space, posterior, tables());
        let rows = (0..space.moves.count())
            .map(|row| {
                let (change, leave): (Vec<usize>, Vec<usize>) = tables().partition(|table| changes(space, *table, row));
                (added(space, posterior, leave.into_iter()), change)
            })
            .collect();
        Self { space, posterior, all, rows }
    }

    /// Shares of the answers to this question; they sum to 1.
    pub fn of(&self, predictions: &Predictions, question: Question) -> [f64; ANSWERS] {
        let mut shares = [0.0; ANSWERS];
        let row = match question {
            Question::Wheels(Order::Row(row), _) | Question::Body(row, _) => self.rows.get(row),
            _ => None,
        };
        let (weights, others) = row.map_or((&self.all, &[][..]), |(weights, others)| (weights, others));
        count(&mut shares, weights, predictions.answers(self.space, question, 0));
        let (all_weights, total) = self.posterior.parts();
        for table in others {
            let block = self.space.block(*table);
            let weights = all_weights.get(block.at..block.at + block.len).unwrap_or_default();
            count(&mut shares, weights, predictions.answers(self.space, question, *table));
        }
        shares.map(|share| share / total)
    }
}

/// Whether the table of this number tells the wheels something else in this row.
fn changes(space: &Space, table: usize, row: usize) -> bool {
    space.table(table) != TableFault::None && space.told(Order::Row(row), table) != space.told(Order::Row(row), 0)
}

/// Weights by hardware, added over these tables.
fn added(space: &Space, posterior: &Posterior, tables: impl Iterator<Item = usize>) -> Vec<f64> {
    let (weights, _) = posterior.parts();
    let mut sums = vec![0.0; space.hardware.len()];
    for table in tables {
        let block = space.block(table);
        let from = weights.get(block.at..block.at + block.len).unwrap_or_default();
        for (sum, weight) in sums.iter_mut().zip(from) {
            *sum += weight;
        }
    }
    sums
}

/// Adds each weight to the share of its answer. Two tallies side by side: most weights go to the same answer.
fn count(shares: &mut [f64; ANSWERS], weights: &[f64], answers: &[u8]) {
    let mut tallies = [[0.0; 256]; 2];
    let mut pairs = weights.chunks_exact(2);
    let mut said = answers.chunks_exact(2);
    for (weight, answer) in pairs.by_ref().zip(said.by_ref()) {
        tallies[0][usize::from(answer[0])] += weight[0];
        tallies[1][usize::from(answer[1])] += weight[1];
    }
    if let (Some(weight), Some(answer)) = (pairs.remainder().first(), answers.get(weights.len() - 1)) {
        tallies[0][usize::from(*answer)] += weight;
    }
    for (answer, share) in shares.iter_mut().enumerate() {
        *share += tallies[0][answer] + tallies[1][answer];
    }
}
