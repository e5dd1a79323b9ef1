//! A session's wheel sheet, and the driver's mean turn correction in it, taken into a diagnosis.

use std::io::Read;
use std::path::Path;

use crate::diagnosis::Diagnosis;
use crate::diagnosis::body::Turn;
use crate::diagnosis::observation::Observation;
use crate::diagnosis::sheet::{self, Sheet};
use crate::diagnosis::test::Available;
use crate::engine::Engine;
use crate::engine::snapshot::wheel_check::MeanTurn;
use crate::run::{Failure, damaged_lines, rover_choice};
use crate::session::SessionSource;
use crate::source::Source;

/// What a session tells.
pub struct Recorded {
    /// The diagnosis of its last sheet, or of the turn correction alone.
    pub diagnosis: Diagnosis,
    /// What its link and the person have on hand.
    pub available: Available,
    /// The last sheet; `None` where nobody made one.
    pub sheet: Option<Sheet>,
    /// Mean turn corrections, by move.
    pub corrections: Vec<MeanTurn>,
    /// The correction was taken into the diagnosis: there was no sheet.
    pub correction_taken: bool,
    /// Notes that could not be read or taken, in words.
    pub not_taken: Vec<String>,
}

/// Whether this file is a session, by its first word.
pub fn is_session(file: &str) -> bool {
    let mut begin = [0; 8];
    std::fs::File::open(Path::new(file)).and_then(|mut file| file.read_exact(&mut begin)).is_ok()
        && begin == *b"session "
}

/// Reads the session through. `rover` names another rover file than the one inside.
pub fn read(file: &str, rover: Option<&str>, one_wheel: bool) -> Result<Recorded, Failure> {
    let mut session = SessionSource::open(Path::new(file))?;
    let rover = rover_choice::choose(rover, Some(&session))?;
    let mut engine = Engine::new(session.link().clone(), rover);
    while let Some(input) = session.next()? {
        engine.push(input);
    }
    engine.finish();
    let check = engine.check();
    let available = Available { one_wheel: one_wheel || check.available().one_wheel, ..check.available() };
    let corrections = engine.turn_corrections();
    let mut not_taken = check.not_read().to_vec();
    let torn = damaged_lines::words(&session);
    if !torn.is_empty() {
        not_taken.push("damaged lines stand in the session; an answer may be among them".to_owned());
        not_taken.extend(torn);
    }
    let sheet = check.book().last().cloned();
    let (mut diagnosis, available, refused) =
        sheet::diagnose(check.start(), available, sheet.as_ref().unwrap_or(&Sheet::default()));
    not_taken.extend(refused);
    let seen = observation(&corrections).filter(|_| sheet.is_none());
    let correction_taken = seen.is_some_and(|seen| diagnosis.observe(seen).is_ok());
    Ok(Recorded { diagnosis, available, sheet, corrections, correction_taken, not_taken })
}

/// The correction as an observation, where the sign of forward or of left is sure.
fn observation(corrections: &[MeanTurn]) -> Option<Observation> {
    let sign = |name: &str| corrections.iter().find(|one| one.name == name)?.sign.map(Turn::from_sign);
    let (forward, left) = (sign("forward"), sign("left"));
    (forward.is_some() || left.is_some()).then_some(Observation::Correction(forward, left))
}
