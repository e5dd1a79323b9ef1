//! Diagnosis: which wheel, plug, roller, row or input is wrong, how sure, what to try next, how to put it right.
//!
//! Every hypothesis of a [`model::Model`] has a weight; an observation multiplies each weight by how likely it is under
//! that hypothesis. Nothing is dropped, so nothing is missed. What the tests on hand cannot tell apart is shown as one
//! class, with the cheapest action that splits it.
//!
//! Limits: at most three faulty components; a common cause alone or with one more fault; all faulty wheels of one
//! hypothesis on the same side of their drivers; noise and priors are guesses. How often it is right on real rovers is
//! not known: the simulated figures come from this very model.

pub mod action;
pub mod beliefs;
pub mod body;
pub mod cause;
pub mod class;
pub mod evidence;
pub mod fault;
pub mod finish;
pub mod full_joint;
pub mod hypothesis;
pub mod model;
pub mod move_table;
pub mod observation;
pub mod pattern;
pub mod posterior;
pub mod prediction;
pub mod proposal;
pub mod reading;
pub mod repair;
pub mod rollers;
pub mod shares;
pub mod sheet;
pub mod sight;
pub mod space;
pub mod spread;
pub mod test;
pub mod wheel_state;
pub mod wiring;
pub mod words;

use std::sync::{Arc, OnceLock};

use action::{Action, Exchanges};
use class::{Class, Partition};
use evidence::Evidence;
use finish::{Doubt, Finish};
use full_joint::FullJoint;
use model::Model;
use move_table::Moves;
use observation::{Factor, Kept, Observation, ObservationFault, ObservationId};
use posterior::Posterior;
use prediction::{Predictions, Question};
use proposal::{Proposal, Scales, Why};
use reading::Readings;
use repair::Repair;
use space::Space;
use spread::Spread;
use test::{Available, Order, Test};
use wheel_state::DutyLevel;

use crate::rover::machine::Machine;
use crate::rover::meaning::MoveRow;

/// One diagnosis of one rover.
#[derive(Clone, Debug)]
pub struct Diagnosis {
    model: Arc<Model>,
    machine: Arc<Machine>,
    space: Arc<Space>,
    readings: Arc<Readings>,
    plain: Arc<Predictions>,
    exchanged: Vec<Arc<Predictions>>,
    evidence: Evidence,
    now: Exchanges,
    prior: Arc<Posterior>,
    posterior: Posterior,
    available: Available,
    /// Rows that this person's panel cannot order.
    left_out: Vec<usize>,
    partition: OnceLock<Arc<Partition>>,
}

impl Diagnosis {
    /// Nothing seen yet. Without rows the eleven motions are taken.
    pub fn new(model: Model, machine: &Machine, rows: &[MoveRow]) -> Self {
        let space = Space::new(&model, machine, Moves::new(rows));
        let prior = Arc::new(Posterior::prior(&space, &model.beliefs));
        Self {
            readings: Arc::new(Readings::new(&model.beliefs.misread)),
            model: Arc::new(model),
            machine: Arc::new(machine.clone()),
            space: Arc::new(space),
            plain: Arc::new(Predictions::new(Exchanges::default())),
            exchanged: Vec::new(),
            evidence: Evidence::default(),
            now: Exchanges::default(),
            posterior: (*prior).clone(),
            prior,
            available: Available::ALL,
            left_out: Vec::new(),
            partition: OnceLock::new(),
        }
    }

    /// The same rover and model with nothing seen yet; what was worked out is kept.
    pub fn afresh(&self) -> Self {
        Self {
            exchanged: Vec::new(),
            evidence: Evidence::default(),
            now: Exchanges::default(),
            posterior: (*self.prior).clone(),
            ..self.clone()
        }
    }

    /// The hypotheses.
    pub fn space(&self) -> &Space {
        &self.space
    }

    /// Their weights.
    pub const fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// The model.
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// The observations kept.
    pub const fn evidence(&self) -> &Evidence {
        &self.evidence
    }

