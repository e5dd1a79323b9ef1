//! Wiring as typed: one line for each wheel.

use crate::rover::machine::Part;
use crate::rover::wheels::Wheel;

/// One wheel's wiring.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wiring {
    /// The corner.
    pub wheel: Wheel,
    /// The driver's name.
    pub driver: String,
    /// The motor terminal.
    pub terminal: String,
    /// Pins of the drive board.
    pub pins: Vec<i64>,
    /// Whether the sign is turned for this motor.
    pub inverted: bool,
}

impl Wiring {
    /// Reads a line such as `FL L298-front M1 3 4 inverted`; what is wrong is said in words.
    pub fn read(line: &str) -> Result<Self, String> {
        let mut words = line.split_whitespace();
        let corner = words.next().unwrap_or_default().to_uppercase();
        let wheel = Wheel::ALL.into_iter().find(|wheel| wheel.name() == corner);
        let wheel = wheel.ok_or_else(|| format!("`{corner}` is no corner. Begin with FL, FR, RL or RR."))?;
        let driver = words.next().ok_or("The driver's name is missing, such as L298-front.")?.to_owned();
        let mut rest: Vec<&str> = words.collect();
        let inverted = rest.last() == Some(&"inverted");
        if inverted {
            rest.pop();
        }
        let terminal = rest.first().copied().unwrap_or_default().to_owned();
        let pins = rest.iter().skip(1).map(|pin| pin.trim_matches(',').parse::<i64>());
        let pins: Result<Vec<i64>, _> = pins.collect();
        let pins = pins.map_err(|_| "Behind the terminal only pin numbers may stand, such as 3 4.".to_owned())?;
        Ok(Self { wheel, driver, terminal, pins, inverted })
    }

    /// In words.
    pub fn words(&self) -> String {
        let pins: Vec<String> = self.pins.iter().map(i64::to_string).collect();
        let turned = if self.inverted { ", inverted" } else { "" };
        format!("{}: {} {}, pins {}{turned}", self.wheel.name(), self.driver, self.terminal, pins.join("/"))
    }
}

/// The part that a driver's name begins with, where it is a known one.
pub fn part(driver: &str) -> &'static str {
    let known = Part::WORDS.into_iter().map(|(word, _)| word).filter(|word| *word != "other");
    known.into_iter().find(|word| driver.to_uppercase().starts_with(word)).unwrap_or("other")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_a_wheel() {
        let wiring = Wiring::read("fl L298-front M1 3 4 inverted").unwrap();
        assert_eq!(wiring.words(), "FL: L298-front M1, pins 3/4, inverted");
        assert_eq!((part("l298-front"), part("Oxpair")), ("L298", "other"));
        assert!(Wiring::read("XX a b").unwrap_err().contains("FL, FR, RL or RR"));
        assert!(Wiring::read("FL").unwrap_err().contains("driver"));
        assert!(Wiring::read("FL a M1 three").unwrap_err().contains("pin numbers"));
    }
}
