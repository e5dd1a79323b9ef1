//! Tests: what a person can do with the rover, and which of them are on hand.

use crate::diagnosis::move_table::{Moves, TableFault};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::mecanum::Signs;
use crate::rover::wheels::Wheel;

/// What is ordered during a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Order {
    /// A row of the move table, by its place.
    Row(usize),
    /// One wheel alone, past the move table.
    OneWheel(Wheel, Spin),
}

/// Which way one wheel is ordered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spin {
    /// Towards the tail.
    Backward,
    /// Towards the nose.
    Forward,
}

impl Order {
    /// What the outputs are told when the move table has this fault.
    pub fn told(self, moves: &Moves, fault: TableFault) -> Signs {
        match self {
            Self::Row(row) => moves.told(row, fault),
            Self::OneWheel(wheel, spin) => {
                let mut signs = [0; 4];
                signs[wheel.index()] = if spin == Spin::Forward { 1 } else { -1 };
                signs
            }
        }
    }

    /// The order in the person's words.
    pub fn words(self, moves: &Moves) -> String {
        match self {
            Self::Row(row) => format!("`{}`", moves.name(row)),
            Self::OneWheel(wheel, Spin::Forward) => format!("{} alone, forward", wheel.name()),
            Self::OneWheel(wheel, Spin::Backward) => format!("{} alone, backward", wheel.name()),
        }
    }
}

/// One test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Test {
    /// A strip of tape on the nose and one on FL.
    Tape,
    /// A look at the rollers from above.
    Look,
    /// Wheels watched on the stand.
    Stand(Order, DutyLevel),
    /// The body watched on the floor while a row runs.
    Floor(usize, DutyLevel),
    /// Signs of the mean turn correction of an ordinary drive: while driving forward, while sliding left.
    Correction,
}

impl Test {
    /// The row it runs, where it runs one.
    pub const fn row(self) -> Option<usize> {
        match self {
            Self::Stand(Order::Row(row), _) | Self::Floor(row, _) => Some(row),
            _ => None,
        }
    }
}

/// Which kinds of test a person has on hand; each stands for itself.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Available {
    /// Wheels on a stand.
    pub stand: bool,
    /// A floor to drive on.
    pub floor: bool,
    /// Orders for one wheel alone.
    pub one_wheel: bool,
    /// A look from above.
    pub look: bool,
    /// Tape.
    pub tape: bool,
    /// Low duty can be ordered.
    pub low_duty: bool,
    /// High duty can be ordered.
    pub high_duty: bool,
    /// A screwdriver: leads, plugs and wheels can be exchanged.
    pub screwdriver: bool,
}

impl Available {
    /// Everything.
    pub const ALL: Self = Self {
        stand: true,
        floor: true,
        one_wheel: true,
        look: true,
        tape: true,
        low_duty: true,
        high_duty: true,
        screwdriver: true,
    };

    /// Nothing.
    pub const NONE: Self = Self {
        stand: false,
        floor: false,
        one_wheel: false,
        look: false,
        tape: false,
        low_duty: false,
        high_duty: false,
        screwdriver: false,
    };

    /// Tests on hand that need no exchange, in a fixed order.
    pub fn tests(&self, moves: &Moves) -> Vec<Test> {
        let mut tests = Vec::new();
        if self.look {
            tests.push(Test::Look);
        }
        for duty in self.duties() {
            if self.stand {
                tests.extend((0..moves.count()).map(|row| Test::Stand(Order::Row(row), duty)));
            }
            if self.one_wheel {
                tests.extend(one_wheel_orders().map(|order| Test::Stand(order, duty)));
            }
            if self.floor {
                tests.extend((0..moves.count()).map(|row| Test::Floor(row, duty)));
            }
        }
        tests
    }

    /// The duties on hand.
    fn duties(&self) -> impl Iterator<Item = DutyLevel> {
        let wanted = [(DutyLevel::Low, self.low_duty), (DutyLevel::High, self.high_duty)];
        wanted.into_iter().filter(|(_, has)| *has).map(|(duty, _)| duty)
    }
}

/// Each wheel alone, forward and backward.
pub fn one_wheel_orders() -> impl Iterator<Item = Order> {
    Wheel::ALL.into_iter().flat_map(|wheel| [Spin::Forward, Spin::Backward].map(|spin| Order::OneWheel(wheel, spin)))
}
