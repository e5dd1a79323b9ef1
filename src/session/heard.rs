//! What was heard, owned: the message that goes from a reader to the recorder and to the engine.

use std::sync::Arc;

use wheeltap_parsers::Wire;

use super::line::Line;
use super::wall;

/// One thing heard. Times are microseconds since the session began.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// One read.
    Read {
        /// The wire.
        wire: Wire,
        /// When the read returned.
        t_us: i64,
        /// How long before that nothing was waiting.
        since_us: i64,
        /// Bytes of this wire before it.
        offset: u64,
        /// The bytes, shared between both consumers.
        bytes: Arc<[u8]>,
    },
    /// Nothing more was waiting on any tapped wire.
    Tick {
        /// When.
        t_us: i64,
    },
    /// A person's remark.
    Note {
        /// When.
        t_us: i64,
        /// What it says.
        text: Arc<str>,
    },
    /// The port went away.
    Gone {
        /// When that was noticed.
        t_us: i64,
        /// The wire.
        wire: Wire,
        /// What the system said.
        reason: Arc<str>,
    },
    /// The port is back.
    Back {
        /// When it could be read again.
        t_us: i64,
        /// The wire.
        wire: Wire,
    },
    /// Bytes that could not be handed over.
    Lost {
        /// When the first of them may have come.
        t_us: i64,
        /// The wire.
        wire: Wire,
        /// How many.
        count: u64,
    },
    /// Where the wall clock stood.
    Wall {
        /// When.
        t_us: i64,
        /// Microseconds since 1970-01-01T00:00:00Z.
        unix_us: i64,
        /// Minutes to add to UTC.
        offset_min: i32,
    },
    /// A rover file that was made from what was heard, and is in force from now on.
    Taught {
        /// When.
        t_us: i64,
        /// Its name.
        name: Arc<str>,
        /// What stands in it.
        text: Arc<str>,
    },
}

impl Heard {
    /// Its time, microseconds.
    pub fn t_us(&self) -> i64 {
        match self {
            Self::Read { t_us, .. }
            | Self::Tick { t_us }
            | Self::Note { t_us, .. }
            | Self::Gone { t_us, .. }
            | Self::Back { t_us, .. }
            | Self::Lost { t_us, .. }
            | Self::Wall { t_us, .. }
            | Self::Taught { t_us, .. } => *t_us,
        }
    }

    /// Wire and number of the received bytes it stands for; `None` when it stands for none.
    pub fn received(&self) -> Option<(Wire, u64)> {
        match self {
            Self::Read { wire, bytes, .. } => Some((*wire, bytes.len() as u64)),
            Self::Lost { wire, count, .. } => Some((*wire, *count)),
            _ => None,
        }
    }

    /// The session line that keeps it; of a rover file the first one, before the lines of its text.
    pub fn line(&self) -> Line<'_> {
        match self {
            Self::Read { wire, t_us, since_us, offset, bytes } => {
                let bytes = (&**bytes).into();
                Line::Read { wire: *wire, t_us: *t_us, since_us: *since_us, offset: *offset, bytes }
            }
            Self::Tick { t_us } => Line::Tick { t_us: *t_us },
            Self::Note { t_us, text } => Line::Note { t_us: *t_us, text: (&**text).into() },
            Self::Gone { t_us, wire, reason } => Line::Gone { t_us: *t_us, wire: *wire, reason: (&**reason).into() },
            Self::Back { t_us, wire } => Line::Back { t_us: *t_us, wire: *wire },
            Self::Lost { t_us, wire, count } => Line::Lost { t_us: *t_us, wire: *wire, count: *count },
            Self::Wall { t_us, unix_us, offset_min } => {
                Line::Wall { t_us: *t_us, wall: wall::write(*unix_us, *offset_min).into() }
            }
            Self::Taught { name, .. } => Line::Taught { name: (&**name).into() },
        }
    }
}
