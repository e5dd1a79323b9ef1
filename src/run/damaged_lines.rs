//! What is damaged or missing in a file, named to the person once a verb has read it: lines of a session, the end of a
//! value-change dump.

use crate::run::{Failure, tell};
use crate::session::{SessionSource, TornLine};
use crate::source::PinsSource;
use crate::source::open::Opened;

/// Every damaged line that was met so far, one sentence each.
pub fn words(session: &SessionSource) -> Vec<String> {
    sentences(session.torn(), session.torn_not_listed())
}

/// One sentence for each of these lines; `more` of them are not listed.
pub fn sentences(torn: &[TornLine], more: u64) -> Vec<String> {
    let mut all: Vec<String> = torn.iter().map(ToString::to_string).collect();
    if more > 0 {
        all.push(format!("{more} more lines are damaged."));
    }
    all
}

/// Tells them, once the file has been read; of a dump, that it may have been cut.
pub fn named(file: &str, source: &Opened) {
    for line in source.session().iter().flat_map(|session| words(session)) {
        tell(format!("{file}: {line}"));
    }
    if let Some((may_be, false)) = source.pins().and_then(PinsSource::loss) {
        tell(may_be);
    }
}

/// Fails where a dump was cut for certain, or has no wire though it may hold one: once all that it does hold was shown.
pub fn whole_dump(source: &Opened) -> Result<(), Failure> {
    let Some(pins) = source.pins() else { return Ok(()) };
    let lost = pins.loss().filter(|(_, sure)| *sure).map(|(why, _)| why);
    lost.or_else(|| pins.lacks_wire()).map_or(Ok(()), |why| Err(Failure::usage(why)))
}
