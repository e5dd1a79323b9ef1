//! Which signals of a value-change dump are used: those named on the command line, else those the rover file names.

use std::sync::Arc;

use crate::rover::file::RoverFile;
use crate::run::{Failure, rover_choice, tell};
use crate::source::open::{Opened, recognise_with};
pub use crate::source::pins::{Asked, WheelAsked};
use crate::source::pins::{RoverPins, WheelPins};

/// Opens what a person names, with the rover file that is meant. In a dump the signals are chosen, and said.
pub fn open(file: &str, asked: &Asked, rover: Option<&str>) -> Result<(Opened, Option<Arc<RoverFile>>), Failure> {
    let (source, rover) = open_any(file, asked, rover)?;
    if source.pins().is_none() && asks(asked) {
        return Err(not_for(file));
    }
    Ok((source, rover))
}

/// Whether signals are named.
pub const fn asks(asked: &Asked) -> bool {
    !(asked.wires.is_empty() && asked.pins.is_empty())
}

/// Signals are named, and this is no dump.
pub fn not_for(file: &str) -> Failure {
    Failure::usage(format!(
        "{file}: --wire and --pins choose signals of a value-change dump, and this is none. Leave them out."
    ))
}

/// The same; signals that are named are passed over where it is no dump.
pub fn open_any(file: &str, asked: &Asked, rover: Option<&str>) -> Result<(Opened, Option<Arc<RoverFile>>), Failure> {
    let mut source = recognise_with(file, asked)?;
    let rover = rover_choice::choose(rover, source.session())?;
    if let Some(words) = choose(&mut source, asked, rover.as_deref())? {
        tell(words.join("\n"));
    }
    Ok((source, rover))
}

/// The same file once more, nothing said.
pub fn again(file: &str, asked: &Asked, rover: Option<&RoverFile>) -> Result<Opened, Failure> {
    let mut source = recognise_with(file, asked)?;
    choose(&mut source, asked, rover)?;
    Ok(source)
}

/// Chooses the signals of a dump; what was chosen, in words.
fn choose(source: &mut Opened, asked: &Asked, rover: Option<&RoverFile>) -> Result<Option<Vec<String>>, Failure> {
    let Some(pins) = source.pins_mut() else { return Ok(None) };
    pins.set_rover(rover.map_or_else(|| asked.rover.clone(), rover_pins));
    pins.check()?;
    Ok(Some(pins.words()))
}

/// What a rover file says of rate and pins.
pub fn rover_pins(rover: &RoverFile) -> RoverPins {
    let wheels = rover.machine.wheels.clone().map(|wiring| {
        wiring.map_or_else(WheelPins::default, |wiring| WheelPins {
            inputs: wiring.inputs,
            enable: wiring.enable,
            pins: wiring.pins,
            inverted: wiring.inverted,
        })
    });
    RoverPins { rate: Some(rover.rate), wheels }
}