    /// Says which tests are on hand; classes are made of what these cannot tell apart.
    pub fn allow(&mut self, available: Available) {
        if available != self.available {
            self.available = available;
            self.partition = OnceLock::new();
        }
    }

    /// Says which rows cannot be ordered on this panel; they are not proposed and split no class.
    pub fn leave_out(&mut self, rows: &[usize]) {
        if rows != self.left_out {
            self.left_out = rows.to_vec();
            self.partition = OnceLock::new();
        }
    }

    /// Takes one observation, made after the exchanges so far.
    pub fn observe(&mut self, said: Observation) -> Result<ObservationId, ObservationFault> {
        said.check(&self.space.moves)?;
        let id = self.evidence.keep(said, self.now.clone());
        self.know_exchanges();
        if let Some(kept) = self.evidence.all().last().cloned() {
            self.weigh(&kept);
        }
        Ok(id)
    }

    /// Takes an observation back; false when it is not there.
    pub fn take_back(&mut self, id: ObservationId) -> bool {
        let found = self.evidence.take_back(id);
        self.weigh_all();
        found
    }

    /// Doubts an observation, or no longer; false when it is not there.
    pub fn doubt(&mut self, id: ObservationId, doubted: bool) -> bool {
        let found = self.evidence.doubt(id, doubted);
        self.weigh_all();
        found
    }

    /// Doubts every answer given to this test so far.
    pub fn doubt_test(&mut self, test: Test) {
        let given = self.evidence.all().iter().filter(|kept| kept.said.test() == test);
        let ids: Vec<ObservationId> = given.map(|kept| kept.id).collect();
        for id in ids {
            self.evidence.doubt(id, true);
        }
        self.weigh_all();
    }

    /// The person exchanged something. The report goes on speaking of the rover as it was before.
    pub fn exchange(&mut self, action: Action) {
        self.now = self.now.then(action);
    }

    /// What is exchanged now.
    pub const fn exchanges(&self) -> &Exchanges {
        &self.now
    }

    /// Classes under the tests on hand, likeliest first.
    pub fn ranked(&self) -> Vec<Class> {
        self.partition().ranked(&self.space, &self.posterior)
    }

    /// The split of all hypotheses under the tests on hand, and those answered before they were left out.
    pub fn partition(&self) -> Arc<Partition> {
        Arc::clone(self.partition.get_or_init(|| Arc::new(self.split_space())))
    }

    /// The test to make next; `None` when nothing on hand tells more and every row was seen.
    pub fn next_test(&self, available: &Available) -> Option<Proposal> {
        self.next_after(available, self.best_test(available))
    }

    /// The same, where [`Diagnosis::best_test`] was worked out already.
    pub fn next_after(&self, available: &Available, best: Option<Proposal>) -> Option<Proposal> {
        self.first_of_all(*available).or(best).or_else(|| {
            let tests = proposal::after_exchange_tests(available, &self.space.moves);
            let exchange = available.screwdriver.then(|| self.scales().best_exchange(&self.now, &tests));
            exchange.flatten().or_else(|| self.row_not_seen(*available))
        })
    }

    /// How far it is, under the tests on hand.
    pub fn finished(&self) -> Finish {
        self.finish_of(&self.ranked(), self.best_test(&self.available).as_ref(), &self.doubtful())
    }

    /// The same, where ranking, best test under the tests on hand and doubts were worked out already.
    pub fn finish_of(&self, ranked: &[Class], best_test: Option<&Proposal>, doubtful: &[Doubt]) -> Finish {
        let best = ranked.first().map_or(0.0, |class| class.probability);
        let gain = best_test.map_or(0.0, |proposal| proposal.gain);
        let rows_left: Vec<usize> = (0..self.space.moves.count()).filter(|row| !self.evidence.row_seen(*row)).collect();
        let outside = finish::outside(doubtful);
        Finish {
            diagnosed: best >= finish::DIAGNOSED || gain < proposal::LEAST_GAIN,
            accepted: rows_left.is_empty() && best >= finish::ACCEPTED && outside.is_none(),
            outside_the_model: outside,
            best,
            gain,
            rows_left,
        }
    }

