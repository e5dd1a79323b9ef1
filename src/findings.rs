//! Findings: what is wrong, how sure, what it is not, what to do, and how to check the fix.
//!
//! One file for each rule. A rule watches events and the rover's state, and keeps a small ledger that clones with the
//! engine. Each says what it needs of the link; where the link lacks it the rule is *not judged*, and says which field
//! would allow it.

use wheeltap_parsers::{Nanos, Wire};

use crate::rover::wheels::Wheel;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Someone or something can be hurt.
    Danger,
    /// Something is broken or set wrongly.
    Fault,
    /// It may be; look.
    Doubt,
    /// Good to know.
    Note,
}

impl Severity {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Fault => "fault",
            Self::Doubt => "doubt",
            Self::Note => "note",
        }
    }
}

/// Where the cause sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The control panel or the radio.
    Panel,
    /// The command board.
    CommandBoard,
    /// The wire.
    Wire,
    /// The drive board's reader.
    Reader,
    /// The power.
    Power,
    /// A motor driver.
    Driver,
    /// A wheel or its rollers.
    Wheel,
    /// The tap itself.
    Tap,
}

impl Layer {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Panel => "panel or radio",
            Self::CommandBoard => "command board",
            Self::Wire => "wire",
            Self::Reader => "drive board's reader",
            Self::Power => "power",
            Self::Driver => "driver",
            Self::Wheel => "wheel or rollers",
            Self::Tap => "tap",
        }
    }
}

/// What a rule needs of the link before it may judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Need {
    /// Frames carry a check.
    Check,
    /// Frames carry a sequence number.
    Sequence,
    /// Frames carry a second counter from the control panel.
    SecondCounter,
    /// The drive board answers, on a tapped wire.
    Answers,
    /// Answers carry the pack's volts.
    Volts,
    /// A board's start-up text reaches a tapped wire.
    StartUpText,
    /// Orders repeat at a known cadence.
    Cadence,
    /// Orders carry, or the drive board's reader keeps, a deadline.
    Deadline,
    /// The rover file says what orders mean.
    Meaning,
}

impl Need {
    /// What would allow the judgement, in words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Check => "a check at the end of each frame",
            Self::Sequence => "a sequence number in each frame",
            Self::SecondCounter => "a counter of the control panel's own messages",
            Self::Answers => "answers from the drive board, and a second tap on that wire",
            Self::Volts => "the pack's volts in each answer",
            Self::StartUpText => "the boards' start-up text on a tapped wire",
            Self::Cadence => "orders repeated at a steady rate",
            Self::Deadline => "a deadline in each order or in the drive board",
            Self::Meaning => "a rover file that says what the orders mean",
        }
    }
}

/// How sure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Confidence {
    /// The bytes and their times allow nothing else.
    Certain,
    /// They allow it.
    Possible,
}

impl Confidence {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Certain => "certain",
            Self::Possible => "possible",
        }
    }
}

/// A place in the session that supports a finding. Never a frame number, so that a corrected rover file can re-read it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Evidence {
    /// When, nanoseconds.
    pub at: Nanos,
    /// Which wire.
    pub wire: Wire,
    /// Place of its first byte on that wire.
    pub offset: u64,
    /// How many bytes; 0 for a moment between bytes.
    pub len: u64,
}

/// What is wrong, as told to a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable id, such as `bad-check`.
    pub id: &'static str,
    /// How bad.
    pub severity: Severity,
    /// Where the cause sits.
    pub layer: Layer,
    /// How sure.
    pub confidence: Confidence,
    /// The wheel, where one is meant.
    pub wheel: Option<Wheel>,
    /// How often.
    pub count: u64,
    /// First time, nanoseconds.
    pub first: Nanos,
    /// Last time, nanoseconds.
    pub last: Nanos,
    /// What was found, in one sentence with its numbers.
    pub says: String,
    /// What it could be mistaken for, and what would tell them apart.
    pub not: String,
    /// What to do.
    pub what_to_do: String,
    /// How to check the fix.
    pub check_after: String,
    /// First 8, last 8 and worst 8 places.
    pub evidence: Vec<Evidence>,
}

/// A rule that cannot judge on this link.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotJudged {
    /// The rule's id.
    pub id: &'static str,
    /// What the rule looks for, in words.
    pub looks_for: &'static str,
    /// What the link lacks.
    pub lacks: Vec<Need>,
}
