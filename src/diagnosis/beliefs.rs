//! What is believed before the first test, how often a person misreads, and what each test costs, ready to reckon with.
//!
//! Every figure is a guess without a source; the table of them is [`crate::rover::guesses::TABLE`].

use crate::diagnosis::cause::{Cause, View};
use crate::diagnosis::hypothesis::{Hardware, Locus};
use crate::diagnosis::move_table::TableFault;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::WheelState;
use crate::diagnosis::wiring::Wiring;
use crate::rover::guesses::{Guess, Guesses, WHEEL_FAULTS};

/// The table of guesses. A rover file may bring its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Beliefs {
    /// Chance of each wheel state, in the order of [`WheelState::ALL`].
    pub wheel: [f64; 6],
    /// Chance that the wiring is right; the rest is spread over the other 23.
    pub wiring_right: f64,
    /// Chance that the rollers are right; the rest is spread over the other 15.
    pub rollers_right: f64,
    /// Chance that the move table is right; the rest is spread over its faults.
    pub table_right: f64,
    /// Chance that a faulty wheel's cause sits on the motor's side of the driver.
    pub motor_side: f64,
    /// Weights of the causes beyond wheels, wiring, rollers and table.
    pub causes: CauseWeights,
    /// How often a person misreads.
    pub misread: Misreading,
    /// What a test costs.
    pub costs: Costs,
}

/// Weights of the common causes, against 1 for none of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseWeights {
    /// Each crossing of two input leads of one driver.
    pub crossed_inputs: f64,
    /// Each open input lead that reads high.
    pub open_input: f64,
    /// Each dead driver.
    pub driver_dead: f64,
    /// Supply or duty too low for all.
    pub supply_low: f64,
    /// No order reaches the drive board.
    pub link_dead: f64,
    /// Drive board's nose at the tail.
    pub board_backwards: f64,
    /// Left and right exchanged by the person; also: tail for nose.
    pub view_of_rover: f64,
    /// Wheels judged from the inner side; also: rover on its back.
    pub view_of_wheels: f64,
}

/// How often an answer is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misreading {
    /// One wheel's turning.
    pub wheel: f64,
    /// The body's direction.
    pub way: f64,
    /// The body's turn.
    pub turn: f64,
    /// A look at the rollers.
    pub rollers: f64,
    /// Each sign of the mean turn correction in a driving log.
    pub correction: f64,
    /// That a person mixes up nose and tail, or left and right, with tape on nose and FL.
    pub view_in_spite_of_tape: f64,
    /// Chance that a doubted observation is worthless.
    pub doubted: f64,
    /// Share of its weight that a repeat of the same test keeps: one eye misreads the same way twice.
    pub repeat: f64,
    /// Chance that the floor test is worthless where the body's motion does not follow from the wheels.
    pub unpredictable: f64,
}

/// Effort of a test, in units of one order watched on the stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Costs {
    /// A strip of tape on the nose and one on FL.
    pub tape: f64,
    /// A look at the rollers from above.
    pub look: f64,
    /// A row watched on the stand.
    pub stand: f64,
    /// One wheel ordered alone on the stand.
    pub one_wheel: f64,
    /// A row on the floor.
    pub floor: f64,
    /// The signs of the turn correction, from a driving log.
    pub correction: f64,
    /// Exchanging two plugs at the drivers.
    pub plugs: f64,
    /// Exchanging the two leads of one motor.
    pub leads: f64,
    /// Exchanging two wheels.
    pub wheels: f64,
}

impl Default for Beliefs {
    fn default() -> Self {
        Self::of(&Guesses::default())
    }
}

impl Beliefs {
    /// The beliefs that a rover's table of guesses comes to.
    pub fn of(guesses: &Guesses) -> Self {
        let value = |guess| guesses.of(guess) as f64 / 1000.0;
        let right = |wrong| (1000 - guesses.of(wrong)) as f64 / 1000.0;
        let [reversed, dead, forward_only, backward_only, weak] = WHEEL_FAULTS.map(value);
        let sound = (1000 - guesses.wheel_faults()) as f64 / 1000.0;
        Self {
            wheel: [sound, reversed, dead, forward_only, backward_only, weak],
            wiring_right: right(Guess::PlugsExchanged),
            rollers_right: right(Guess::RollersWrong),
            table_right: right(Guess::TableWrong),
            motor_side: value(Guess::MotorSide),
            causes: CauseWeights::of(value),
            misread: Misreading::of(value),
            costs: Costs::of(value),
        }
    }
}

