//! Orders are hit while wheels turn and hardly at rest: the motors' own noise.
//!
//! Each intact order is a place at which one could have been hit before it. Were the hits as frequent at rest as in a
//! move, so few at rest would be most unlikely: that chance is worked out exactly (binomial).

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View, in_lines, reset};
use crate::rover::state::RoverState;

/// Fewest hits of which anything is said.
const ENOUGH: u64 = 12;
/// Fewest orders at rest.
const RESTING: u64 = 40;
/// The chance of so few hits at rest must be smaller.
const CHANCE: f64 = 1e-4;
/// In a move hits are so many times as frequent.
const TIMES: u64 = 4;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoiseWithDuty {
    ledger: Ledger,
    /// Orders that came intact or were hit: at rest, in a move.
    orders: [u64; 2],
    hits: [u64; 2],
    /// Sum of the places, among all orders of moves, of those that were hit.
    places: u64,
    /// Hits that only the highest bits make: a clock, no noise.
    high: u64,
    /// Since the last intact order: the hit, and whether a wheel was meant to turn.
    hit: Option<(Event, bool)>,
}

const WORDS: Words = Words {
    id: "noise-with-duty",
    severity: Severity::Fault,
    layer: Layer::Wire,
    confidence: Confidence::Possible,
    not: "Plain noise hits orders at rest as often. A clock that is off hits the same bits of the same order each time, and more as it warms up; here hits came all through the session.",
    what_to_do: "100 nF across each motor's terminals; motor leads twisted and away from the wire; both grounds to the pack's minus, not through each other. Pack out first.",
    check_after: "As few broken orders in ten minutes at full duty as at rest.",
};

impl NoiseWithDuty {
    fn order(&mut self, moving: bool) {
        self.orders[usize::from(moving)] += 1;
        let Some((hit, moved)) = self.hit.take() else { return };
        self.orders[usize::from(moved)] += 1;
        self.hits[usize::from(moved)] += 1;
        if moved {
            self.places += self.orders[1];
            self.ledger.add(&hit, 1);
        }
    }

    /// Whether the hits are spread over the moves, not gathered at one end of the session.
    fn spread(&self) -> bool {
        let all = u128::from(self.orders[1]) * u128::from(self.hits[1]);
        (all..=all * 3).contains(&(u128::from(self.places) * 4))
    }

    /// The chance that no more than these hits fall to rest, if they fall to all orders alike.
    fn chance(&self) -> f64 {
        let [resting, moving] = self.orders.map(|count| count as f64);
        let all = self.hits[0] + self.hits[1];
        let mut log = all as f64 * (moving / (resting + moving)).ln();
        let mut sum = log.exp();
        for k in 0..self.hits[0] {
            log += ((all - k) as f64 / (k + 1) as f64 * resting / moving).ln();
            sum += log.exp();
        }
        sum
    }
}

impl Rule for NoiseWithDuty {
    fn id(&self) -> &'static str {
        "noise-with-duty"
    }

    fn looks_for(&self) -> &'static str {
        "orders that are hit while wheels turn, and not at rest"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Damage, Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) {
            return;
        }
        let moving = view.state.is_some_and(RoverState::moving);
        match &event.what {
            Happening::Damage { raw, .. } => {
                let profile = view.rover.filter(|rover| in_lines(rover)).and_then(|rover| rover.profile(Wire::ToDrive));
                self.high += u64::from(profile.is_some_and(|profile| profile.whole_in_seven_bits(raw)));
                self.hit.get_or_insert_with(|| (event.clone(), moving));
            }
            Happening::Noise { .. } => {
                self.hit.get_or_insert_with(|| (event.clone(), moving));
            }
            // What a reset cuts was not hit by noise.
            Happening::Text { class, .. } if reset::sort(*class).is_some() => self.hit = None,
            Happening::Frame(_) if view.is_order(event) => self.order(moving),
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let ([resting, moving], [at_rest, in_moves]) = (self.orders, self.hits);
        let often =
            u128::from(in_moves) * u128::from(resting) >= u128::from(TIMES) * u128::from(at_rest) * u128::from(moving);
        let enough = at_rest + in_moves >= ENOUGH && resting >= RESTING && self.high * 2 < at_rest + in_moves;
        if !enough || !often || !self.spread() || self.chance() > CHANCE {
            return Vec::new();
        }
        let says = format!(
            "Orders are hit while wheels are meant to turn, {in_moves} of {moving}, and hardly at rest, {at_rest} of {resting}"
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten hits, one of them at rest, half of all orders at rest: (1 + 10) / 1024, counted by hand.
    #[test]
    fn the_chance_is_that_of_the_coin() {
        let rule = NoiseWithDuty { orders: [500, 500], hits: [1, 9], ..NoiseWithDuty::default() };
        assert!((rule.chance() - 11.0 / 1024.0).abs() < 1e-12, "{}", rule.chance());
    }
}
