//! What is wrong between an order and the pins that were recorded, and the one change that puts it right: at the drive
//! board's own pins it is its program, behind them the loom.

use super::change;
use crate::diagnosis::cause::Cause;
use crate::diagnosis::fault::Fault;
use crate::diagnosis::hypothesis::{Hypothesis, Locus};
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::wheel_state::WheelState;
use crate::rover::machine::Machine;

/// Where what is wrong sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// In the drive board's program: its own pins were told so.
    Firmware,
    /// Between the drive board's pins, which are right, and the probes at the wheels.
    Loom,
    /// Before the drive board's program: no order reaches it.
    Wire,
    /// In one of the two: only the pins at the wheels were recorded.
    NotToldApart,
}

impl Place {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Firmware => "firmware",
            Self::Loom => "loom",
            Self::Wire => "wire",
            Self::NotToldApart => "firmware or loom",
        }
    }

    /// Where to look, in words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Firmware => "the drive board's program: its own pins are told so.",
            Self::Loom => {
                "the loom: the drive board's own pins are right, the probes at the wheels are told otherwise."
            }
            Self::Wire => "the wire between the boards, its ground, the drive board's receive pin, or its power.",
            Self::NotToldApart => {
                "the drive board's program or the loom: the pins at the wheels alone do not tell which."
            }
        }
    }

    /// What to do before anything else.
    pub const fn first(self) -> &'static str {
        match self {
            Self::Firmware => "Wheels off the ground, hands and leads clear, before the changed program runs.",
            Self::Loom | Self::Wire | Self::NotToldApart => super::FIRST,
        }
    }

    /// What must be seen afterwards.
    pub const fn proof(self) -> &'static str {
        match self {
            Self::Firmware => {
                "Record the same moves again, wheels off the ground: the drive board's pins are told what is meant."
            }
            Self::Loom => "Record the same moves again, wheels off the ground: both ends are told the same.",
            Self::Wire => "Record the same moves again, wheels off the ground: the pins follow each order.",
            Self::NotToldApart => "Record the same moves at both ends, wheels off the ground.",
        }
    }
}

impl Place {
    /// The place for this hypothesis, where pins at this end are the nearest that are wrong.
    pub const fn of(hypothesis: &Hypothesis, nearest: Self) -> Self {
        match hypothesis.hardware.cause {
            Cause::LinkDead => Self::Wire,
            _ => nearest,
        }
    }
}

/// A hypothesis in words; a sound one is `every wheel is driven as meant`.
pub fn words(hypothesis: &Hypothesis, moves: &Moves) -> String {
    let faults: Vec<String> = Fault::of(hypothesis).into_iter().map(|fault| fault_words(fault, moves)).collect();
    if faults.is_empty() { "every wheel is driven as meant".to_owned() } else { faults.join("; ") }
}

fn fault_words(fault: Fault, moves: &Moves) -> String {
    match fault {
        Fault::Wheel(wheel, state, _) => format!("{} {}", wheel.name(), driven(state)),
        Fault::Wiring(wiring) => {
            let pairs: Vec<String> =
                wiring.repairs().iter().map(|(a, b)| format!("{} and {}", a.name(), b.name())).collect();
            format!("outputs exchanged: {}", pairs.join(", then "))
        }
        Fault::Cause(_) | Fault::Rollers(_) | Fault::Table(_) => fault.words(moves),
    }
}

const fn driven(state: WheelState) -> &'static str {
    match state {
        WheelState::Sound => "is driven as meant",
        WheelState::Reversed => "is driven the other way",
        WheelState::Dead => "is never driven",
        WheelState::ForwardOnly => "is driven forward only",
        WheelState::BackwardOnly => "is driven backward only",
        WheelState::Weak => "is not driven at low duty",
    }
}

/// The one change for the first fault of a hypothesis.
pub fn change(hypothesis: &Hypothesis, at: Place, machine: &Machine, moves: &Moves) -> String {
    let Some(first) = Fault::of(hypothesis).into_iter().next() else { return "Change nothing.".to_owned() };
    match at {
        Place::Firmware => in_program(first, machine, moves),
        Place::Loom => in_loom(first, machine, moves),
        Place::Wire => change::of(first, machine, moves),
        Place::NotToldApart => format!(
            "Record the drive board's own pins as well. Are they right, it is the loom: {} Are they wrong, it is the \
             program: {}",
            in_loom(first, machine, moves),
            in_program(first, machine, moves)
        ),
    }
}

