//! Which rover file is used: the one named, or the one in the session.

use std::path::Path;
use std::sync::Arc;

use crate::rover::built_in;
use crate::rover::file::{Fault, RoverFile};
use crate::run::Failure;
use crate::session::SessionSource;

/// What stands behind the name of a rover file that was read out of a session.
pub(super) const INSIDE: &str = " (inside the session)";

/// Loads a rover file by path, or one that ships by its name.
pub fn named(name: &str) -> Result<Arc<RoverFile>, Failure> {
    if let Some(file) = built_in::find(name) {
        return load(file.name, file.text);
    }
    let path = Path::new(name);
    let bytes = std::fs::read(path).map_err(|error| {
        let known = built_in::names();
        Failure::usage(format!("{name}: this rover file cannot be read ({error}). Names that ship: {known}."))
    })?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        Failure::usage(format!("{name}: byte {place} is not UTF-8. Save the rover file as UTF-8 text."))
    })?;
    load(name, &text)
}

/// The one named, else the one in the session; `None` when there is neither. One that is damaged in the session is not
/// used: what is left of it may read well and mean something else.
pub fn choose(named_one: Option<&str>, session: Option<&SessionSource>) -> Result<Option<Arc<RoverFile>>, Failure> {
    if let Some(name) = named_one {
        return named(name).map(Some);
    }
    let Some((session, (name, text))) = session.and_then(|session| Some((session, session.rover()?))) else {
        return Ok(None);
    };
    if let Some(hurt) = session.rover_hurt() {
        return Err(Failure::usage(format!(
            "{name}{INSIDE} is damaged at {hurt}. With what is left of it every number could be wrong, so it \
             is not used. Name the rover file itself with --rover."
        )));
    }
    inside(name, text).map(Some)
}

/// The copy inside a session: a session that was cut short may hold half of it.
fn inside(name: &str, text: &str) -> Result<Arc<RoverFile>, Failure> {
    load(&format!("{name}{INSIDE}"), text).map_err(|failure| Failure {
        message: format!("{}\nIf the session was cut short, name the rover file itself with --rover.", failure.message),
        ..failure
    })
}

fn load(name: &str, text: &str) -> Result<Arc<RoverFile>, Failure> {
    RoverFile::load(name, text).map(Arc::new).map_err(|faults| Failure::usage(all(name, &faults)))
}

fn all(name: &str, faults: &[Fault]) -> String {
    let count = match faults.len() {
        1 => "one fault".to_owned(),
        many => format!("{many} faults"),
    };
    let list: Vec<String> = faults.iter().map(|fault| format!("  {name}, {fault}")).collect();
    format!("{name} has {count}:\n{}", list.join("\n"))
}
