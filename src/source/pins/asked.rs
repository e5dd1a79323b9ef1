//! What a person, and the rover file, say of a dump's signals.

use wheeltap_parsers::Place;

/// The wheels in the order used everywhere.
pub const WHEELS: [&str; 4] = ["FL", "FR", "RL", "RR"];

/// Which signal is what, as far as anybody has said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// The signal that is the wire to the drive board, then the one that is the wire back.
    pub wires: Vec<String>,
    /// Inputs of wheels, as a person names them.
    pub pins: Vec<WheelAsked>,
    /// What the rover file says.
    pub rover: RoverPins,
}

/// The inputs of one wheel as a person names them: `FL=in1,in2,en`, with `chip:` or `wheel:` before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WheelAsked {
    /// Where they were recorded; by their names where it is not said.
    pub place: Option<Place>,
    /// Which wheel, 0 to 3.
    pub wheel: usize,
    /// IN1, IN2 and, unless it is held by a jumper, EN.
    pub names: Vec<String>,
}

/// What the rover file says of the pins.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RoverPins {
    /// Line rate, baud.
    pub rate: Option<u32>,
    /// By wheel.
    pub wheels: [WheelPins; 4],
}

/// What the rover file says of one wheel's pins.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WheelPins {
    /// Names of the driver's direction inputs.
    pub inputs: Vec<String>,
    /// Name of the driver's enable input.
    pub enable: Option<String>,
    /// The drive board's pins on the direction inputs.
    pub pins: Vec<i64>,
    /// IN1 high drives the wheel backward.
    pub inverted: bool,
}

impl WheelAsked {
    /// Reads `FL=in1,in2,en` or `chip:FL=in1,in2`.
    pub fn read(text: &str) -> Result<Self, String> {
        let form =
            || "such as FL=in1,in2,en or chip:FL=in1,in2 (wheels: FL, FR, RL, RR; places: chip, wheel)".to_owned();
        let (head, names) = text.split_once('=').ok_or_else(form)?;
        let (place, wheel) = match head.split_once(':') {
            Some((place, wheel)) => {
                let place = Place::BOTH.into_iter().find(|known| known.word() == place);
                (Some(place.ok_or_else(form)?), wheel)
            }
            None => (None, head),
        };
        let wheel = WHEELS.iter().position(|known| known.eq_ignore_ascii_case(wheel)).ok_or_else(form)?;
        let names: Vec<String> = names.split(',').map(|name| name.trim().to_owned()).collect();
        if !(2..=3).contains(&names.len()) || names.iter().any(String::is_empty) {
            return Err(form());
        }
        Ok(Self { place, wheel, names })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wheels_inputs_are_read_with_and_without_a_place() {
        let names = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let read = |text| WheelAsked::read(text);
        assert_eq!(read("fl=a,b"), Ok(WheelAsked { place: None, wheel: 0, names: names("a b") }));
        let chip = WheelAsked { place: Some(Place::Chip), wheel: 3, names: names("x.a b e") };
        assert_eq!(read("chip:RR=x.a,b, e"), Ok(chip));
        for wrong in ["FL", "FL=a", "FL=a,b,c,d", "FX=a,b", "moon:FL=a,b", "FL=a,,b"] {
            assert!(read(wrong).is_err_and(|why| why.contains("such as FL=")), "{wrong}");
        }
    }
}
