//! Causes that no single wheel's state can hold: inputs, drivers, supply, the board's place, the person's view.
//!
//! Limits, all of them stated to the person where they matter:
//! - Crossed and open input leads assume that the two inputs carry the pulses and the driver stays enabled.
//! - An open lead is taken to read high. A lead that reads low leaves a wheel that runs one way only, a wheel state.
//! - Low supply stops every wheel at low duty and none at high duty.
//! - A driver counts only if the rover file gives it two wheels; without a file, front pair and rear pair.

use crate::diagnosis::body::{BodySeen, Turn, Way};
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::machine::Machine;
use crate::rover::mecanum::Signs;
use crate::rover::wheels::Wheel;

/// A cause beyond wheels, wiring, rollers and table; at most one is taken at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// None.
    None,
    /// Two input leads of one driver exchanged.
    CrossedInputs(Pair, Crossing),
    /// One input lead of a wheel's output open, and the input reads high: it may run at rest.
    OpenInput(Wheel, Input),
    /// Both outputs of one driver dead.
    DriverDead(Pair),
    /// Supply or duty too low for all: nothing starts at low duty.
    SupplyLow,
    /// No order reaches the drive board.
    LinkDead,
    /// The drive board's idea of the nose points at the tail.
    BoardBackwards,
    /// The person sees the rover in another way than the words assume.
    Observer(View),
}

/// The two wheels of one driver, in the order of its inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pair {
    /// Fed by outputs of inputs 1 and 2.
    pub first: Feed,
    /// Fed by outputs of inputs 3 and 4.
    pub second: Feed,
}

/// One output of a driver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Feed {
    /// The wheel it should feed.
    pub wheel: Wheel,
    /// Whether the drive board's table turns the sign for it.
    pub inverted: bool,
}

/// Which two of a driver's four input leads are exchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Crossing {
    /// Inputs 2 and 3.
    TwoThree,
    /// Inputs 1 and 4.
    OneFour,
    /// Inputs 1 and 3.
    OneThree,
    /// Inputs 2 and 4.
    TwoFour,
}

impl Crossing {
    /// All four.
    pub const ALL: [Self; 4] = [Self::TwoThree, Self::OneFour, Self::OneThree, Self::TwoFour];

    /// The two inputs, from 0.
    pub const fn inputs(self) -> (usize, usize) {
        match self {
            Self::TwoThree => (1, 2),
            Self::OneFour => (0, 3),
            Self::OneThree => (0, 2),
            Self::TwoFour => (1, 3),
        }
    }
}

/// One of the two direction inputs of an output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Input {
    /// The first.
    First,
    /// The second.
    Second,
}

/// How a person may see the rover.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// Left and right exchanged.
    Mirrored,
    /// The tail taken for the nose.
    TurnedRound,
    /// Each wheel's turning judged from its inner side.
    InnerSide,
    /// The rover on its back: left and right exchanged, each wheel's turning reversed.
    OnItsBack,
}

impl View {
    /// All four.
    pub const ALL: [Self; 4] = [Self::Mirrored, Self::TurnedRound, Self::InnerSide, Self::OnItsBack];

    /// By corner named: the corner that is really looked at.
    const fn corners(self) -> [Wheel; 4] {
        match self {
            Self::Mirrored | Self::OnItsBack => [Wheel::FR, Wheel::FL, Wheel::RR, Wheel::RL],
            Self::TurnedRound => [Wheel::RR, Wheel::RL, Wheel::FR, Wheel::FL],
            Self::InnerSide => Wheel::ALL,
        }
    }

    /// What is said of wheels that really turn so.
    fn wheels(self, turning: Signs) -> Signs {
        let sign = if self == Self::Mirrored { 1 } else { -1 };
        self.corners().map(|corner| sign * turning[corner.index()])
    }

    /// What is said of a body that really moves so.
    const fn body(self, seen: BodySeen) -> BodySeen {
        let Way { ahead, left } = seen.way;
        match self {
            Self::Mirrored => BodySeen { way: Way { ahead, left: -left }, turn: Turn::from_sign(-seen.turn.sign()) },
            Self::TurnedRound => BodySeen { way: Way { ahead: -ahead, left: -left }, turn: seen.turn },
            Self::InnerSide | Self::OnItsBack => seen,
        }
    }

    /// What is said of rollers that are really so.
    fn rollers(self, rollers: Rollers) -> Rollers {
        let moved = rollers.moved(self.corners());
        if self == Self::OnItsBack { moved.turned_over() } else { moved }
    }
}

