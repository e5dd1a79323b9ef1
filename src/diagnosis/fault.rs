//! The single faults of a hypothesis, each in words.

use crate::diagnosis::cause::{Cause, Input, View};
use crate::diagnosis::hypothesis::{Hypothesis, Locus};
use crate::diagnosis::move_table::{Moves, TableFault};
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::WheelState;
use crate::diagnosis::wiring::Wiring;
use crate::rover::wheels::Wheel;

/// One faulty component.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// A common cause.
    Cause(Cause),
    /// Plugs exchanged.
    Wiring(Wiring),
    /// A wheel, and on which side of its driver.
    Wheel(Wheel, WheelState, Locus),
    /// Rollers of the wrong hand.
    Rollers(Rollers),
    /// The move table.
    Table(TableFault),
}

impl Fault {
    /// The faults of a hypothesis, in the order in which they should be put right.
    pub fn of(hypothesis: &Hypothesis) -> Vec<Self> {
        let hardware = &hypothesis.hardware;
        let mut faults = Vec::new();
        if hardware.cause != Cause::None {
            faults.push(Self::Cause(hardware.cause));
        }
        if hardware.wiring != Wiring::RIGHT {
            faults.push(Self::Wiring(hardware.wiring));
        }
        let wheels = Wheel::ALL.into_iter().zip(hardware.wheels).filter(|(_, state)| *state != WheelState::Sound);
        faults.extend(wheels.map(|(wheel, state)| Self::Wheel(wheel, state, hardware.locus)));
        if hardware.rollers != Rollers::RIGHT {
            faults.push(Self::Rollers(hardware.rollers));
        }
        if hypothesis.table != TableFault::None {
            faults.push(Self::Table(hypothesis.table));
        }
        faults
    }

    /// In words.
    pub fn words(self, moves: &Moves) -> String {
        match self {
            Self::Cause(cause) => cause_words(cause),
            Self::Wiring(wiring) => {
                let plugs: Vec<String> =
                    wiring.repairs().iter().map(|(a, b)| format!("{} and {}", a.name(), b.name())).collect();
                format!("plugs exchanged: {}", plugs.join(", then "))
            }
            Self::Wheel(wheel, state, locus) => format!("{} {}{}", wheel.name(), state.words(), locus_words(locus)),
            Self::Rollers(rollers) => format!("rollers of the wrong hand at {}", names(&rollers.wrong())),
            Self::Table(fault) => table_words(fault, moves),
        }
    }
}

/// A hypothesis in words.
pub fn words(hypothesis: &Hypothesis, moves: &Moves) -> String {
    let faults: Vec<String> = Fault::of(hypothesis).into_iter().map(|fault| fault.words(moves)).collect();
    if faults.is_empty() { "nothing wrong".to_owned() } else { faults.join("; ") }
}

/// `FL`, `FL and RR`, `FL, FR and RR`.
pub fn names(wheels: &[Wheel]) -> String {
    let names: Vec<&str> = wheels.iter().map(|wheel| wheel.name()).collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
    }
}

const fn locus_words(locus: Locus) -> &'static str {
    match locus {
        Locus::Open => "",
        Locus::MotorSide => ", on the motor's side of the driver",
        Locus::DriverSide => ", on the driver's side",
    }
}

fn table_words(fault: TableFault, moves: &Moves) -> String {
    match fault {
        TableFault::None => "move table right".to_owned(),
        TableFault::Exchanged(a, b) => format!("rows `{}` and `{}` exchanged", moves.name(a), moves.name(b)),
        TableFault::WrongSign(row, wheel) => format!("wrong sign for {} in row `{}`", wheel.name(), moves.name(row)),
    }
}

fn cause_words(cause: Cause) -> String {
    match cause {
        Cause::None => "no common cause".to_owned(),
        Cause::CrossedInputs(pair, crossing) => {
            let (a, b) = crossing.inputs();
            let wheels = names(&[pair.first.wheel, pair.second.wheel]);
            format!("input leads {} and {} crossed at the driver of {wheels}", a + 1, b + 1)
        }
        Cause::OpenInput(wheel, input) => {
            let which = if input == Input::First { "first" } else { "second" };
            format!("{} input lead of {} open, so that it reads high", which, wheel.name())
        }
        Cause::DriverDead(pair) => {
            format!("driver of {} dead", names(&[pair.first.wheel, pair.second.wheel]))
        }
        Cause::SupplyLow => "supply or duty too low for all wheels".to_owned(),
        Cause::LinkDead => "no order reaches the drive board".to_owned(),
        Cause::BoardBackwards => "drive board's nose points at the tail".to_owned(),
        Cause::Observer(View::Mirrored) => "left and right exchanged by the person who looks".to_owned(),
        Cause::Observer(View::TurnedRound) => "tail taken for the nose by the person who looks".to_owned(),
        Cause::Observer(View::InnerSide) => "wheels judged from their inner side".to_owned(),
        Cause::Observer(View::OnItsBack) => "rover on its back".to_owned(),
    }
}
