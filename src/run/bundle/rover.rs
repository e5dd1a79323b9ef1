//! The rover file that goes into a bundle: it has to say the same once the names in it are overwritten.

use std::sync::Arc;

use super::Options;
use crate::bundle::rover_text::veiled_rover_file;
use crate::rover::file::RoverFile;
use crate::run::{Failure, rover_choice};
use crate::source::open::Opened;

/// The rover file named, or that of the session. Refuses one that would say something else in a bundle.
pub(super) fn choose(options: &Options, source: &Opened) -> Result<Arc<RoverFile>, Failure> {
    let file = &options.file;
    let rover = rover_choice::choose(options.rover.as_deref(), source.session())?.ok_or_else(|| {
        let why = "without a rover file every line is free text and would be overwritten";
        Failure::usage(format!("{file}: {why}: name one with --rover FILE or NAME"))
    })?;
    let why = match RoverFile::load(&rover.file, &veiled_rover_file(&rover.text)) {
        Ok(veiled) if labels(&veiled) == labels(&rover) => return Ok(rover),
        Ok(_) => "two drivers or terminals would be called the same".to_owned(),
        Err(faults) => faults.first().map(ToString::to_string).unwrap_or_default(),
    };
    Err(Failure::usage(format!(
        "{}: once what looks like a password or the name of a network in it is overwritten it says something else: {why}. In \
         a copy of it give that another name, and name the copy with --rover.",
        rover.file
    )))
}

/// Which drivers, and which terminals of wheels, are called the same: for each the number of the first of its name.
fn labels(rover: &RoverFile) -> [Vec<Option<usize>>; 3] {
    let machine = &rover.machine;
    let wheels = || machine.wheels.iter().flatten();
    let first = |names: Vec<String>| names.iter().map(|name| names.iter().position(|other| other == name)).collect();
    let drivers: Vec<String> = machine.drivers.iter().map(|driver| driver.name.clone()).collect();
    [
        first(drivers),
        first(wheels().map(|wheel| wheel.driver.clone()).collect()),
        first(wheels().map(|wheel| format!("{}\n{}", wheel.driver, wheel.terminal)).collect()),
    ]
}
