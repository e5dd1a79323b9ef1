//! The whole session at a glance: what happened in each slice of it, as far as it has been read.

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::Finding;

/// How many slices a session is cut into.
pub const SLICES: usize = 480;

/// A pause on the wire to the drive board from which on it counts as a silence.
pub const SILENCE: Nanos = 1_000_000_000;

/// The sort of place one can go to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Sort {
    /// A rule counted something.
    #[default]
    Finding,
    /// A damaged frame or noise.
    Damage,
    /// A person's remark.
    Note,
    /// A second or more with nothing on the wire to the drive board.
    Silence,
    /// A move began.
    Leg,
}

impl Sort {
    /// All, in the order in which one key goes through them.
    pub const ALL: [Self; 5] = [Self::Finding, Self::Damage, Self::Note, Self::Silence, Self::Leg];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Finding => "finding",
            Self::Damage => "damage",
            Self::Note => "note",
            Self::Silence => "silence",
            Self::Leg => "leg",
        }
    }

    /// The one after it.
    pub fn next(self) -> Self {
        let at = Self::ALL.iter().position(|sort| *sort == self).unwrap_or(0);
        Self::ALL.get(at + 1).copied().unwrap_or_default()
    }

    /// Place in arrays of all sorts.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// One slice of the session.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slice {
    /// Bytes of each wire, by [`Wire::index`].
    pub bytes: [u64; 2],
    /// How many places of each sort, by [`Sort::index`].
    pub places: [u32; 5],
}

/// The session at a glance.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Survey {
    /// Where the session begins, nanoseconds.
    pub begins: Nanos,
    /// Where it ends, nanoseconds.
    pub ends: Nanos,
    /// How far it has been read, nanoseconds.
    pub read_to: Nanos,
    /// [`SLICES`] slices of equal length.
    pub slices: Vec<Slice>,
    /// Findings so far, worst first.
    pub findings: Vec<Finding>,
    /// Remarks, oldest first.
    pub notes: Vec<(Nanos, String)>,
    /// All places of each sort, by [`Sort::index`].
    pub totals: [u64; 5],
    /// Bytes of both wires in each slice, of the whole session, before it has been read: a session's lines say how long
    /// they are. Empty where that is not known.
    pub heard: Vec<u64>,
    /// Lines of the session file that could not be taken, one sentence each.
    pub damaged_lines: Vec<String>,
    /// What another rover file changed, one sentence each; empty when there is nothing to compare with.
    pub changes: Vec<String>,
}

impl Survey {
    /// Nothing read yet.
    pub fn new(begins: Nanos, ends: Nanos) -> Self {
        Self { begins, ends, read_to: begins, slices: vec![Slice::default(); SLICES], ..Self::default() }
    }

    /// Whether all of it has been read.
    pub const fn is_whole(&self) -> bool {
        self.read_to >= self.ends
    }

    /// The slice that holds `at`.
    pub fn slice_of(&self, at: Nanos) -> usize {
        let length = i128::from(self.ends - self.begins).max(1);
        let share = i128::from(at - self.begins).max(0) * SLICES as i128 / length;
        usize::try_from(share).unwrap_or(0).min(SLICES - 1)
    }

    /// When the slice begins, nanoseconds: its first instant; [`SLICES`] gives the end.
    pub fn begin_of(&self, slice: usize) -> Nanos {
        let length = (i128::from(self.ends) - i128::from(self.begins)).max(0).unsigned_abs();
        let share = (length * slice as u128).div_ceil(SLICES as u128);
        self.begins.saturating_add(Nanos::try_from(share).unwrap_or(Nanos::MAX))
    }

    /// Several slices as one.
    pub fn sum(&self, slices: std::ops::Range<usize>) -> Slice {
        let mut sum = Slice::default();
        for slice in self.slices.get(slices).unwrap_or_default() {
            for wire in Wire::BOTH {
                sum.bytes[wire.index()] += slice.bytes[wire.index()];
            }
            for sort in Sort::ALL {
                sum.places[sort.index()] += slice.places[sort.index()];
            }
        }
        sum
    }

    /// Bytes of both wires in several slices: of all of it where that is known, else as far as it has been read.
    pub fn bytes(&self, slices: std::ops::Range<usize>) -> u64 {
        match self.heard.get(slices.clone()) {
            Some(heard) if !heard.is_empty() => heard.iter().sum(),
            _ => self.sum(slices).bytes.iter().sum(),
        }
    }

    /// Takes one event: counts its bytes.
    pub fn count_bytes(&mut self, event: &Event) {
        let at = self.slice_of(event.at);
        if let (Some(wire), Some(slice)) = (event.wire, self.slices.get_mut(at)) {
            slice.bytes[wire.index()] += event.len;
        }
    }

    /// Takes one place.
    pub fn count_place(&mut self, sort: Sort, at: Nanos) {
        self.totals[sort.index()] += 1;
        let slice = self.slice_of(at);
        if let Some(slice) = self.slices.get_mut(slice) {
            slice.places[sort.index()] += 1;
        }
    }
}

/// The sort that an event is a place of by itself; silences and findings are told by what stands around it.
pub const fn sort_of(event: &Event) -> Option<Sort> {
    match event.what {
        Happening::Damage { .. } | Happening::Noise { .. } => Some(Sort::Damage),
        Happening::Note(_) => Some(Sort::Note),
        Happening::Leg { begins: true } => Some(Sort::Leg),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slices_tile_the_session() {
        let survey = Survey::new(5, 5_000_000_123);
        assert_eq!((survey.begin_of(0), survey.begin_of(SLICES)), (5, 5_000_000_123));
        for slice in 0..SLICES {
            let (begin, end) = (survey.begin_of(slice), survey.begin_of(slice + 1));
            assert!(begin < end);
            assert_eq!((survey.slice_of(begin), survey.slice_of(end - 1)), (slice, slice));
        }
        assert_eq!((survey.slice_of(-9), survey.slice_of(i64::MAX)), (0, SLICES - 1));
        assert_eq!(Survey::new(0, 0).slice_of(0), 0, "a session of no length");
    }

    #[test]
    fn one_key_goes_through_all_sorts() {
        let mut sort = Sort::default();
        let all: Vec<Sort> = std::iter::repeat_with(|| {
            let now = sort;
            sort = sort.next();
            now
        })
        .take(6)
        .collect();
        assert_eq!(all.get(..5), Some(&Sort::ALL[..]));
        assert_eq!(all.last(), all.first());
    }
}
