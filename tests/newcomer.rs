//! A newcomer with the text of the screen alone, at a bench with planted faults: how often the repair is wrong, and
//! how often a rover that is accepted is not sound.
//!
//! The faults, the wheels and what a repair does are worked out in `newcomer/wagon.rs`, from the equations of X rollers
//! alone. The newcomer never misreads a wheel: how often people do is not known.
#![allow(clippy::unwrap_used)]

#[path = "newcomer/reader.rs"]
mod reader;
#[path = "newcomer/wagon.rs"]
mod wagon;

use reader::{Journey, Newcomer, engine};
use wagon::{Planted, Wagon, singles};

/// As measured; any more is a step back.
const MOST_WRONG: usize = 0;

/// Pairs of faults of different components, drawn by a fixed step.
fn doubles(count: usize) -> Vec<[Planted; 2]> {
    let all = singles();
    let component = |fault: &Planted| match fault {
        Planted::Wheel(wheel, _) => *wheel,
        Planted::Plugs(_) => 4,
        Planted::Rollers(_) => 5,
        Planted::Rows(..) | Planted::Sign(..) => 6,
    };
    // Hardware faults are the likelier ones: half of the pairs hold none of the table.
    let hardware = 58;
    let pair = |n: usize| {
        let reach = if n.is_multiple_of(2) { hardware } else { all.len() };
        [all[n * 37 % hardware].clone(), all[(n * 53 + 11) % reach].clone()]
    };
    (0..).map(pair).filter(|[a, b]| component(a) != component(b)).take(count).collect()
}

/// Counts over many rovers.
#[derive(Debug, Default)]
struct Count {
    rovers: usize,
    repairs: usize,
    wrong: usize,
    accepted: usize,
    accepted_not_sound: usize,
    outside: usize,
    not_accepted: usize,
    stuck: usize,
    answers: usize,
    said: Vec<String>,
}

impl Count {
    fn add(&mut self, faults: &[Planted], journey: &Journey, wagon: &Wagon) {
        self.rovers += 1;
        self.repairs += journey.repairs.len();
        let wrong: Vec<&String> = journey.repairs.iter().filter(|(_, nearer)| !nearer).map(|(says, _)| says).collect();
        self.wrong += wrong.len();
        self.accepted += usize::from(journey.accepted);
        let unsound = journey.accepted && wagon.wrong() > 0;
        self.accepted_not_sound += usize::from(unsound);
        self.outside += usize::from(journey.outside);
        self.not_accepted += usize::from(!journey.accepted);
        self.stuck += usize::from(journey.stuck.is_some());
        self.answers += journey.answers;
        if !wrong.is_empty() || unsound || journey.stuck.is_some() || !journey.accepted {
            self.said.push(format!(
                "{faults:?}: {:?}, accepted {}, outside {}, left wrong {}, {}",
                journey.repairs,
                journey.accepted,
                journey.outside,
                wagon.wrong(),
                journey.stuck.clone().unwrap_or_default()
            ));
        }
    }

    fn with(mut self, other: Self) -> Self {
        self.rovers += other.rovers;
        self.repairs += other.repairs;
        self.wrong += other.wrong;
        self.accepted += other.accepted;
        self.accepted_not_sound += other.accepted_not_sound;
        self.outside += other.outside;
        self.not_accepted += other.not_accepted;
        self.stuck += other.stuck;
        self.answers += other.answers;
        self.said.extend(other.said);
        self
    }
}

/// Follows every rover to its end, on two threads.
fn counted(rovers: &[Vec<Planted>]) -> Count {
    let engine = engine();
    let some = |rovers: &[Vec<Planted>]| {
        let mut count = Count::default();
        for (number, faults) in rovers.iter().enumerate() {
            let mut wagon = Wagon::with(faults);
            let size = if number % 4 == 0 { (120, 40) } else { (80, 24) };
            let journey = Newcomer::new(&engine, size).follow(&mut wagon, 8);
            count.add(faults, &journey, &wagon);
        }
        count
    };
    let (first, second) = rovers.split_at(rovers.len() / 2);
    let count = std::thread::scope(|scope| {
        let other = scope.spawn(|| some(second));
        let one = some(first);
        one.with(other.join().unwrap())
    });
    println!("{count:#?}");
    count
}

/// Every rover takes minutes: without `WHEELTAP_NEWCOMER=all` one in `of` is followed, another one each.
fn some(rovers: Vec<Vec<Planted>>, of: usize) -> Vec<Vec<Planted>> {
    let all = std::env::var("WHEELTAP_NEWCOMER").is_ok_and(|which| which == "all");
    rovers.into_iter().step_by(if all { 1 } else { of }).collect()
}

#[test]
fn every_single_fault() {
    let rovers: Vec<Vec<Planted>> = singles().into_iter().map(|fault| vec![fault]).collect();
    assert_eq!(rovers.len(), 145);
    let count = counted(&some(rovers, 10));
    assert_eq!([count.wrong, count.accepted_not_sound], [MOST_WRONG, 0], "{count:?}");
    assert_eq!(count.accepted, count.rovers, "{count:?}");
}

#[test]
fn forty_double_faults() {
    let rovers: Vec<Vec<Planted>> = doubles(40).into_iter().map(|pair| pair.to_vec()).collect();
    let count = counted(&some(rovers, 10));
    assert_eq!([count.wrong, count.accepted_not_sound], [MOST_WRONG, 0], "{count:?}");
    assert_eq!(count.accepted, count.rovers, "{count:?}");
}

/// A rover with nothing wrong is accepted without a change.
#[test]
fn a_sound_rover() {
    let mut wagon = Wagon::sound();
    let mut newcomer = Newcomer::new(&engine(), (80, 24));
    let journey = newcomer.follow(&mut wagon, 1);
    assert!(journey.accepted && journey.repairs.is_empty(), "{journey:?}\n{:#?}", newcomer.notes);
    println!("{} answers: {:#?}", journey.answers, newcomer.notes);
}
