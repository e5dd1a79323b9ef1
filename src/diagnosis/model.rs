//! The model: how many faults, which causes, which beliefs.

use crate::diagnosis::beliefs::Beliefs;
use crate::diagnosis::body::BodyRule;
use crate::diagnosis::wheel_state::WheelState;
use crate::rover::guesses::Guesses;
use crate::rover::machine::Machine;

/// How often a recording of levels misreads which way a wheel was driven: a guess, far below a person's.
const PINS_MISREAD: f64 = 1e-4;

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

    /// What a recording of levels can show of this rover: the drive board's program and the leads up to the probes. What
    /// lies behind them (motors, rollers, supply) is not in it, and nobody's view of the rover is.
    pub fn at_pins(guesses: &Guesses, machine: &Machine) -> Self {
        let mut model = Self::of_rover(guesses, machine);
        let beliefs = &mut model.beliefs;
        beliefs.misread.wheel = PINS_MISREAD;
        beliefs.rollers_right = 1.0;
        beliefs.wheel[WheelState::Weak.index()] = 0.0;
        beliefs.motor_side = 0.0;
        let causes = &mut beliefs.causes;
        (causes.driver_dead, causes.supply_low, causes.view_of_rover, causes.view_of_wheels) = (0.0, 0.0, 0.0, 0.0);
        model
    }
}

impl Default for Model {
    fn default() -> Self {
        Self::extended()
    }
}
