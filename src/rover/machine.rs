//! The machine: corners, drivers, pins, pack, motors, as the rover file states them.

use crate::rover::wheels::Wheel;

/// Everything stated about the machine; any of it may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Machine {
    /// By [`Wheel::index`].
    pub wheels: [Option<WheelWiring>; 4],
    /// The drivers.
    pub drivers: Vec<Driver>,
    /// Half the wheelbase, half the track and the wheel radius, thousandths of a millimetre.
    pub geometry: Option<[i64; 3]>,
    /// The pack.
    pub pack: Option<Pack>,
    /// The motors.
    pub motor: Option<Motor>,
}

impl Machine {
    /// The driver that feeds this wheel.
    pub fn driver_of(&self, wheel: Wheel) -> Option<&Driver> {
        let wiring = self.wheels[wheel.index()].as_ref()?;
        self.drivers.iter().find(|driver| driver.name == wiring.driver)
    }

    /// The wheel's wiring in this rover's own words, such as `Oxpair A M1, A1/A2, pins 3/4, inverted`.
    pub fn wiring_words(&self, wheel: Wheel) -> String {
        let Some(wiring) = &self.wheels[wheel.index()] else { return String::new() };
        let mut words = format!("{} {}", wiring.driver, wiring.terminal);
        if !wiring.inputs.is_empty() {
            words += &format!(", {}", wiring.inputs.join("/"));
        }
        if !wiring.pins.is_empty() {
            let pins: Vec<String> = wiring.pins.iter().map(i64::to_string).collect();
            words += &format!(", pins {}", pins.join("/"));
        }
        if wiring.inverted {
            words += ", inverted";
        }
        words
    }
}

/// How one wheel's motor is wired.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WheelWiring {
    /// The driver's name.
    pub driver: String,
    /// The motor terminal at the driver.
    pub terminal: String,
    /// The driver's two direction inputs.
    pub inputs: Vec<String>,
    /// The driver's enable input, where it has a name.
    pub enable: Option<String>,
    /// The drive board's pins on the direction inputs.
    pub pins: Vec<i64>,
    /// True when the table turns the sign for this motor.
    pub inverted: bool,
}

/// A dual H-bridge driver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Driver {
    /// The person's name for it.
    pub name: String,
    /// Its part.
    pub part: Part,
}

/// Driver parts whose figures are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// L298.
    L298,
    /// TB6612FNG.
    Tb6612,
    /// DRV8833.
    Drv8833,
    /// Any other.
    Other,
}

impl Part {
    /// Words of a rover file.
    pub const WORDS: [(&'static str, Self); 4] =
        [("L298", Self::L298), ("TB6612FNG", Self::Tb6612), ("DRV8833", Self::Drv8833), ("other", Self::Other)];
}

/// The pack, millivolts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pack {
    /// Cells in series.
    pub cells: i64,
    /// Full.
    pub full: i64,
    /// Warn at this, loaded.
    pub warn: Option<i64>,
    /// Stop at this, loaded.
    pub stop: Option<i64>,
}

/// The motors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Motor {
    /// Rated volts, thousandths.
    pub rated: Option<i64>,
    /// Running current, milliamperes.
    pub running: Option<i64>,
    /// Stall current, milliamperes.
    pub stall: Option<i64>,
    /// How fast a wheel goes at full drive.
    pub full_speed: Option<FullSpeed>,
}

/// How fast a wheel goes at full drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FullSpeed {
    /// The rover's own speed at 100 % duty as measured on the floor, thousandths of a millimetre a second.
    OnTheFloor(i64),
    /// A wheel's turns at the rated volts, as the seller says.
    AtRatedVolts {
        /// Thousandths of a turn a minute.
        milli_rpm: i64,
    },
}
