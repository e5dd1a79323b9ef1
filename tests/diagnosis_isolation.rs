//! Every single and every double fault of the base model is brought down to its class by tests without a misreading.
#![allow(clippy::unwrap_used)]

#[path = "diagnosis/person.rs"]
mod person;

use person::Person;
use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::beliefs::{Beliefs, Misreading};
use wheeltap::diagnosis::model::Model;
use wheeltap::diagnosis::test::Available;
use wheeltap::rover::machine::Machine;

const ALL: Available = Available { screwdriver: false, tape: false, ..Available::ALL };

/// How many of these places end with the right class likeliest, and how many of them with probability 0.99.
fn isolated(diagnosis: &Diagnosis, places: std::ops::Range<usize>) -> [usize; 2] {
    let mut counts = [0; 2];
    for place in places {
        let session = seen(diagnosis, place);
        let best = &session.ranked()[0];
        let partition = session.partition();
        let right = partition.class_of(best.members[0].place) == partition.class_of(place);
        counts[0] += usize::from(right);
        counts[1] += usize::from(right && best.probability >= 0.99);
    }
    counts
}

/// After every test on hand, each answered rightly.
fn seen(diagnosis: &Diagnosis, place: usize) -> Diagnosis {
    let truth = diagnosis.space().hypothesis(place);
    let mut person = Person::new(0, false);
    let mut session = diagnosis.afresh();
    for test in ALL.tests(&diagnosis.space().moves) {
        let said = person.answer(&session, &truth, test);
        session.observe(said).unwrap();
    }
    session
}

/// Counts over the whole space, half on another thread.
fn counted(misread: Misreading) -> [usize; 2] {
    let beliefs = Beliefs { misread, ..Beliefs::default() };
    let model = Model { most_faults: 2, beliefs, ..Model::base() };
    let mut diagnosis = Diagnosis::new(model, &Machine::default(), &[]);
    diagnosis.allow(ALL);
    assert_eq!(diagnosis.partition().count(), 6_415);
    let all = diagnosis.space().len();
    assert_eq!(all, 6_447);
    std::thread::scope(|scope| {
        let first = scope.spawn(|| isolated(&diagnosis, 0..all / 2));
        let second = isolated(&diagnosis, all / 2..all);
        let first = first.join().unwrap();
        [first[0] + second[0], first[1] + second[1]]
    })
}

#[test]
fn every_single_and_double_fault_where_nobody_misreads() {
    let never = 1e-9;
    let misread = Misreading { wheel: never, way: never, turn: never, rollers: never, ..Beliefs::default().misread };
    assert_eq!(counted(misread), [6_447, 6_447]);
}

/// The same right answers, but misreading is held possible: 56 pairs of faults keep a simpler explanation with one
/// misread answer above 0.01, and none of them loses to it.
#[test]
fn every_single_and_double_fault_where_misreading_is_possible() {
    let [right, sure] = counted(Beliefs::default().misread);
    assert_eq!((right, sure), (6_447, 6_391));
}
