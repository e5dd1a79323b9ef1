//! The one change that puts a fault right, in this rover's own words.

use crate::diagnosis::cause::{Cause, Crossing, Feed, Input, Pair, View};
use crate::diagnosis::fault::{self, Fault};
use crate::diagnosis::hypothesis::Locus;
use crate::diagnosis::move_table::{Moves, TableFault};
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::WheelState;
use crate::diagnosis::wiring::Wiring;
use crate::rover::machine::Machine;
use crate::rover::wheels::Wheel;

/// The change.
pub fn of(fault: Fault, machine: &Machine, moves: &Moves) -> String {
    match fault {
        Fault::Wheel(wheel, state, locus) => of_wheel(wheel, state, locus, machine),
        Fault::Wiring(wiring) => of_wiring(wiring, machine),
        Fault::Rollers(rollers) => of_rollers(rollers),
        Fault::Table(TableFault::Exchanged(a, b)) => {
            format!("In the drive board's table exchange the rows `{}` and `{}`.", moves.name(a), moves.name(b))
        }
        Fault::Table(TableFault::WrongSign(row, wheel)) => {
            format!("In the drive board's table turn the sign of {} in row `{}`.", wheel.name(), moves.name(row))
        }
        Fault::Table(TableFault::None) => "Change nothing.".to_owned(),
        Fault::Cause(cause) => of_cause(cause, machine),
    }
}

/// `FL (Oxpair A M1, A1/A2, pins 3/4)`, or `FL` where the rover file says nothing.
pub(super) fn place(wheel: Wheel, machine: &Machine) -> String {
    let words = machine.wiring_words(wheel);
    if words.is_empty() { wheel.name().to_owned() } else { format!("{} ({words})", wheel.name()) }
}

/// The driver's terminal for a wheel.
fn terminal(wheel: Wheel, machine: &Machine) -> String {
    match &machine.wheels[wheel.index()] {
        Some(wiring) => format!("{} {}", wiring.driver, wiring.terminal),
        None => format!("the output for {}", wheel.name()),
    }
}

/// The name and pin of one input of a wheel's output.
fn input(wheel: Wheel, second: bool, machine: &Machine) -> String {
    let place = usize::from(second);
    let which = if second { "second" } else { "first" };
    let Some(wiring) = &machine.wheels[wheel.index()] else {
        return format!("the {which} input of {}", wheel.name());
    };
    let name = wiring.inputs.get(place).map_or(which, String::as_str);
    match wiring.pins.get(place) {
        Some(pin) => format!("input {name} of {} (pin {pin})", wiring.driver),
        None => format!("input {name} of {}", wiring.driver),
    }
}

fn of_wheel(wheel: Wheel, state: WheelState, locus: Locus, machine: &Machine) -> String {
    let at = place(wheel, machine);
    let terminal = terminal(wheel, machine);
    match state {
        WheelState::Sound => "Change nothing.".to_owned(),
        WheelState::Reversed if locus == Locus::DriverSide => {
            format!("Exchange the two input leads of {at}, or turn its sign in the drive board's one table of signs.")
        }
        WheelState::Reversed => format!("Exchange the two motor leads of {} at {terminal}.", wheel.name()),
        WheelState::Dead if locus == Locus::DriverSide => {
            format!("Check the input leads and the enable of {at}; then the driver's output.")
        }
        WheelState::Dead => {
            format!("Check the motor plug of {} at {terminal}, its leads, then the motor.", wheel.name())
        }
        WheelState::ForwardOnly => one_way(wheel, true, locus, machine),
        WheelState::BackwardOnly => one_way(wheel, false, locus, machine),
        WheelState::Weak => format!(
            "Turn {} by hand and compare it with the others; free what rubs, check the screws at {terminal}. If it stays \
             stiff, raise the least duty.",
            wheel.name()
        ),
    }
}