impl Cause {
    /// Every cause this machine allows; none first.
    pub fn all(machine: &Machine) -> Vec<Self> {
        let pairs = pairs(machine);
        let mut all = vec![Self::None];
        for pair in &pairs {
            all.extend(Crossing::ALL.map(|crossing| Self::CrossedInputs(*pair, crossing)));
        }
        for wheel in Wheel::ALL {
            all.extend([Input::First, Input::Second].map(|input| Self::OpenInput(wheel, input)));
        }
        all.extend(pairs.into_iter().map(Self::DriverDead));
        all.extend([Self::SupplyLow, Self::LinkDead, Self::BoardBackwards]);
        all.extend(View::ALL.map(Self::Observer));
        all
    }

    /// What the outputs do when told this. `inverted` says, by wheel, whether the table turns the sign there.
    pub fn outputs(self, told: Signs, duty: DutyLevel, inverted: [bool; 4]) -> Signs {
        match self {
            Self::None | Self::Observer(_) => told,
            Self::SupplyLow if duty == DutyLevel::High => told,
            Self::SupplyLow | Self::LinkDead => [0; 4],
            Self::BoardBackwards => [-told[3], -told[2], -told[1], -told[0]],
            Self::DriverDead(pair) => with(told, [(pair.first.wheel, 0), (pair.second.wheel, 0)]),
            Self::CrossedInputs(pair, crossing) => crossed(told, pair, crossing),
            Self::OpenInput(wheel, input) => {
                let turned = inverted[wheel.index()];
                let mut levels = levels(told[wheel.index()], turned);
                levels[input as usize] = true;
                with(told, [(wheel, output(levels, turned)); 2])
            }
        }
    }

    /// What a person says of wheels that really turn so.
    pub fn wheels_said(self, turning: Signs) -> Signs {
        if let Self::Observer(view) = self { view.wheels(turning) } else { turning }
    }

    /// What a person says of a body that really moves so; the number of [`BodySeen`].
    pub const fn body_said(self, number: u8) -> u8 {
        if let Self::Observer(view) = self { view.body(BodySeen::from_number(number)).number() } else { number }
    }

    /// What a person says of rollers that are really so.
    pub fn rollers_said(self, rollers: Rollers) -> Rollers {
        if let Self::Observer(view) = self { view.rollers(rollers) } else { rollers }
    }
}

/// By wheel: whether the rover file's table turns the sign.
pub fn inverted(machine: &Machine) -> [bool; 4] {
    Wheel::ALL.map(|wheel| machine.wheels[wheel.index()].as_ref().is_some_and(|wiring| wiring.inverted))
}

/// The drivers that feed two wheels; front pair and rear pair where the file says nothing.
fn pairs(machine: &Machine) -> Vec<Pair> {
    let feed = |wheel: Wheel| Feed { wheel, inverted: inverted(machine)[wheel.index()] };
    if machine.wheels.iter().all(Option::is_none) {
        return vec![
            Pair { first: feed(Wheel::FL), second: feed(Wheel::FR) },
            Pair { first: feed(Wheel::RL), second: feed(Wheel::RR) },
        ];
    }
    let mut found = Vec::new();
    for driver in &machine.drivers {
        let wheels: Vec<Wheel> = Wheel::ALL
            .into_iter()
            .filter(|wheel| machine.driver_of(*wheel).is_some_and(|other| other.name == driver.name))
            .collect();
        if let [a, b] = wheels[..] {
            let inputs = |wheel: Wheel| machine.wheels[wheel.index()].as_ref().map(|w| (&w.inputs, &w.terminal));
            let (first, second) = if inputs(b) < inputs(a) { (b, a) } else { (a, b) };
            found.push(Pair { first: feed(first), second: feed(second) });
        }
    }
    found
}

/// Levels of the two inputs for a wheel told to turn so: the first drives forward, unless the sign is turned.
const fn levels(told: i32, inverted: bool) -> [bool; 2] {
    let driven = if inverted { -told } else { told };
    [driven > 0, driven < 0]
}

/// What an output does at these levels: both alike is brake (ST L298 data sheet, January 2000, figure 6).
const fn output(levels: [bool; 2], inverted: bool) -> i32 {
    let driven = levels[0] as i32 - levels[1] as i32;
    if inverted { -driven } else { driven }
}

fn crossed(told: Signs, pair: Pair, crossing: Crossing) -> Signs {
    let [one, two] = levels(told[pair.first.wheel.index()], pair.first.inverted);
    let [three, four] = levels(told[pair.second.wheel.index()], pair.second.inverted);
    let mut leads = [one, two, three, four];
    let (a, b) = crossing.inputs();
    leads.swap(a, b);
    let first = output([leads[0], leads[1]], pair.first.inverted);
    let second = output([leads[2], leads[3]], pair.second.inverted);
    with(told, [(pair.first.wheel, first), (pair.second.wheel, second)])
}

fn with(mut signs: Signs, changes: [(Wheel, i32); 2]) -> Signs {
    for (wheel, sign) in changes {
        signs[wheel.index()] = sign;
    }
    signs
}