    /// Observations taken for misread that the person does not doubt already, the least likely first.
    pub fn doubtful(&self) -> Vec<Doubt> {
        let doubts = self.evidence.all().iter().filter(|kept| !kept.doubted).map(|kept| Doubt {
            id: kept.id,
            misread: 1.0 - self.agreement(kept),
            overruled: self.evidence.repeats(kept).any(|later| self.agreement(later) > 0.5),
        });
        let mut doubts: Vec<Doubt> = doubts.filter(|doubt| doubt.misread >= finish::DISBELIEVED).collect();
        doubts.sort_by(|a, b| b.misread.total_cmp(&a.misread).then(a.id.cmp(&b.id)));
        doubts
    }

    /// The observation to repeat first, where more are disbelieved than a person's slips explain.
    pub fn outside_the_model(&self) -> Option<ObservationId> {
        finish::outside(&self.doubtful())
    }

    /// The test to repeat, where the answers lie outside the model.
    pub fn again(&self) -> Option<Proposal> {
        let id = self.outside_the_model()?;
        let test = self.evidence.all().iter().find(|kept| kept.id == id)?.said.test();
        Some(Proposal {
            exchange: None,
            test,
            gain: 0.0,
            cost: proposal::cost(&self.model.beliefs.costs, test),
            why: Why::DoesNotFit,
        })
    }

    /// How to put the likeliest member of a class right.
    pub fn repair(&self, class: &Class) -> Repair {
        repair::of(class, &self.machine, &self.space.moves, self.split(class), self.available.one_wheel)
    }

    /// The cheapest action that tells the likeliest member of a class from another one.
    pub fn split(&self, class: &Class) -> Option<Proposal> {
        repair::cheapest_split(class, &self.space, &self.model.beliefs.costs, &self.available)
    }

    /// Probability that more than three components are faulty, over every combination of faults, 0 to 1.
    ///
    /// It sees wheels, wiring, rollers and table only. `None` where an observation does not come from stand or look,
    /// came after an exchange, or is doubted. A repeat counts in full here.
    pub fn beyond_three_faults(&self) -> Option<f64> {
        let mut joint = FullJoint::new(&self.model.beliefs, self.space.moves.clone(), cause::inverted(&self.machine));
        for kept in self.evidence.all() {
            match kept.said {
                Observation::Stand(order, duty, said) if kept.plain() => joint.stand(order, duty, said),
                Observation::Look(said) if kept.plain() => joint.look(said),
                Observation::Tape => {}
                _ => return None,
            }
        }
        Some(joint.by_faults().iter().skip(4).sum())
    }

    /// About how many more answers it takes until the likeliest class reaches [`finish::DIAGNOSED`], where each leaves
    /// [`finish::LEAVES`] of what speaks against it. At least 1 until then; 0 when it stands or nothing on hand tells more.
    pub fn answers_to_come(&self, ranked: &[Class], best_test: Option<&Proposal>) -> usize {
        let against = 1.0 - ranked.first().map_or(0.0, |class| class.probability);
        let aim = 1.0 - finish::DIAGNOSED;
        if best_test.is_none() || against <= aim {
            return 0;
        }
        ((aim / against).ln() / finish::LEAVES.ln()).round().max(1.0) as usize
    }

