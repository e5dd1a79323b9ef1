//! What the time of a record alone tells: of the tap, of its adapter, of a gap inside it.

use wheeltap_parsers::Nanos;

use super::event::Happening;

/// What the time of a record alone tells, nanoseconds each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByTime {
    /// The tap slept so long before it.
    pub asleep: Option<Nanos>,
    /// It stands too close to the record before it by so much.
    pub close: Option<Nanos>,
    /// There is a gap inside it of at least so much.
    pub gap_inside: Option<Nanos>,
}

impl ByTime {
    /// As they are told.
    pub fn happenings(self) -> impl Iterator<Item = Happening> {
        let asleep = self.asleep.map(|lasted| Happening::Asleep { lasted });
        let close = self.close.map(|by| Happening::TooClose { by });
        let gap_inside = self.gap_inside.map(|by| Happening::GapInside { by });
        [asleep, close, gap_inside].into_iter().flatten()
    }
}
