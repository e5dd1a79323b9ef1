//! Proposal: the test to make next. Rest first, for safety; then what tells most for its effort, on the stand before
//! on the floor, without a screwdriver before with one.

use crate::diagnosis::action::{Action, Exchanges};
use crate::diagnosis::beliefs::Costs;
use crate::diagnosis::class;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::prediction::Predictions;
use crate::diagnosis::reading::Readings;
use crate::diagnosis::spread::Spread;
use crate::diagnosis::test::{Available, Order, Test, one_wheel_orders};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::mecanum::Motion;

/// A test that tells less than this, bits, is not worth making.
pub const LEAST_GAIN: f64 = 0.01;

/// A test to make.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// What to exchange before it.
    pub exchange: Option<Action>,
    /// The test.
    pub test: Test,
    /// What it is expected to tell, bits.
    pub gain: f64,
    /// Its effort, in orders watched on the stand.
    pub cost: f64,
    /// Why this one.
    pub why: Why,
}

/// Why a test is proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// So that left, right, front and rear mean the same to all.
    NamesFirst,
    /// Before any wheel is driven: does one run at rest?
    RestFirst,
    /// It tells most for its effort.
    TellsMost,
    /// Every row has to be seen once before the rover is accepted.
    RowNotSeen,
    /// The answer given to it is disbelieved.
    DoesNotFit,
    /// What the stand cannot show: wheels, rollers and floor together.
    ProofOnTheFloor,
}

/// How much trouble a test is: stand, floor, screwdriver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tier {
    /// Nothing moves over the ground.
    Stand,
    /// The rover drives.
    Floor,
    /// Something is taken apart.
    Screwdriver,
}

impl Proposal {
    /// Its tier.
    pub const fn tier(&self) -> Tier {
        match (self.exchange, self.test) {
            (Some(_), _) => Tier::Screwdriver,
            (None, Test::Floor(..) | Test::Correction) => Tier::Floor,
            _ => Tier::Stand,
        }
    }

    /// Bits for one order's worth of effort.
    pub fn worth(&self) -> f64 {
        self.gain / self.cost
    }
}

/// Effort of a test.
pub const fn cost(costs: &Costs, test: Test) -> f64 {
    match test {
        Test::Tape => costs.tape,
        Test::Look => costs.look,
        Test::Stand(Order::Row(_), _) => costs.stand,
        Test::Stand(Order::OneWheel(..), _) => costs.one_wheel,
        Test::Floor(..) => costs.floor,
        Test::Correction => costs.correction,
    }
}

/// Effort of an exchange.
pub const fn exchange_cost(costs: &Costs, action: Action) -> f64 {
    match action {
        Action::Leads(_) => costs.leads,
        Action::Plugs(..) => costs.plugs,
        Action::Wheels(..) => costs.wheels,
    }
}

/// What is needed to weigh tests against each other.
#[derive(Debug)]
pub struct Scales<'a> {
    /// Weights added up.
    pub spread: Spread<'a>,
    /// How answers come about.
    pub readings: &'a Readings,
    /// Efforts.
    pub costs: &'a Costs,
}

impl Scales<'_> {
    /// Weighs one test of the rover as `predictions` has it.
    pub fn weigh(&self, predictions: &Predictions, test: Test) -> Proposal {
        let gain = class::question(test)
            .map_or(0.0, |question| self.readings.gain(question, &self.spread.of(predictions, question)));
        Proposal { exchange: None, test, gain, cost: cost(self.costs, test), why: Why::TellsMost }
    }

    /// The best of these: the lowest tier with something to tell, then the most for its effort, then the first.
    pub fn best(&self, predictions: &Predictions, tests: &[Test]) -> Option<Proposal> {
        let weighed = tests.iter().map(|test| self.weigh(predictions, *test));
        weighed.filter(|proposal| proposal.gain >= LEAST_GAIN).reduce(better)
    }

    /// The best exchange with a test after it. `now` is what is exchanged already.
    pub fn best_exchange(&self, now: &Exchanges, tests: &[Test]) -> Option<Proposal> {
        let mut best: Option<Proposal> = None;
        for action in Action::all() {
            let predictions = Predictions::new(now.then(action));
            for test in tests.iter().filter(|test| suits(action, **test)) {
                let mut proposal = self.weigh(&predictions, *test);
                proposal.cost += exchange_cost(self.costs, action);
                proposal.exchange = Some(action);
                if proposal.gain >= LEAST_GAIN {
                    best = Some(match best {
                        Some(best) => better(best, proposal),
                        None => proposal,
                    });
                }
            }
        }
        best
    }
}

/// Exchanged wheels show on the floor alone; leads and plugs show on the stand.
const fn suits(action: Action, test: Test) -> bool {
    matches!(
        (action, test),
        (Action::Wheels(..), Test::Floor(..)) | (Action::Leads(_) | Action::Plugs(..), Test::Stand(..))
    )
}

/// The better of two: the lower tier, then the more worth; of equals the first.
fn better(best: Proposal, next: Proposal) -> Proposal {
    let wins = (next.tier(), -next.worth()) < (best.tier(), -best.worth());
    if wins { next } else { best }
}

/// Tests after an exchange: each wheel alone on the stand (else forward and left), a slide to the left on the floor.
pub fn after_exchange_tests(available: &Available, moves: &Moves) -> Vec<Test> {
    let row = |motion: Motion| moves.row_with(motion.signs());
    let mut tests = Vec::new();
    if available.one_wheel {
        tests.extend(one_wheel_orders().map(|order| Test::Stand(order, DutyLevel::High)));
    } else if available.stand {
        let rows = [Motion::Forward, Motion::Left].into_iter().filter_map(row);
        tests.extend(rows.map(|row| Test::Stand(Order::Row(row), DutyLevel::High)));
    }
    if available.floor {
        tests.extend(row(Motion::Left).map(|row| Test::Floor(row, DutyLevel::High)));
    }
    tests
}
