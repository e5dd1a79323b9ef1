//! A hypothesis: what may be wrong with one rover, and the list of all of them up to three faulty components.
//!
//! **Components.** Each of the four wheels is one (5 ways to be faulty), the wiring is one (23 ways, however many plugs
//! are exchanged), the set of rollers is one (15 ways, however many corners are wrong), the move table is one (87 ways).
//! A common cause is one too; it is taken alone or with one other fault.

use crate::diagnosis::cause::Cause;
use crate::diagnosis::move_table::TableFault;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::WheelState;
use crate::diagnosis::wiring::Wiring;
use crate::rover::machine::Machine;
use crate::rover::wheels::Wheel;

/// On which side of the driver's output a wheel's fault sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Locus {
    /// Not told apart.
    Open,
    /// Motor, its leads, its plug: the fault goes where the plug's motor goes.
    MotorSide,
    /// Driver, its inputs, the drive board's pins: the fault stays at the output.
    DriverSide,
}

/// Everything of a hypothesis but the move table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hardware {
    /// State of each wheel.
    pub wheels: [WheelState; 4],
    /// Which output reaches which wheel.
    pub wiring: Wiring,
    /// Where rollers have the wrong hand.
    pub rollers: Rollers,
    /// A common cause.
    pub cause: Cause,
    /// Where the wheels' faults sit.
    pub locus: Locus,
}

impl Hardware {
    /// Nothing wrong.
    pub const SOUND: Self = Self {
        wheels: [WheelState::Sound; 4],
        wiring: Wiring::RIGHT,
        rollers: Rollers::RIGHT,
        cause: Cause::None,
        locus: Locus::Open,
    };

    /// How many components are faulty.
    pub fn faults(&self) -> usize {
        self.plain_faults() + usize::from(self.cause != Cause::None)
    }

    /// Faulty wheels, wiring and rollers.
    fn plain_faults(&self) -> usize {
        let wheels = self.wheels.iter().filter(|state| **state != WheelState::Sound).count();
        wheels + usize::from(self.wiring != Wiring::RIGHT) + usize::from(self.rollers != Rollers::RIGHT)
    }

    /// Its place in the order of the list: a common cause with another fault counts three, with two it is left out.
    fn rank(&self) -> usize {
        match (self.cause, self.plain_faults()) {
            (Cause::None, plain) => plain,
            (_, 0) => 1,
            (_, 1) => 3,
            _ => usize::MAX,
        }
    }
}

/// Hardware and move table together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hypothesis {
    /// Wheels, wiring, rollers, cause.
    pub hardware: Hardware,
    /// The move table.
    pub table: TableFault,
}

impl Hypothesis {
    /// Nothing wrong.
    pub const SOUND: Self = Self { hardware: Hardware::SOUND, table: TableFault::None };

    /// How many components are faulty.
    pub fn faults(&self) -> usize {
        self.hardware.faults() + usize::from(self.table != TableFault::None)
    }
}

/// Every hardware with at most `most` faults; fewer faults first, so that "at most one fewer" is a beginning of it.
pub fn hardware(most: usize, extended: bool, machine: &Machine) -> Vec<Hardware> {
    let causes = if extended { Cause::all(machine) } else { vec![Cause::None] };
    let wirings = Wiring::all();
    let mut all = Vec::new();
    for wheels in wheel_states(most) {
        for wiring in &wirings {
            for rollers in Rollers::all() {
                let plain = Hardware { wheels, wiring: *wiring, rollers, ..Hardware::SOUND };
                if plain.rank() > most {
                    continue;
                }
                let with_cause = causes.iter().map(|cause| Hardware { cause: *cause, ..plain });
                all.extend(with_cause.filter(|hardware| hardware.rank() <= most).flat_map(|it| loci(it, extended)));
            }
        }
    }
    all.sort_by_key(Hardware::rank);
    all
}

/// How many of a list made by [`hardware`] have at most this rank.
pub fn beginning(all: &[Hardware], most: usize) -> usize {
    all.partition_point(|hardware| hardware.rank() <= most)
}

/// In the extended model each faulty wheel's cause sits on one side of the driver or the other.
fn loci(hardware: Hardware, extended: bool) -> Vec<Hardware> {
    if !extended || hardware.wheels == Hardware::SOUND.wheels {
        return vec![hardware];
    }
    [Locus::MotorSide, Locus::DriverSide].map(|locus| Hardware { locus, ..hardware }).to_vec()
}

/// Every set of four wheel states with at most `most` faulty.
fn wheel_states(most: usize) -> Vec<[WheelState; 4]> {
    let all = (0..1296_usize)
        .map(|number| Wheel::ALL.map(|wheel| WheelState::ALL[number / 6_usize.pow(wheel.index() as u32) % 6]));
    all.filter(|wheels| wheels.iter().filter(|state| **state != WheelState::Sound).count() <= most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Elementary symmetric sums of (5, 5, 5, 5, 23, 15): 1, 58, 1255, 13100.
    #[test]
    fn hardware_by_number_of_faults() {
        let all = hardware(3, false, &Machine::default());
        let of = |most| beginning(&all, most);
        assert_eq!([of(0), of(1), of(2), of(3)], [1, 59, 1314, 14_414]);
        assert!(all.iter().all(|hardware| hardware.faults() <= 3));
    }

    #[test]
    fn extended_hardware_adds_causes_alone_or_with_one_more() {
        let all = hardware(3, true, &Machine::default());
        let causes = all.iter().filter(|hardware| hardware.cause != Cause::None);
        assert!(causes.clone().all(|hardware| hardware.faults() <= 2));
        let alone = causes.filter(|hardware| hardware.faults() == 1).count();
        assert_eq!(alone, 8 + 8 + 2 + 3 + 4, "crossings, open inputs, drivers, common, views");
    }
}