    fn scales(&self) -> Scales<'_> {
        Scales {
            spread: Spread::new(&self.space, &self.posterior),
            readings: &self.readings,
            costs: &self.model.beliefs.costs,
        }
    }

    /// Tape before anything else, then rest.
    fn first_of_all(&self, available: Available) -> Option<Proposal> {
        let costs = &self.model.beliefs.costs;
        let propose = |test, why| Proposal { exchange: None, test, gain: 0.0, cost: proposal::cost(costs, test), why };
        if available.tape && self.model.extended && !self.evidence.has(Test::Tape) {
            return Some(propose(Test::Tape, Why::NamesFirst));
        }
        let rest = self.space.moves.rest().filter(|rest| available.stand && !self.evidence.row_on_stand(*rest))?;
        let duty = if available.high_duty { DutyLevel::High } else { DutyLevel::Low };
        Some(propose(Test::Stand(Order::Row(rest), duty), Why::RestFirst))
    }

    /// The test that tells most for its effort; `None` when none on hand tells [`proposal::LEAST_GAIN`].
    pub fn best_test(&self, available: &Available) -> Option<Proposal> {
        let tests = self.tests(*available);
        self.scales().best(self.predictions(&self.now), &tests)
    }

    /// Tests on hand whose rows can be ordered. On the floor nobody is asked for a high duty who can order a low one.
    fn tests(&self, available: Available) -> Vec<Test> {
        let slow = self.model.extended && available.low_duty;
        let fast = |test: &Test| slow && matches!(test, Test::Floor(_, DutyLevel::High));
        let all = available.tests(&self.space.moves).into_iter().filter(|test| !fast(test));
        all.filter(|test| test.row().is_none_or(|row| !self.left_out.contains(&row))).collect()
    }

    fn row_not_seen(&self, available: Available) -> Option<Proposal> {
        let wanted = |row: &usize| !self.evidence.row_seen(*row) && !self.left_out.contains(row);
        let row = (0..self.space.moves.count()).find(wanted)?;
        let duty = if available.high_duty { DutyLevel::High } else { DutyLevel::Low };
        let test = match available {
            Available { stand: true, .. } => Test::Stand(Order::Row(row), duty),
            Available { floor: true, .. } => Test::Floor(row, duty),
            _ => return None,
        };
        let weighed = self.scales().weigh(self.predictions(&self.now), test);
        Some(Proposal { why: Why::RowNotSeen, ..weighed })
    }

    fn agreement(&self, kept: &Kept) -> f64 {
        let predictions = self.predictions(&kept.after);
        let factors = kept.said.factors(&self.model.beliefs.misread, &self.space.moves);
        let each = factors.iter().map(|factor| self.posterior.agreement(&self.space, predictions, factor));
        each.fold(1.0, f64::min)
    }

    fn weigh(&mut self, kept: &Kept) {
        let misread = &self.model.beliefs.misread;
        let factors: Vec<Factor> = self.evidence.factors(kept, misread, &self.space.moves);
        let predictions = find(&self.plain, &self.exchanged, &kept.after);
        for factor in &factors {
            self.posterior.take(&self.space, predictions, factor);
        }
    }

    fn weigh_all(&mut self) {
        self.posterior = (*self.prior).clone();
        for kept in self.evidence.all().to_vec() {
            self.weigh(&kept);
        }
        self.partition = OnceLock::new();
    }

    /// Makes predictions for exchanges that are new.
    fn know_exchanges(&mut self) {
        let new: Vec<Exchanges> = self
            .evidence
            .exchanges()
            .into_iter()
            .filter(|after| self.exchanged.iter().all(|known| known.after != **after))
            .cloned()
            .collect();
        if !new.is_empty() {
            self.partition = OnceLock::new();
        }
        self.exchanged.extend(new.into_iter().map(|after| Arc::new(Predictions::new(after))));
    }

    fn predictions(&self, after: &Exchanges) -> &Predictions {
        find(&self.plain, &self.exchanged, after)
    }

    fn split_space(&self) -> Partition {
        let tests = self.tests(self.available);
        let mut questions: Vec<(&Predictions, Question)> = Vec::new();
        for predictions in std::iter::once(&self.plain).chain(&self.exchanged) {
            questions.extend(tests.iter().filter_map(|test| Some((&**predictions, class::question(*test)?))));
        }
        // What was answered tells hypotheses apart, though nobody can be asked it any more.
        for kept in self.evidence.all() {
            let question = class::question(kept.said.test()).filter(|_| !tests.contains(&kept.said.test()));
            questions.extend(question.map(|question| (self.predictions(&kept.after), question)));
        }
        Partition::new(&self.space, &questions)
    }
}

fn find<'a>(plain: &'a Predictions, exchanged: &'a [Arc<Predictions>], after: &Exchanges) -> &'a Predictions {
    exchanged.iter().find(|known| known.after == *after).map_or(plain, |known| &**known)
}
