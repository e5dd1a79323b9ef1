//! Events: what the engine says, in order of time. They own what they hold and stay small.

mod values;

use wheeltap_parsers::{Cause, Interval, LineClock, Nanos, Pins, TextClass, Wire};

use crate::rover::wheels::Duties;
use crate::timing::answers::Reply;

pub use values::{MOST, Values};

/// Something that happened, dated.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Its date: for bytes the latest instant of the last byte, for a verdict the crossing of its own threshold.
    pub at: Nanos,
    /// When the last byte was complete; `at` to `at` for what is no byte.
    pub span: Interval,
    /// When the first byte was complete; as `span` for what is no byte.
    pub begins: Interval,
    /// The wire, where one is meant.
    pub wire: Option<Wire>,
    /// Place of the first byte.
    pub offset: u64,
    /// How many bytes; 0 for what happens between bytes.
    pub len: u64,
    /// What.
    pub what: Happening,
}

impl Event {
    /// How long the answer took, where this is the later of an order and its answer.
    pub fn reply(&self) -> Option<Reply> {
        let Happening::Frame(frame) = &self.what else { return None };
        frame.reply
    }
}

/// What happened.
///
/// Frames are by far the most common: boxing them would cost an allocation for each.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// A frame arrived intact.
    Frame(Frame),
    /// A frame did not.
    Damage {
        /// Why.
        cause: Cause,
        /// Which kind it began as.
        kind: Option<usize>,
        /// Its first bytes.
        raw: Box<[u8]>,
        /// What a lenient reader made of it changed what is meant.
        obeyed: bool,
    },
    /// Foreign text.
    Text {
        /// What it tells.
        class: TextClass,
        /// Its first bytes.
        raw: Box<[u8]>,
    },
    /// Noise.
    Noise {
        /// Its first bytes.
        raw: Box<[u8]>,
    },
    /// The deadline of the order in force ran out with a wheel meant to turn.
    Lapse {
        /// False when an order may just have come in time.
        certain: bool,
    },
    /// Orders should repeat, a wheel is meant to turn, and nothing came for three periods.
    SilentWhileMoving {
        /// The last order.
        since: Nanos,
    },
    /// An order was not answered within two seconds.
    NoAnswer {
        /// The order.
        since: Nanos,
    },
    /// Frames waited and came one upon the other.
    Bunched {
        /// How many, as far as is certain.
        frames: u32,
        /// The silence before them was at least so long, nanoseconds.
        gap: Nanos,
    },
    /// A record certainly took longer than its bytes need.
    GapInside {
        /// At least by so much, nanoseconds.
        by: Nanos,
    },
    /// Two records are dated nearer to each other than the wire can carry them: the tap's clock, or a wrong line rate.
    TooClose {
        /// By so much, nanoseconds.
        by: Nanos,
    },
    /// The tap itself did not look at the wire.
    Asleep {
        /// For so long beyond what its adapter explains, nanoseconds.
        lasted: Nanos,
    },
    /// A leg began or ended; the ledger of legs has it.
    Leg {
        /// True at its beginning.
        begins: bool,
    },
    /// The port went away.
    PortGone {
        /// In a recording of levels: the level became unknown.
        dump: bool,
    },
    /// The port is back.
    PortBack {
        /// In a recording of levels: the level is known again.
        dump: bool,
    },
    /// Bytes of a wire are not there.
    Lost {
        /// How many.
        bytes: u64,
        /// They were kept, and the file has been damaged since; otherwise the recorder could not keep them.
        damaged: bool,
    },
    /// A person's remark.
    Note(Box<str>),
    /// What the pins told the wheels changed.
    Pins(Pins),
    /// The clock of a wire's sender, measured from its edges.
    Clock(LineClock),
}

impl Happening {
    /// Whether these bytes are a frame, or may have been one before they were hit: one that was hit can look like any
    /// text. What a board says as it starts was none.
    pub fn may_be_frame(&self) -> bool {
        match self {
            Self::Frame(_) | Self::Damage { .. } | Self::Noise { .. } => true,
            Self::Text { class, .. } => *class == TextClass::Free,
            _ => false,
        }
    }
}

