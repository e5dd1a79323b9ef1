//! What frames look like on one wire: the rover file's format part, made ready for decoding.
//!
//! A profile is plain data. Whoever builds it (the rover file's loader) has checked it; the decoder only relies on
//! what [`Profile::faults`] checks.

use crate::check::Check;
use crate::chunk::Nanos;
use crate::fields::Field;

/// Everything the decoder of one wire needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// How frames are told apart in the stream.
    pub framing: Framing,
    /// The frames that may stand on this wire, tried in this order.
    pub kinds: Vec<Kind>,
    /// The longest frame in bytes on the wire, marks included; nothing waits for more.
    pub longest: usize,
    /// Start-up text of this rover's own boards.
    pub start_up: Vec<StartUpText>,
    /// A silence certainly longer than this ends whatever was begun, nanoseconds.
    pub idle: Nanos,
}

/// How frames are told apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Framing {
    /// Text lines: an end mark of one or more bytes and, where it is not empty, a start mark.
    Lines {
        /// Bytes every frame begins with; may be empty. They are not part of [`Kind::parts`].
        start: Vec<u8>,
        /// Bytes every frame ends with, such as LF. Not part of [`Kind::parts`].
        end: Vec<u8>,
    },
    /// Bytes from `first` up can only be markers, never data. A kind's first part is its start marker and its last
    /// part the end marker, both literal.
    Markers {
        /// The smallest marker byte.
        first: u8,
    },
    /// Consistent overhead byte stuffing (Cheshire and Baker, IEEE/ACM Transactions on Networking 7(2), 1999); a zero
    /// byte ends a frame. A kind's parts describe the body before encoding.
    Cobs,
    /// RFC 1055: C0 ends a frame and may begin it, DB escapes. A kind's parts describe the body before encoding.
    Slip,
    /// RFC 1662: 7E begins and ends a frame, 7D escapes. A kind's parts describe the body before encoding.
    Stuffed,
    /// All frames have one length. A kind's parts describe everything after the sync bytes.
    Fixed {
        /// The fixed beginning; may be empty.
        sync: Vec<u8>,
        /// Bytes of a whole frame, the sync bytes included.
        len: usize,
    },
    /// A fixed beginning, then a length byte, then that many bytes of payload, then the check.
    /// A kind's parts describe everything after the sync bytes, the length byte included (as a literal).
    SyncLength {
        /// The fixed beginning.
        sync: Vec<u8>,
        /// Bytes on the wire beyond what the length byte counts, counted from the first sync byte
        /// (sync + length byte + check).
        beyond: usize,
    },
}

/// One kind of frame: a name and its parts in wire order.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Name in the rover file.
    pub name: String,
    /// Parts from first byte to last. All fields of a kind stand in parts, except those made from bits of another.
    pub parts: Vec<Part>,
    /// The fields, in the order of a record's values.
    pub fields: Vec<Field>,
    /// How this kind is checked.
    pub check: Check,
}

/// One part of a frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// These very bytes.
    Literal(Vec<u8>),
    /// A field: index into [`Kind::fields`].
    Field(usize),
    /// The check, as [`Check::written`] says.
    Check,
    /// Keyed values, in whatever order they come.
    Keyed(Keyed),
}

/// Values with a key before each, such as `x=10 y=-5`: every one of them once, in any order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keyed {
    /// Each key with its field, an index into [`Kind::fields`], in the order they are written.
    pub items: Vec<(Vec<u8>, usize)>,
    /// What stands between two of them; never empty.
    pub between: Vec<u8>,
}

/// One pattern of text that a board of this rover prints when it starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartUpText {
    /// Bytes by which the text is recognised, anywhere in a line; the text begins here.
    pub has: Vec<u8>,
    /// Which board prints it, as written in the rover file.
    pub board: String,
    /// The reset reason stands between these two, after `has`; an empty second means up to the end of the line.
    pub reason_between: Option<(Vec<u8>, Vec<u8>)>,
    /// Reason as printed, and what it means.
    pub reasons: Vec<(String, crate::foreign::ResetCause)>,
}

impl Profile {
    /// What is wrong with this profile, in words; empty when the decoder can work with it.
    pub fn faults(&self) -> Vec<String> {
        crate::decoder::faults(self)
    }
}
