//! Reading: how likely a person gives each answer, when the right answer is known.

use crate::diagnosis::beliefs::Misreading;
use crate::diagnosis::body::{BodySeen, Turn, Way};
use crate::diagnosis::pattern;
use crate::diagnosis::prediction::Question;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::sight::BODY_ANSWERS;
use crate::rover::mecanum::Signs;

/// Chance that a person says this of the wheels (`None`: not looked) when they turn as pattern `number`.
pub fn wheels(misread: &Misreading, said: [Option<i32>; 4], number: u8) -> f64 {
    let right: Signs = pattern::signs(number);
    said.iter().zip(right).map(|(said, right)| one(*said, right, misread.wheel, 3)).product()
}

/// Chance that a person says this of one wheel that really turns so.
pub fn wheel(misread: &Misreading, said: Option<i32>, right: i32) -> f64 {
    one(said, right, misread.wheel, 3)
}

/// Chance that a person says this of the body when the prediction has this number (27 up: friction decides).
pub fn body(misread: &Misreading, way: Option<Way>, turn: Option<Turn>, number: u8) -> f64 {
    let right = BodySeen::from_number(number % BodySeen::COUNT as u8);
    let read = one(way, right.way, misread.way, Way::COUNT) * one(turn, right.turn, misread.turn, Turn::COUNT);
    if usize::from(number) < BodySeen::COUNT {
        return read;
    }
    let any = way.map_or(1.0, |_| 1.0 / Way::COUNT as f64) * turn.map_or(1.0, |_| 1.0 / Turn::COUNT as f64);
    blend(read, any, misread.unpredictable)
}

/// Chance that a person says these rollers are wrong when those of this number are.
pub fn rollers(misread: &Misreading, said: Rollers, number: u8) -> f64 {
    one(Some(said.index()), usize::from(number), misread.rollers, Rollers::COUNT)
}

/// Chance of this sign of the mean turn correction when the body turns as `number` says: a driver turns against it.
pub fn correction(misread: &Misreading, said: Option<Turn>, number: u8) -> f64 {
    let turn = BodySeen::from_number(number % BodySeen::COUNT as u8).turn;
    one(said, Turn::from_sign(-turn.sign()), misread.correction, Turn::COUNT)
}

/// Chance of one answer of `answers`.
fn one<T: PartialEq + Copy>(said: Option<T>, right: T, misread: f64, answers: usize) -> f64 {
    match said {
        None => 1.0,
        Some(said) if said == right => 1.0 - misread,
        Some(_) => misread / (answers - 1) as f64,
    }
}

/// `share` of the second, the rest of the first.
pub fn blend(first: f64, second: f64, share: f64) -> f64 {
    first * (1.0 - share) + second * share
}

/// Chances of every answer for every prediction of one kind of question, and what each row leaves open.
#[derive(Clone, Debug)]
struct Table {
    answers: usize,
    chance: Vec<f64>,
    open: Vec<f64>,
}

impl Table {
    fn new(predictions: usize, answers: usize, chance: impl Fn(u8, u8) -> f64) -> Self {
        let rows = (0..predictions as u8).flat_map(|right| (0..answers as u8).map(move |said| (said, right)));
        let chance: Vec<f64> = rows.map(|(said, right)| chance(said, right)).collect();
        let open = chance.chunks_exact(answers).map(bits).collect();
        Self { answers, chance, open }
    }

    /// Bits that the answer tells about the hypotheses whose predictions are spread so.
    fn gain(&self, spread: &[f64]) -> f64 {
        let mut said = vec![0.0; self.answers];
        let mut open = 0.0;
        let rows = self.chance.chunks_exact(self.answers).zip(&self.open);
        for ((row, left), weight) in rows.zip(spread).filter(|(_, weight)| **weight > 0.0) {
            open += weight * left;
            for (sum, chance) in said.iter_mut().zip(row) {
                *sum += weight * chance;
            }
        }
        (bits(&said) - open).max(0.0)
    }
}

/// Shannon's measure of a spread, bits.
fn bits(spread: &[f64]) -> f64 {
    spread.iter().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum()
}

/// The tables of all questions.
#[derive(Clone, Debug)]
pub struct Readings {
    wheels: Table,
    body: Table,
    rollers: Table,
}

impl Readings {
    /// For these rates of misreading.
    pub fn new(misread: &Misreading) -> Self {
        let all_wheels = |number| pattern::signs(number).map(Some);
        let body_said = |number| {
            let seen = BodySeen::from_number(number);
            (Some(seen.way), Some(seen.turn))
        };
        Self {
            wheels: Table::new(pattern::COUNT, pattern::COUNT, |said, right| wheels(misread, all_wheels(said), right)),
            body: Table::new(BODY_ANSWERS, BodySeen::COUNT, |said, right| {
                let (way, turn) = body_said(said);
                body(misread, way, turn, right)
            }),
            rollers: Table::new(Rollers::COUNT, Rollers::COUNT, |said, right| {
                rollers(misread, Rollers::all()[usize::from(said)], right)
            }),
        }
    }

    /// Expected information, bits, when the predictions are spread so (shares of 1).
    pub fn gain(&self, question: Question, spread: &[f64]) -> f64 {
        match question {
            Question::Wheels(..) => self.wheels.gain(spread),
            Question::Body(..) => self.body.gain(spread),
            Question::Rollers => self.rollers.gain(spread),
            Question::Tape => 0.0,
        }
    }
}
