//! What comes out: records that tile the wire, and the sink that takes them.

use crate::chunk::{Interval, Wire};
use crate::damage::Cause;
use crate::fields::Value;
use crate::foreign::TextClass;

/// One stretch of a wire and what it was. Records of a wire follow each other without hole or overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Record<'a> {
    /// The wire.
    pub wire: Wire,
    /// Place of its first byte on that wire.
    pub offset: u64,
    /// How many bytes.
    pub len: u64,
    /// When its last byte was complete.
    pub at: Interval,
    /// When its first byte was complete.
    pub begins: Interval,
    /// What it was.
    pub what: What<'a>,
}

/// The four classes of bytes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What<'a> {
    /// A frame that arrived intact: its check (where the link has one) was right and every field in range.
    Frame {
        /// Which of [`crate::Profile::kinds`].
        kind: usize,
        /// One value for each of that kind's fields, in the kind's order.
        values: &'a [Value<'a>],
        /// Foreign text stood right before it on the same line, with no end mark between.
        glued: bool,
        /// The whole frame as it stood on the wire, marks included.
        bytes: &'a [u8],
    },
    /// A frame that was begun and did not arrive intact.
    Damage {
        /// The one reason.
        cause: Cause,
        /// Which kind it began as, where that can be told.
        kind: Option<usize>,
        /// Its first bytes, at most [`EXCERPT`].
        excerpt: &'a [u8],
    },
    /// Readable text that is no frame.
    Text {
        /// What it tells.
        class: TextClass,
        /// Its first bytes, at most [`EXCERPT`]. Not made harmless yet: it may hold escape sequences.
        excerpt: &'a [u8],
    },
    /// Bytes that are neither.
    Noise {
        /// Its first bytes, at most [`EXCERPT`].
        excerpt: &'a [u8],
    },
}

/// The most bytes of damage, text or noise that a record carries.
pub const EXCERPT: usize = 256;

/// Takes records as they are found.
pub trait Sink {
    /// The next record of a wire.
    fn record(&mut self, record: &Record<'_>);
}

impl<F: FnMut(&Record<'_>)> Sink for F {
    fn record(&mut self, record: &Record<'_>) {
        self(record);
    }
}
