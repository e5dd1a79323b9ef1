//! Repair: what to change, one thing only, in this rover's own terminals and pins; the proof; what may appear next.

pub mod at_pins;
mod change;
mod splitting;

use crate::diagnosis::class::Class;
use crate::diagnosis::fault::{self, Fault};
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::proposal::Proposal;
use crate::diagnosis::wheel_state::WheelState;
use crate::rover::machine::Machine;
pub use splitting::cheapest as cheapest_split;

/// How to put a rover right, step by step.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// What is taken to be wrong.
    pub wrong: String,
    /// Before touching anything; empty when nothing is to be changed.
    pub first: String,
    /// The one change.
    pub change: String,
    /// What not to do as well.
    pub warning: String,
    /// What must be seen afterwards.
    pub proof: String,
    /// What may show up once this is right.
    pub next: String,
    /// What else fits the same answers, likeliest first.
    pub instead: Vec<String>,
    /// The cheapest action that tells them apart.
    pub split: Option<Proposal>,
}

/// Pack first, hands second.
const FIRST: &str = "Rest the rover, pull the pack's plug, keep metal off the pack's leads, and let the drivers cool before you touch \
     them.";

/// The repair of the likeliest member of a class: its first fault only.
///
/// `one_wheel` says whether the link can order one wheel alone; the proof then does.
pub fn of(class: &Class, machine: &Machine, moves: &Moves, split: Option<Proposal>, one_wheel: bool) -> Repair {
    let Some(top) = class.members.first() else { return nothing(Vec::new(), split) };
    let instead = class.members.iter().skip(1).map(|member| fault::words(&member.hypothesis, moves)).collect();
    let faults = Fault::of(&top.hypothesis);
    let Some(first) = faults.first() else { return nothing(instead, None) };
    Repair {
        wrong: fault::words(&top.hypothesis, moves),
        first: FIRST.to_owned(),
        change: change::of(*first, machine, moves),
        warning: warning(*first).to_owned(),
        proof: proof(*first, moves, one_wheel),
        next: next(&faults, moves),
        instead,
        split,
    }
}

fn nothing(instead: Vec<String>, split: Option<Proposal>) -> Repair {
    Repair {
        wrong: "nothing wrong".to_owned(),
        first: String::new(),
        change: "Change nothing.".to_owned(),
        warning: String::new(),
        proof: "Each row seen once, each wheel as meant.".to_owned(),
        next: String::new(),
        instead,
        split,
    }
}

const fn warning(fault: Fault) -> &'static str {
    match fault {
        Fault::Wheel(_, WheelState::Reversed, _) => {
            "Change one place only. Leads and sign both turned are right again by chance, and wrong after the next \
             firmware."
        }
        Fault::Wiring(_) => "Move the plugs or change the table, not both.",
        Fault::Table(_) => "Do not turn leads to make up for one row: the other rows would go wrong.",
        Fault::Rollers(_) => "Do not change signs or leads: every wheel turns as ordered.",
        Fault::Cause(_) => "Leave the single wheels alone until this is put right and the test made again.",
        Fault::Wheel(..) => "One change, then the proof. A second change hides what the first one did.",
    }
}

fn proof(fault: Fault, moves: &Moves, one_wheel: bool) -> String {
    let stand = "On the stand, hands and leads clear of the wheels:";
    match fault {
        Fault::Wheel(wheel, WheelState::Weak, _) => {
            format!("{stand} {} starts at low duty with the others, both ways, three times.", wheel.name())
        }
        Fault::Wheel(wheel, ..) if !one_wheel => {
            format!(
                "{stand} order a move that drives {0} forward, then its opposite; {0} turns as meant, and the others as \
                 before.",
                wheel.name()
            )
        }
        Fault::Wheel(wheel, ..) => {
            format!(
                "{stand} order {} forward, then backward; it turns as ordered, and the others as before.",
                wheel.name()
            )
        }
        Fault::Wiring(_) if !one_wheel => {
            format!("{stand} order one move after the other; each wheel turns as meant, in every move.")
        }
        Fault::Wiring(_) => format!("{stand} order each wheel alone; the wheel that is ordered turns, no other."),
        Fault::Rollers(_) => "Seen from above the top rollers form an X; then one slide to the left on the floor, \
                              with room on both sides."
            .to_owned(),
        Fault::Table(fault) => {
            use crate::diagnosis::move_table::TableFault::{Exchanged, None, WrongSign};
            let rows = match fault {
                Exchanged(a, b) => format!("`{}` and `{}`", moves.name(a), moves.name(b)),
                WrongSign(row, _) => format!("`{}`", moves.name(row)),
                None => "each row".to_owned(),
            };
            format!("{stand} order {rows}; each wheel turns as the rover file says.")
        }
        Fault::Cause(_) => format!("{stand} rest first: all wheels still. Then forward at low duty, left, turn left."),
    }
}

fn next(faults: &[Fault], moves: &Moves) -> String {
    let rest: Vec<String> = faults.iter().skip(1).map(|fault| fault.words(moves)).collect();
    let hidden = faults.iter().find_map(|fault| match fault {
        Fault::Wheel(wheel, WheelState::Dead, _) => Some(wheel.name()),
        _ => None,
    });
    match (rest.is_empty(), hidden) {
        (false, _) => format!("Still to come: {}. Test again after this change.", rest.join("; ")),
        (true, Some(wheel)) => format!("A dead {wheel} hides wrong signs of its own output: test {wheel} again."),
        (true, None) => "Test again: a second fault may have hidden behind this one.".to_owned(),
    }
}
