//! How many tests a diagnosis takes, and how often it is right: with answers from the same model that diagnoses.
//! Figures on real rovers are not known.
#![allow(clippy::unwrap_used)]

#[path = "diagnosis/person.rs"]
mod person;

use person::Person;
use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::beliefs::Beliefs;
use wheeltap::diagnosis::model::Model;
use wheeltap::diagnosis::test::Available;
use wheeltap::rover::machine::Machine;

const STAND_HIGH: Available = Available { stand: true, high_duty: true, ..Available::NONE };
const STAND: Available = Available { low_duty: true, ..STAND_HIGH };

/// Tests until one class is left, by place; answers are right and known to be.
fn tests_needed(available: Available, flat: bool) -> (Diagnosis, Vec<usize>) {
    let mut beliefs = Beliefs::default();
    for rate in [&mut beliefs.misread.wheel, &mut beliefs.misread.way, &mut beliefs.misread.turn] {
        *rate = 1e-12;
    }
    if flat {
        beliefs.wheel = [1.0 / 6.0; 6];
        beliefs.wiring_right = 1.0 / 24.0;
        beliefs.rollers_right = 1.0 / 16.0;
    }
    let model = Model { most_faults: 2, table_trusted: true, beliefs, ..Model::base() };
    let mut diagnosis = Diagnosis::new(model, &Machine::default(), &[]);
    diagnosis.allow(available);
    let mut person = Person::new(0, false);
    let needed = (0..diagnosis.space().len())
        .map(|place| {
            let truth = diagnosis.space().hypothesis(place);
            let mut session = diagnosis.afresh();
            let mut count = 0;
            while session.ranked()[0].probability < 1.0 - 1e-6 {
                let test = session.best_test(&available).unwrap().test;
                session.observe(person.answer(&session, &truth, test)).unwrap();
                count += 1;
            }
            count
        })
        .collect();
    (diagnosis, needed)
}

/// Mean by the prior of the diagnosis (which is flat for the second figure), and the worst.
fn mean_and_worst(available: Available) -> [f64; 3] {
    let (diagnosis, needed) = tests_needed(available, false);
    let by_prior = diagnosis.posterior().probabilities().zip(&needed).map(|(p, n)| p * *n as f64).sum();
    let (_, flat) = tests_needed(available, true);
    let uniform = flat.iter().sum::<usize>() as f64 / flat.len() as f64;
    [by_prior, uniform, *needed.iter().chain(&flat).max().unwrap() as f64]
}

/// The exact optimum is 2.95 by the prior and 2.82 flat; a greedy choice by information needed 2.99 and 2.88, at worst
/// 4, with high duty, and 2.99 and 2.90 with both (worked out before this program, by other code).
#[test]
fn tests_without_misreading() {
    for (available, flat_at_most) in [(STAND_HIGH, 2.885), (STAND, 2.905)] {
        let [by_prior, flat, worst] = mean_and_worst(available);
        assert!((2.945..=2.995).contains(&by_prior), "{by_prior}");
        assert!((2.815..=flat_at_most).contains(&flat), "{flat}");
        assert!(worst <= 4.0, "{worst}");
    }
}

/// Rovers and how they ended.
#[derive(Debug, Default)]
struct Tally {
    rovers: usize,
    right: usize,
    tests: usize,
}

impl Tally {
    fn share(&self) -> f64 {
        self.right as f64 / self.rovers as f64
    }

    fn mean_tests(&self) -> f64 {
        self.tests as f64 / self.rovers as f64
    }
}

/// Diagnoses one rover on the stand with a person who misreads, until a class reaches 0.99 or 40 tests.
fn one_rover(start: &Diagnosis, place: usize, seed: u64, tally: &mut Tally) {
    let mut person = Person::new(seed, true);
    let truth = start.space().hypothesis(place);
    let mut session = start.afresh();
    let mut count = 0;
    loop {
        let classes = session.ranked();
        let next = session.best_test(&STAND);
        let Some(next) = next.filter(|_| classes[0].probability < 0.99 && count < 40) else {
            let named = session.partition().class_of(classes[0].members[0].place);
            tally.right += usize::from(named == session.partition().class_of(place));
            break;
        };
        session.observe(person.answer(&session, &truth, next.test)).unwrap();
        count += 1;
    }
    tally.rovers += 1;
    tally.tests += count;
}

/// Rovers drawn by the prior, single faults, double faults.
fn accuracy(rovers: u64) -> [Tally; 3] {
    let mut start = Diagnosis::new(Model { most_faults: 2, ..Model::base() }, &Machine::default(), &[]);
    start.allow(STAND);
    let with = |faults| -> Vec<usize> {
        let all = start.space().hypotheses().enumerate();
        all.filter(|(_, hypothesis)| hypothesis.faults() == faults).map(|(place, _)| place).collect()
    };
    let groups = [Vec::new(), with(1), with(2)];
    groups.map(|group| {
        let mut tally = Tally::default();
        for seed in 0..rovers {
            let mut person = Person::new(seed + 1_000, true);
            let place = if group.is_empty() { drawn(&start, person.chance()) } else { group[person.pick(group.len())] };
            one_rover(&start, place, seed, &mut tally);
        }
        tally
    })
}

/// The place at which the prior's sum passes this share.
fn drawn(start: &Diagnosis, share: f64) -> usize {
    let mut sum = 0.0;
    let passed = start.posterior().probabilities().position(|probability| {
        sum += probability;
        sum >= share
    });
    passed.unwrap_or(0)
}

/// Worked out before this program, by other code, stopping at 0.99: 7.8 tests; 100 % right by the prior, 97 % of
/// singles, 92 % of doubles. Of 100 rovers a share of 0.92 has a spread of 0.027: the bounds leave three of those.
#[test]
fn right_in_spite_of_misreading() {
    let [by_prior, singles, doubles] = accuracy(100);
    println!("{by_prior:?} {singles:?} {doubles:?}");
    assert!(by_prior.share() >= 0.97, "{by_prior:?}");
    assert!(singles.share() >= 0.92, "{singles:?}");
    assert!(doubles.share() >= 0.84, "{doubles:?}");
    assert!(by_prior.mean_tests() <= 11.0, "{by_prior:?}");
}