impl CauseWeights {
    fn of(value: impl Fn(Guess) -> f64) -> Self {
        Self {
            crossed_inputs: value(Guess::CrossedInputs),
            open_input: value(Guess::OpenInput),
            driver_dead: value(Guess::DriverDead),
            supply_low: value(Guess::SupplyLow),
            link_dead: value(Guess::LinkDead),
            board_backwards: value(Guess::BoardBackwards),
            view_of_rover: value(Guess::ViewOfRover),
            view_of_wheels: value(Guess::ViewOfWheels),
        }
    }
}

impl Misreading {
    fn of(value: impl Fn(Guess) -> f64) -> Self {
        Self {
            wheel: value(Guess::MisreadWheel),
            way: value(Guess::MisreadWay),
            turn: value(Guess::MisreadTurn),
            rollers: value(Guess::MisreadRollers),
            correction: value(Guess::MisreadCorrection),
            view_in_spite_of_tape: value(Guess::MisreadViewWithTape),
            doubted: value(Guess::DoubtedWorthless),
            repeat: value(Guess::RepeatWeight),
            unpredictable: value(Guess::Unpredictable),
        }
    }
}

impl Costs {
    fn of(value: impl Fn(Guess) -> f64) -> Self {
        Self {
            tape: value(Guess::CostTape),
            look: value(Guess::CostLook),
            stand: value(Guess::CostStand),
            one_wheel: value(Guess::CostOneWheel),
            floor: value(Guess::CostFloor),
            correction: value(Guess::CostCorrection),
            plugs: value(Guess::CostPlugs),
            leads: value(Guess::CostLeads),
            wheels: value(Guess::CostWheels),
        }
    }
}

impl Beliefs {
    /// Weight of this hardware before any test.
    pub fn hardware(&self, hardware: &Hardware) -> f64 {
        let wheels: f64 = hardware.wheels.iter().map(|state| self.wheel[state.index()]).product();
        wheels
            * self.wiring(hardware.wiring)
            * self.rollers(hardware.rollers)
            * self.cause(hardware.cause)
            * self.locus(hardware.locus)
    }

    /// Chance of a wheel's state.
    pub const fn wheel_state(&self, state: WheelState) -> f64 {
        self.wheel[state.index()]
    }

    /// Chance of this wiring.
    pub fn wiring(&self, wiring: Wiring) -> f64 {
        if wiring == Wiring::RIGHT { self.wiring_right } else { (1.0 - self.wiring_right) / 23.0 }
    }

    /// Chance of these rollers.
    pub fn rollers(&self, rollers: Rollers) -> f64 {
        if rollers == Rollers::RIGHT { self.rollers_right } else { (1.0 - self.rollers_right) / 15.0 }
    }

    /// Chance of this fault of a table that has `ways` states, the right one counted.
    pub fn table(&self, fault: TableFault, ways: usize) -> f64 {
        match fault {
            TableFault::None if ways < 2 => 1.0,
            TableFault::None => self.table_right,
            _ => (1.0 - self.table_right) / (ways - 1) as f64,
        }
    }

    /// Weight of a common cause.
    pub const fn cause(&self, cause: Cause) -> f64 {
        let weights = &self.causes;
        match cause {
            Cause::None => 1.0,
            Cause::CrossedInputs(..) => weights.crossed_inputs,
            Cause::OpenInput(..) => weights.open_input,
            Cause::DriverDead(_) => weights.driver_dead,
            Cause::SupplyLow => weights.supply_low,
            Cause::LinkDead => weights.link_dead,
            Cause::BoardBackwards => weights.board_backwards,
            Cause::Observer(View::Mirrored | View::TurnedRound) => weights.view_of_rover,
            Cause::Observer(View::InnerSide | View::OnItsBack) => weights.view_of_wheels,
        }
    }

    const fn locus(&self, locus: Locus) -> f64 {
        match locus {
            Locus::Open => 1.0,
            Locus::MotorSide => self.motor_side,
            Locus::DriverSide => 1.0 - self.motor_side,
        }
    }
}
