//! A line that was cut short before its end mark: a reader of lines takes what follows for its end.

use wheeltap_parsers::{Cause, Framing, Nanos, Wire};

use crate::rover::file::RoverFile;

/// After so long a reader gives up a line that nothing ends. Common practice, no source: the usual reader's own time-out.
const GIVEN_UP: Nanos = 1_000_000_000;

/// Where such a line stopped, and when.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenLine {
    end: u64,
    at: Nanos,
}

impl OpenLine {
    /// The line that this damage, which ends at the place `end`, leaves open; `None` where it left none.
    pub(super) fn of(rover: &RoverFile, wire: Wire, (cause, raw): (Cause, &[u8]), end: u64, at: Nanos) -> Option<Self> {
        let Framing::Lines { end: mark, .. } = &rover.profile(wire)?.framing else { return None };
        (cause == Cause::Truncated && !raw.ends_with(mark)).then_some(Self { end, at })
    }

    /// Whether a frame that begins at this place, and was complete at this time at the earliest, goes on with it.
    pub(super) const fn goes_on(self, begins: u64, at: Nanos) -> bool {
        self.end == begins && at - self.at < GIVEN_UP
    }
}
