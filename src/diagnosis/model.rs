//! The model: how many faults, which causes, which beliefs.

use crate::diagnosis::beliefs::Beliefs;
use crate::diagnosis::body::BodyRule;
use crate::rover::guesses::Guesses;
use crate::rover::machine::Machine;

/// What a diagnosis may take for possible.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// At most this many faulty components, 0 to 3.
    pub most_faults: usize,
    /// Whether common causes, views and the side of a fault count too.
    pub extended: bool,
    /// Whether the drive board's move table is taken to be right.
    pub table_trusted: bool,
    /// How body motions become answers.
    pub body: BodyRule,
    /// Priors, misreading, costs.
    pub beliefs: Beliefs,
}

impl Model {
    /// Wheels, wiring, rollers and move table alone: the model whose counts can be checked by hand.
    pub fn base() -> Self {
        Self {
            most_faults: 3,
            extended: false,
            table_trusted: false,
            body: BodyRule::default(),
            beliefs: Beliefs::default(),
        }
    }

    /// The model people use.
    pub fn extended() -> Self {
        Self { extended: true, ..Self::base() }
    }

    /// The model people use, with this rover's own guesses, wheelbase and track.
    pub fn of_rover(guesses: &Guesses, machine: &Machine) -> Self {
        Self { beliefs: Beliefs::of(guesses), body: BodyRule::of(machine), ..Self::extended() }
    }
}

impl Default for Model {
    fn default() -> Self {
        Self::extended()
    }
}