/// A wheel that obeys one direction only: the input of the other one.
fn one_way(wheel: Wheel, forward: bool, locus: Locus, machine: &Machine) -> String {
    if locus == Locus::MotorSide {
        return format!("Look for what blocks {} in one direction: gear, rubbing lead, grub screw.", wheel.name());
    }
    let inverted = machine.wheels[wheel.index()].as_ref().is_some_and(|wiring| wiring.inverted);
    let missing = input(wheel, forward != inverted, machine);
    format!("Check the lead to {missing}: it is the one that {} does not obey.", wheel.name())
}

fn of_wiring(wiring: Wiring, machine: &Machine) -> String {
    let steps = wiring.repairs();
    let Some((a, b)) = steps.first() else { return "Change nothing.".to_owned() };
    let first = format!("Exchange the motor plugs at {} and {}.", terminal(*a, machine), terminal(*b, machine));
    match steps.len() {
        1 => first,
        more => format!("{first} Test again; {} more to follow.", more - 1),
    }
}

fn of_rollers(rollers: Rollers) -> String {
    let wrong = rollers.wrong();
    let left_hand = |wheel: &&Wheel| matches!(wheel, Wheel::FL | Wheel::RR);
    let (one, other): (Vec<&Wheel>, Vec<&Wheel>) = wrong.iter().partition(left_hand);
    match (one.first(), other.first()) {
        (Some(a), Some(b)) => format!("Exchange the wheels of {} and {}, nothing else.", a.name(), b.name()),
        _ => format!(
            "The wheel at {} has the wrong hand and no wheel to exchange it with: a kit with three of one hand. Get a \
             wheel of the other hand.",
            fault::names(&wrong)
        ),
    }
}

fn of_cause(cause: Cause, machine: &Machine) -> String {
    match cause {
        Cause::None => "Change nothing.".to_owned(),
        Cause::CrossedInputs(pair, crossing) => crossed(pair, crossing, machine),
        Cause::OpenInput(wheel, which) => format!(
            "Fit the lead to {}. Until then keep the wheels off the ground: the input may read high and {} may run at \
             rest.",
            input(wheel, which == Input::Second, machine),
            wheel.name()
        ),
        Cause::DriverDead(pair) => {
            let at = fault::names(&[pair.first.wheel, pair.second.wheel]);
            let driver = machine.driver_of(pair.first.wheel).map_or("the driver", |driver| driver.name.as_str());
            format!("Check supply, ground, logic supply and enable of {driver}, which feeds {at}; then the driver.")
        }
        Cause::SupplyLow => {
            "Measure the pack under load and at the drivers; charge it, or raise the least duty for all four."
                .to_owned()
        }
        Cause::LinkDead => "Check ground and the lead of wire > from the command board to the drive board.".to_owned(),
        Cause::BoardBackwards => "Turn the drive board's idea of the nose: mount it the other way round, or exchange \
                                  all four corners in its one table."
            .to_owned(),
        Cause::Observer(view) => look_again(view).to_owned(),
    }
}

fn crossed(pair: Pair, crossing: Crossing, machine: &Machine) -> String {
    let (a, b) = crossed_inputs(pair, crossing, machine);
    format!("Exchange the leads to {a} and {b}.")
}

/// The two inputs whose leads, or pins, are exchanged.
pub(super) fn crossed_inputs(pair: Pair, crossing: Crossing, machine: &Machine) -> (String, String) {
    let (a, b) = crossing.inputs();
    let name = |number: usize| {
        let feed: Feed = if number < 2 { pair.first } else { pair.second };
        input(feed.wheel, number % 2 == 1, machine)
    };
    (name(a), name(b))
}

const fn look_again(view: View) -> &'static str {
    match view {
        View::Mirrored => "Change nothing. Stand behind the rover, nose away from you, and name left and right again.",
        View::TurnedRound => "Change nothing. Put tape on the nose and look again.",
        View::InnerSide => "Change nothing. Judge each wheel by the top of its tyre: forward is towards the nose.",
        View::OnItsBack => "Change nothing. Set the rover on its stand, right way up, and look again.",
    }
}
