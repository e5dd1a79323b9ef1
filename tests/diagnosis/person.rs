//! A simulated person: answers tests about a rover with known faults, and misreads as often as the table of beliefs says.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::action::Exchanges;
use wheeltap::diagnosis::body::{BodySeen, Turn, Way};
use wheeltap::diagnosis::class;
use wheeltap::diagnosis::hypothesis::Hypothesis;
use wheeltap::diagnosis::observation::Observation;
use wheeltap::diagnosis::pattern;
use wheeltap::diagnosis::rollers::Rollers;
use wheeltap::diagnosis::test::Test;

/// Answers tests.
pub struct Person {
    rng: ChaCha8Rng,
    /// Whether answers are ever wrong.
    pub misreads: bool,
}

impl Person {
    pub fn new(seed: u64, misreads: bool) -> Self {
        Self { rng: ChaCha8Rng::seed_from_u64(seed), misreads }
    }

    /// A number from 0 up to 1.
    pub fn chance(&mut self) -> f64 {
        f64::from(self.rng.next_u32()) / 4_294_967_296.0
    }

    /// A number below `n`.
    pub fn pick(&mut self, n: usize) -> usize {
        (self.chance() * n as f64) as usize
    }

    /// One of `answers`: the right one, or at this rate another.
    fn read(&mut self, right: usize, answers: usize, wrong: f64) -> usize {
        if self.misreads && self.chance() < wrong { (right + 1 + self.pick(answers - 1)) % answers } else { right }
    }

    /// What this person says of this test when the rover is so, nothing exchanged.
    pub fn answer(&mut self, diagnosis: &Diagnosis, truth: &Hypothesis, test: Test) -> Observation {
        let space = diagnosis.space();
        let misread = diagnosis.model().beliefs.misread;
        let number = class::question(test).map_or(0, |question| space.answer(truth, question, &Exchanges::default()));
        match test {
            Test::Tape | Test::Correction => Observation::Tape,
            Test::Look => Observation::Look(Rollers::all()[self.read(usize::from(number), 16, misread.rollers)]),
            Test::Stand(order, duty) => {
                let said = pattern::signs(number)
                    .map(|turn| Some(self.read((turn + 1) as usize, 3, misread.wheel) as i32 - 1));
                Observation::Stand(order, duty, said)
            }
            Test::Floor(row, duty) => {
                let seen = BodySeen::from_number(number % BodySeen::COUNT as u8);
                let way = self.read(seen.way.index(), Way::COUNT, misread.way) as i32;
                let turn = self.read(seen.turn.index(), Turn::COUNT, misread.turn) as i32;
                let way = Way { ahead: way / 3 - 1, left: way % 3 - 1 };
                Observation::Floor(row, duty, Some(way), Some(Turn::from_sign(turn - 1)))
            }
        }
    }
}
