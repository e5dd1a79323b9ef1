//! Speed of the diagnosis: one answer, the next test, one answer of the full joint. Run with `cargo bench --bench diagnosis`.
#![allow(missing_docs, clippy::unwrap_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::action::Exchanges;
use wheeltap::diagnosis::beliefs::Beliefs;
use wheeltap::diagnosis::full_joint::FullJoint;
use wheeltap::diagnosis::model::Model;
use wheeltap::diagnosis::move_table::Moves;
use wheeltap::diagnosis::observation::Observation;
use wheeltap::diagnosis::posterior::Posterior;
use wheeltap::diagnosis::prediction::Predictions;
use wheeltap::diagnosis::proposal::Scales;
use wheeltap::diagnosis::reading::Readings;
use wheeltap::diagnosis::spread::Spread;
use wheeltap::diagnosis::test::{Available, Order, Test};
use wheeltap::diagnosis::wheel_state::DutyLevel;
use wheeltap::rover::machine::Machine;

const SEEN: Observation = Observation::Stand(Order::Row(2), DutyLevel::High, [Some(-1), Some(1), Some(1), Some(-1)]);

fn models() -> [(&'static str, Model); 3] {
    let two = Model { most_faults: 2, ..Model::base() };
    [("two faults", two), ("three faults", Model::base()), ("extended", Model::extended())]
}

fn one_answer(c: &mut Criterion) {
    for (name, model) in models() {
        let diagnosis = Diagnosis::new(model, &Machine::default(), &[]);
        let space = diagnosis.space();
        let predictions = Predictions::new(Exchanges::default());
        let factor = SEEN.factors(&diagnosis.model().beliefs.misread, &space.moves).remove(0);
        let mut posterior = Posterior::prior(space, &diagnosis.model().beliefs);
        c.bench_function(&format!("one answer, {name}, {} hypotheses", space.len()), |b| {
            b.iter(|| posterior.take(space, &predictions, &factor));
        });
    }
}

fn next_test(c: &mut Criterion) {
    for (name, model) in models() {
        let diagnosis = Diagnosis::new(model, &Machine::default(), &[]);
        let beliefs = &diagnosis.model().beliefs;
        let readings = Readings::new(&beliefs.misread);
        let predictions = Predictions::new(Exchanges::default());
        let tests = Available::ALL.tests(&diagnosis.space().moves);
        // More than there are, some twice, so that the figure is for eighty and more.
        let tests: Vec<Test> = tests.iter().copied().cycle().take(88).collect();
        c.bench_function(&format!("next of {} tests, {name}", tests.len()), |b| {
            b.iter(|| {
                let spread = Spread::new(diagnosis.space(), diagnosis.posterior());
                Scales { spread, readings: &readings, costs: &beliefs.costs }.best(&predictions, &tests)
            });
        });
    }
}

fn ranking(c: &mut Criterion) {
    let diagnosis = Diagnosis::new(Model::extended(), &Machine::default(), &[]);
    c.bench_function("ranked classes, extended", |b| b.iter(|| diagnosis.ranked()));
    c.bench_function("splitting the space into classes, extended", |b| {
        b.iter(|| {
            let mut diagnosis = diagnosis.afresh();
            diagnosis.allow(Available { screwdriver: false, ..Available::ALL });
            diagnosis.partition()
        });
    });
    c.bench_function("a new diagnosis with its first answer, extended", |b| {
        b.iter(|| Diagnosis::new(Model::extended(), &Machine::default(), &[]).observe(SEEN));
    });
}

fn full_joint(c: &mut Criterion) {
    let mut joint = FullJoint::new(&Beliefs::default(), Moves::default(), [false; 4]);
    c.bench_function("one answer, full joint of 43,794,432", |b| {
        b.iter(|| joint.stand(Order::Row(2), DutyLevel::High, [Some(-1), Some(1), Some(1), Some(-1)]));
    });
}

criterion_group!(diagnosis, one_answer, next_test, ranking, full_joint);
criterion_main!(diagnosis);
