//! A guided check without a screen: the next test as proposed, answered, until a finishing line.

use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::observation::Observation;
use wheeltap::diagnosis::test::{Available, Test};

/// No check takes more answers than this; one that does is given up.
pub const MOST_ANSWERS: usize = 60;

/// Asks the next test, or the disbelieved one again where the answers contradict each other, until `done` or nothing is
/// left to ask; gives how many answers it took.
pub fn follow(
    session: &mut Diagnosis,
    available: &Available,
    mut answer: impl FnMut(&Diagnosis, usize, Test) -> Observation,
    mut done: impl FnMut(&Diagnosis, usize) -> bool,
) -> usize {
    for count in 0..MOST_ANSWERS {
        if done(session, count) {
            return count;
        }
        let Some(next) = session.again().or_else(|| session.next_test(available)) else { return count };
        assert_eq!(next.exchange, None, "no screwdriver is on hand");
        let said = answer(session, count, next.test);
        session.observe(said).unwrap();
    }
    MOST_ANSWERS
}

/// Whether the likeliest class is the one of this place.
pub fn names(session: &Diagnosis, place: usize) -> bool {
    let partition = session.partition();
    let named = session.ranked()[0].members[0].place;
    partition.class_of(named) == partition.class_of(place)
}
