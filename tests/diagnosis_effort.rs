//! How many tests a diagnosis takes while nobody misreads, beside the exact optimum and a fixed order of rows.
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

/// A diagnosis of at most two faults whose answers are known to be right.
fn start(available: Available, flat: bool) -> (Diagnosis, Person) {
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
    diagnosis.partition();
    (diagnosis, Person::new(0, false))
}

/// Tests until one class is left, by place; answers are right and known to be.
fn tests_needed(available: Available, flat: bool) -> (Diagnosis, Vec<usize>) {
    let (diagnosis, mut person) = start(available, flat);
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

/// Tests until one class is left when the rows are gone through in the order of the table instead.
fn fixed_order(available: Available) -> [f64; 2] {
    let (diagnosis, _) = start(available, false);
    let tests = available.tests(&diagnosis.space().moves);
    let mut person = Person::new(0, false);
    let needed: Vec<usize> = (0..diagnosis.space().len())
        .map(|place| {
            let truth = diagnosis.space().hypothesis(place);
            let mut session = diagnosis.afresh();
            let one_class = |session: &Diagnosis| session.ranked()[0].probability >= 1.0 - 1e-6;
            let open = tests.iter().take_while(|test| {
                let open = !one_class(&session);
                if open {
                    session.observe(person.answer(&session, &truth, **test)).unwrap();
                }
                open
            });
            open.count()
        })
        .collect();
    let by_prior = diagnosis.posterior().probabilities().zip(&needed).map(|(p, n)| p * *n as f64).sum();
    [by_prior, needed.iter().sum::<usize>() as f64 / needed.len() as f64]
}

/// At least 2.5 times as many as by information. Other code, written before this program, needed 8.78 by the prior and
/// 8.48 flat.
#[test]
fn a_fixed_order_takes_two_and_a_half_times_as_many() {
    let fixed = fixed_order(STAND_HIGH);
    let [by_prior, flat, _] = mean_and_worst(STAND_HIGH);
    println!("fixed order {fixed:?}, by information {by_prior} and {flat}");
    assert!((fixed[0] - 8.78).abs() < 0.01 && (fixed[1] - 8.48).abs() < 0.01, "{fixed:?}");
    assert!(fixed[0] >= 2.5 * by_prior && fixed[1] >= 2.5 * flat, "{fixed:?}");
}