fn in_program(fault: Fault, machine: &Machine, moves: &Moves) -> String {
    match fault {
        Fault::Wheel(wheel, WheelState::Reversed, _) => format!(
            "In the drive board's program turn the sign of {} in its one table of signs, or exchange its two pins in the \
             pin table; one of the two, not both.",
            change::place(wheel, machine)
        ),
        Fault::Wheel(wheel, WheelState::Weak, _) => {
            format!("In the drive board's program look at the least duty of {}.", change::place(wheel, machine))
        }
        Fault::Wheel(wheel, ..) => format!(
            "In the drive board's program look at the pins and the enable of {}: a wrong number, or never made an output.",
            change::place(wheel, machine)
        ),
        Fault::Wiring(wiring) => match wiring.repairs().first() {
            Some((a, b)) => {
                format!("In the drive board's pin table exchange the pins of {} and {}.", a.name(), b.name())
            }
            None => "Change nothing.".to_owned(),
        },
        Fault::Cause(Cause::CrossedInputs(pair, crossing)) => {
            let (a, b) = change::crossed_inputs(pair, crossing, machine);
            format!("In the drive board's pin table exchange the pins of {a} and {b}.")
        }
        Fault::Cause(Cause::OpenInput(..)) => {
            format!(
                "In the drive board's program one input is never told anything: {}",
                change::of(fault, machine, moves)
            )
        }
        Fault::Cause(_) | Fault::Rollers(_) | Fault::Table(_) => change::of(fault, machine, moves),
    }
}

fn in_loom(fault: Fault, machine: &Machine, moves: &Moves) -> String {
    match fault {
        Fault::Wheel(wheel, WheelState::Reversed, _) => {
            format!(
                "Exchange the two leads of {} between the drive board and the probes.",
                change::place(wheel, machine)
            )
        }
        Fault::Wheel(wheel, WheelState::Dead | WheelState::Weak, _) => format!(
            "Follow the leads of {} from the drive board to the probes, its enable too: one is off.",
            change::place(wheel, machine)
        ),
        Fault::Wheel(wheel, state, _) => change::of(Fault::Wheel(wheel, state, Locus::DriverSide), machine, moves),
        Fault::Wiring(wiring) => match wiring.repairs().first() {
            Some((a, b)) => format!(
                "Exchange the leads, or the plugs, of {} and {} between the drive board and the probes.",
                change::place(*a, machine),
                change::place(*b, machine)
            ),
            None => "Change nothing.".to_owned(),
        },
        Fault::Cause(_) | Fault::Rollers(_) | Fault::Table(_) => change::of(fault, machine, moves),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::hypothesis::Hardware;
    use crate::diagnosis::wiring::Wiring;
    use crate::rover::wheels::Wheel;

    /// The same parting is put right in the program or at the leads, never in both.
    #[test]
    fn each_place_has_its_own_change() {
        let moves = Moves::default();
        let machine = Machine::default();
        let mut reversed = Hypothesis::SOUND;
        reversed.hardware.wheels[3] = WheelState::Reversed;
        let wiring = Wiring::RIGHT.with_plugs_exchanged(Wheel::FL, Wheel::FR);
        let exchanged = Hypothesis { hardware: Hardware { wiring, ..Hardware::SOUND }, ..Hypothesis::SOUND };
        let of = |hypothesis, at| change(hypothesis, at, &machine, &moves);
        assert_eq!(words(&reversed, &moves), "RR is driven the other way");
        assert!(of(&reversed, Place::Firmware).contains("turn the sign of RR"));
        assert_eq!(of(&reversed, Place::Loom), "Exchange the two leads of RR between the drive board and the probes.");
        assert_eq!(words(&exchanged, &moves), "outputs exchanged: FL and FR");
        assert!(of(&exchanged, Place::Firmware).contains("pin table exchange the pins of FL and FR"));
        assert!(of(&exchanged, Place::Loom).contains("leads, or the plugs, of FL and FR"));
        assert!(of(&reversed, Place::NotToldApart).starts_with("Record the drive board's own pins"));
        assert_eq!(words(&Hypothesis::SOUND, &moves), "every wheel is driven as meant");
        assert_eq!(of(&Hypothesis::SOUND, Place::Loom), "Change nothing.");
    }
}
