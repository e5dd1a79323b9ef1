//! Damaged lines of a session, named to the person whenever a verb has read one.

use crate::run::tell;
use crate::session::{SessionSource, TornLine};
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

/// Tells them, once the file has been read.
pub fn named(file: &str, source: &Opened) {
    for line in source.session().iter().flat_map(|session| words(session)) {
        tell(format!("{file}: {line}"));
    }
}
