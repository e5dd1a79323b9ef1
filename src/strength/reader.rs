//! The drive board's reader, as the rover file models it, put before some frames.

use std::sync::Arc;

use wheeltap_parsers::{Cause, Chunk, Decoder, Interval, Nanos, Part, Profile, Record, What, Wire};

use crate::rover::file::RoverFile;
use crate::rover::state::{Fields, RoverState};
use crate::rover::wheels::Duties;

/// What the rover is meant to do after some frames, and for how long.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Duties of FL FR RL RR; `None` before any order.
    pub meant: Option<Duties>,
    /// How long the order in force may be obeyed.
    pub deadline: Option<Nanos>,
}

impl Standing {
    /// Whether a wheel is meant to turn.
    pub fn moving(self) -> bool {
        self.meant.is_some_and(|duties| duties != [0; 4])
    }
}

/// The reader.
pub struct Reader<'a> {
    rover: &'a RoverFile,
    profile: Arc<Profile>,
    blank: Decoder,
}

impl<'a> Reader<'a> {
    /// The reader of this rover's drive board; `None` when the file has no frames for its wire.
    pub fn new(rover: &'a RoverFile) -> Option<Self> {
        let profile = Arc::clone(rover.profile(Wire::ToDrive)?);
        let blank = Decoder::new(Wire::ToDrive, Arc::clone(&profile));
        Some(Self { rover, profile, blank })
    }

    /// Where the rover stands after these pieces, silence behind each.
    pub fn after(&self, pieces: &[&[u8]]) -> Standing {
        let mut state = RoverState::new(Arc::clone(&self.rover.meaning));
        for bytes in pieces {
            let mut decoder = self.blank.clone();
            let mut take = |record: &Record<'_>| self.take(&mut state, record);
            decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut take);
            decoder.cut(&mut take);
        }
        Standing { meant: state.meant(), deadline: state.order().and_then(|order| order.deadline) }
    }

    fn take(&self, state: &mut RoverState, record: &Record<'_>) {
        match record.what {
            What::Frame { kind, values, .. } => {
                let meaning = self.rover.meaning.kinds[Wire::ToDrive.index()].get(kind);
                let fields = self.profile.kinds.get(kind).map(|kind| kind.fields.as_slice());
                if let (Some(meaning), Some(fields)) = (meaning, fields) {
                    state.take(Wire::ToDrive, Fields { meaning, fields, values }, Interval::new(0, 0));
                }
            }
            What::Damage { cause: Cause::NotANumber | Cause::OutOfRange, kind: Some(kind), excerpt } => {
                self.take_broken(state, kind, excerpt);
            }
            What::Damage { .. } | What::Text { .. } | What::Noise { .. } => {}
        }
    }

    /// A lenient reader takes leading digits of a broken number, where nothing checks the frame.
    fn take_broken(&self, state: &mut RoverState, kind: usize, excerpt: &[u8]) {
        let Some(layout) = self.profile.kinds.get(kind).filter(|layout| layout.check.is_empty()) else { return };
        let means = self.rover.meaning.kinds[Wire::ToDrive.index()].get(kind).and_then(|kind| kind.fields.first());
        if let ([Part::Literal(head), Part::Field(0)], Some(means)) = (layout.parts.as_slice(), means)
            && let Some(rest) = excerpt.strip_prefix(head.as_slice())
        {
            state.take_broken_number(*means, rest);
        }
    }
}