/// A frame that arrived intact.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Which of the profile's kinds.
    pub kind: usize,
    /// Its values.
    pub values: Values,
    /// What is remarkable about it.
    pub flags: Flags,
    /// Its first bytes.
    pub raw: Raw,
    /// The wheels' duties as meant after it.
    pub meant: Option<Duties>,
    /// The duties that the drive board says with it that it set.
    pub confirmed: Option<Duties>,
    /// How long the answer took: on the answer, or on the order where its answer is dated before it.
    pub reply: Option<Reply>,
}

/// How many bytes of a good frame are kept for showing.
const KEPT: usize = 64;

/// The first bytes of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Raw {
    count: u8,
    bytes: [u8; KEPT],
}

impl Raw {
    /// Keeps the first bytes.
    pub fn new(bytes: &[u8]) -> Self {
        let mut kept = [0; KEPT];
        let count = bytes.len().min(KEPT);
        if let (Some(kept), Some(bytes)) = (kept.get_mut(..count), bytes.get(..count)) {
            kept.copy_from_slice(bytes);
        }
        Self { count: count as u8, bytes: kept }
    }

    /// The kept bytes.
    pub fn bytes(&self) -> &[u8] {
        self.bytes.get(..usize::from(self.count)).unwrap_or(&[])
    }
}

/// What is remarkable about a frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Flags(u16);

/// One flag.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Flag {
    /// It came certainly later than due.
    Late,
    /// It may have come later than due.
    PossiblyLate,
    /// Frames are missing before it.
    SequenceGap,
    /// Its sequence number is that of the frame before.
    SequenceRepeat,
    /// Its sequence number lies before that of the frame before.
    SequenceBack,
    /// Its sequence begins anew.
    SequenceRestart,
    /// The panel's own counter jumped: messages were lost before the command board.
    PanelGap,
    /// The panel's own counter went back.
    PanelBack,
    /// Foreign text stood right before it with no end mark between.
    Glued,
    /// The drive board refused the order.
    Refused,
    /// No wheel moves for it.
    Ignored,
    /// A move was ordered with no rest after the move before.
    NoRestBetween,
}

impl Flag {
    /// Every flag.
    pub const ALL: [Self; 12] = [
        Self::Late,
        Self::PossiblyLate,
        Self::SequenceGap,
        Self::SequenceRepeat,
        Self::SequenceBack,
        Self::SequenceRestart,
        Self::PanelGap,
        Self::PanelBack,
        Self::Glued,
        Self::Refused,
        Self::Ignored,
        Self::NoRestBetween,
    ];

    /// Stable id, as `decode --json` prints it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::PossiblyLate => "possibly-late",
            Self::SequenceGap => "sequence-gap",
            Self::SequenceRepeat => "sequence-repeat",
            Self::SequenceBack => "sequence-back",
            Self::SequenceRestart => "sequence-restart",
            Self::PanelGap => "panel-gap",
            Self::PanelBack => "panel-back",
            Self::Glued => "glued",
            Self::Refused => "refused",
            Self::Ignored => "ignored",
            Self::NoRestBetween => "no-rest-between",
        }
    }

    /// In words, for a person.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::PossiblyLate => "possibly late",
            Self::SequenceGap => "frames missing before it",
            Self::SequenceRepeat => "sequence repeated",
            Self::SequenceBack => "sequence went back",
            Self::SequenceRestart => "sequence began anew",
            Self::PanelGap => "panel messages missing",
            Self::PanelBack => "panel counter went back",
            Self::Glued => "glued to text",
            Self::Refused => "refused",
            Self::Ignored => "not for the wheels",
            Self::NoRestBetween => "no rest before it",
        }
    }
}

impl Flags {
    /// Sets a flag.
    pub fn set(&mut self, flag: Flag) {
        self.0 |= 1 << flag as u16;
    }

    /// Whether a flag is set.
    pub const fn has(self, flag: Flag) -> bool {
        self.0 & (1 << flag as u16) != 0
    }

    /// The set flags.
    pub fn iter(self) -> impl Iterator<Item = Flag> {
        Flag::ALL.into_iter().filter(move |flag| self.has(*flag))
    }
}
