//! What was seen in a recording of levels: the pins of each wheel, and the clocks of the wires.

use wheeltap_parsers::{LineClock, Pins, Place, Told, Wire};

use super::snapshot::SeenAtPins;
use crate::rover::wheels::Wheel;

/// The last of each.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    pins: [Option<Pins>; 2],
    clocks: [Option<LineClock>; 2],
}

impl Seen {
    /// The pins of one place changed.
    pub const fn take_pins(&mut self, pins: Pins) {
        self.pins[pins.place.index()] = Some(pins);
    }

    /// A clock was measured.
    pub const fn take_clock(&mut self, clock: LineClock) {
        self.clocks[clock.wire.index()] = Some(clock);
    }

    /// The clock of this wire's sender.
    pub const fn clock(&self, wire: Wire) -> Option<LineClock> {
        self.clocks[wire.index()]
    }

    /// What this wheel was told: at the wheel where that was recorded, else at the chip.
    pub fn at_pins(&self, wheel: Wheel) -> Option<SeenAtPins> {
        let at = |place: Place| {
            let pins = self.pins[place.index()]?;
            let duty = match pins.wheels[wheel.index()] {
                Told::NotProbed => return None,
                Told::Open => None,
                Told::Duty(duty) => Some(duty),
            };
            Some(SeenAtPins { duty, place })
        };
        at(Place::Wheel).or_else(|| at(Place::Chip))
    }
}
