//! Observations: what a person answered, and how much each is trusted.

use thiserror::Error;

use crate::diagnosis::action::Exchanges;
use crate::diagnosis::beliefs::Misreading;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::pattern;
use crate::diagnosis::prediction::Question;
use crate::diagnosis::reading;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::sight::BODY_ANSWERS;
use crate::diagnosis::test::{Order, Test};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::mecanum::{Motion, Signs};

/// What a person answered; `None` is "not looked".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Observation {
    /// There is tape on the nose and on FL.
    Tape,
    /// Seen from above, the rollers are wrong at these corners.
    Look(Rollers),
    /// On the stand: each wheel backward (-1), still (0), forward (+1).
    Stand(Order, DutyLevel, [Option<i32>; 4]),
    /// On the floor: where it went, whether it turned.
    Floor(usize, DutyLevel, Option<Way>, Option<Turn>),
    /// Mean turn correction of a drive: while driving forward, while sliding left.
    Correction(Option<Turn>, Option<Turn>),
}

/// Why an observation cannot be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum ObservationFault {
    /// The row does not exist.
    #[error("row {row} is not in the move table of {rows} rows: name a row of the table")]
    NoSuchRow {
        /// The row asked for, from 0.
        row: usize,
        /// How many rows there are.
        rows: usize,
    },
    /// Nothing was looked at.
    #[error("nothing was looked at: answer for one wheel at least, or for the way or the turn")]
    NothingSeen,
    /// The table has no row that drives forward, or none that slides left.
    #[error("the move table has no row that moves {0}: a turn correction cannot be judged on this rover")]
    NoSuchMotion(&'static str),
}

/// Names one observation of a diagnosis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ObservationId(pub(crate) usize);

/// An observation as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its name.
    pub id: ObservationId,
    /// What was answered.
    pub said: Observation,
    /// The exchanges in force then.
    pub after: Exchanges,
    /// Whether the person doubts it.
    pub doubted: bool,
}

impl Kept {
    /// Neither doubted nor made after an exchange.
    pub fn plain(&self) -> bool {
        self.after.is_none() && !self.doubted
    }
}

/// One question with its answer, ready to weigh hypotheses.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// What was asked.
    pub question: Question,
    /// By number of the prediction: how likely the answer is.
    pub likelihood: Vec<f64>,
    /// By number of the prediction: whether the answer is the predicted one.
    pub agrees: Vec<bool>,
}

impl Observation {
    /// The test it answers.
    pub const fn test(self) -> Test {
        match self {
            Self::Tape => Test::Tape,
            Self::Look(_) => Test::Look,
            Self::Stand(order, duty, _) => Test::Stand(order, duty),
            Self::Floor(row, duty, ..) => Test::Floor(row, duty),
            Self::Correction(..) => Test::Correction,
        }
    }

    /// Whether it can be taken with these rows.
    pub fn check(self, moves: &Moves) -> Result<(), ObservationFault> {
        if let Some(row) = self.test().row().filter(|row| *row >= moves.count()) {
            return Err(ObservationFault::NoSuchRow { row, rows: moves.count() });
        }
        match self {
            Self::Stand(_, _, [None, None, None, None])
            | Self::Floor(_, _, None, None)
            | Self::Correction(None, None) => Err(ObservationFault::NothingSeen),
            Self::Correction(..) => correction_rows(moves).map(|_| ()),
            _ => Ok(()),
        }
    }

    /// The factors it weighs hypotheses by. Nothing for one that [`Observation::check`] refuses.
    pub fn factors(self, misread: &Misreading, moves: &Moves) -> Vec<Factor> {
        match self {
            Self::Tape => vec![Factor {
                question: Question::Tape,
                likelihood: vec![1.0, misread.view_in_spite_of_tape],
                agrees: vec![true; 2],
            }],
            Self::Look(said) => {
                vec![factor(Question::Rollers, Rollers::COUNT, |n| reading::rollers(misread, said, n))]
            }
            Self::Stand(order, duty, said) => {
                let said = said.map(|turn| turn.map(i32::signum));
                vec![factor(Question::Wheels(order, duty), pattern::COUNT, |n| reading::wheels(misread, said, n))]
            }
            Self::Floor(row, duty, way, turn) => {
                vec![factor(Question::Body(row, duty), BODY_ANSWERS, |n| reading::body(misread, way, turn, n))]
            }
            Self::Correction(ahead, left) => correction(misread, moves, ahead, left),
        }
    }
}

/// The answer agrees with a prediction where no other makes it likelier.
fn factor(question: Question, predictions: usize, chance: impl Fn(u8) -> f64) -> Factor {
    let likelihood: Vec<f64> = (0..predictions as u8).map(chance).collect();
    let most = likelihood.iter().fold(0.0_f64, |most, chance| most.max(*chance));
    let agrees = likelihood.iter().map(|chance| *chance >= most / 2.0).collect();
    Factor { question, likelihood, agrees }
}

/// The rows of a drive forward and of a slide to the left.
fn correction_rows(moves: &Moves) -> Result<[usize; 2], ObservationFault> {
    let row = |motion: Motion| {
        let signs: Signs = motion.signs();
        moves.row_with(signs).ok_or(ObservationFault::NoSuchMotion(motion.id()))
    };
    Ok([row(Motion::Forward)?, row(Motion::Left)?])
}

fn correction(misread: &Misreading, moves: &Moves, ahead: Option<Turn>, left: Option<Turn>) -> Vec<Factor> {
    let Ok(rows) = correction_rows(moves) else { return Vec::new() };
    let one = |(row, said)| {
        factor(Question::Body(row, DutyLevel::High), BODY_ANSWERS, move |n| reading::correction(misread, said, n))
    };
    rows.into_iter().zip([ahead, left]).map(one).collect()
}

impl Factor {
    /// The same with a share of doubt: that share of the time the answer tells nothing.
    pub fn doubted(mut self, share: f64) -> Self {
        let mean = self.likelihood.iter().sum::<f64>() / self.likelihood.len() as f64;
        for chance in &mut self.likelihood {
            *chance = reading::blend(*chance, mean, share);
        }
        self
    }

    /// The same with this share of its weight.
    pub fn weakened(mut self, power: f64) -> Self {
        for chance in &mut self.likelihood {
            *chance = chance.powf(power);
        }
        self
    }
}
