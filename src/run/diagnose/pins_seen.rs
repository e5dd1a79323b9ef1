//! Observations from a recording of levels: which way each wheel was driven in each move.
//!
//! A move counts once it was meant for long enough, with what the pins told at its end. An input that floats is *not
//! looked*: nobody can say what its driver makes of it.

use std::collections::BTreeSet;

use wheeltap_parsers::{Nanos, Pins, Place, TextClass, Told, Wire};

use crate::diagnosis::move_table::Moves;
use crate::diagnosis::observation::Observation;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::engine::event::{Event, Happening};
use crate::rover::wheels::{Duties, Duty, Wheel};

/// A move that is meant for less time is left out, nanoseconds.
const SHORTEST: Nanos = 60_000_000;
/// A duty of no more is still, thousandths.
const STILL: Duty = 20;
/// From this duty on it is a high one, thousandths.
const HIGH: Duty = 500;

/// Gathers observations from events.
#[derive(Debug, Default)]
pub struct PinsSeen {
    pins: [[Told; 4]; 2],
    meant: Option<(Nanos, Duties)>,
    /// An input floated while the wheel was meant to turn.
    open: [bool; 4],
    seen: BTreeSet<(usize, DutyLevel, [Option<i32>; 4])>,
}

impl PinsSeen {
    /// Takes the next event.
    pub fn take(&mut self, event: &Event, moves: &Moves) {
        if let Happening::Pins(Pins { place, wheels, .. }) = event.what {
            self.pins[place.index()] = wheels;
        }
        let meant = match &event.what {
            Happening::Frame(frame) if event.wire == Some(Wire::ToDrive) => frame.meant,
            Happening::Lapse { certain: true } => Some([0; 4]),
            Happening::Text { class: TextClass::Start { .. }, .. } if event.wire == Some(Wire::FromDrive) => {
                Some([0; 4])
            }
            _ => None,
        };
        if let Some(meant) = meant.filter(|meant| self.meant.is_none_or(|(_, before)| before != *meant)) {
            self.ends(event.at, moves);
            self.meant = Some((event.at, meant));
        }
    }

    /// The move in force ends at `at`.
    pub fn ends(&mut self, at: Nanos, moves: &Moves) {
        let long = |(begun, meant): &(Nanos, Duties)| at - begun >= SHORTEST && *meant != [0; 4];
        let Some((_, meant)) = self.meant.filter(long) else { return };
        let Some(row) = moves.row_with(meant.map(Duty::signum)) else { return };
        for wheel in Wheel::ALL {
            self.open[wheel.index()] |= self.told(wheel) == Told::Open && meant[wheel.index()] != 0;
        }
        let weakest = meant.iter().map(|duty| duty.abs()).filter(|duty| *duty > 0).min().unwrap_or(0);
        let level = if weakest >= HIGH { DutyLevel::High } else { DutyLevel::Low };
        let wheels = Wheel::ALL.map(|wheel| self.way(wheel));
        if wheels != [None; 4] {
            self.seen.insert((row, level, wheels));
        }
    }

    fn told(&self, wheel: Wheel) -> Told {
        let [chip, far] = Place::BOTH.map(|place| self.pins[place.index()][wheel.index()]);
        if far == Told::NotProbed { chip } else { far }
    }

    fn way(&self, wheel: Wheel) -> Option<i32> {
        match self.told(wheel) {
            Told::Duty(duty) if duty.abs() > STILL => Some(duty.signum()),
            Told::Duty(_) => Some(0),
            Told::NotProbed | Told::Open => None,
        }
    }

    /// Wheels of which an input floated while they were meant to turn.
    pub fn open(&self) -> impl Iterator<Item = Wheel> + '_ {
        Wheel::ALL.into_iter().filter(|wheel| self.open[wheel.index()])
    }

    /// What was seen, each once.
    pub fn observations(&self) -> impl Iterator<Item = Observation> + '_ {
        self.seen.iter().map(|(row, level, wheels)| Observation::Stand(Order::Row(*row), *level, *wheels))
    }
}
