//! The Moonwagon: a simulated rover for demonstration and training, never the only witness of a claim.
//!
//! Deterministic: the same [`Settings`] give the same bursts, to the byte and the nanosecond. All of it is integer
//! arithmetic. It writes and reads its frames with code of its own and takes from the parsers crate only the names of
//! the two wires and the unit of time, so that it can stand as a witness beside them.

use wheeltap_parsers::{Nanos, Wire};

mod assembly;
mod chance;
mod chassis;
mod command_board;
mod drive_board;
mod fault;
mod frames;
mod mixer;
mod moonwagon;
mod motors;
mod pack;
mod panel;
mod radio;
mod script;
mod timetable;
mod wire;

pub use assembly::Work;
pub use chassis::Going;
pub use fault::Fault;
pub use moonwagon::{Moonwagon, Seen, Truth};
pub use motors::Look;
pub use script::{Script, Step, Way};

/// One millisecond in nanoseconds.
const MS: Nanos = 1_000_000;

/// Line rate of every build, baud; 8N1, so ten bits a byte.
pub const RATE: u32 = 115_200;

/// What to simulate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The link style of this build.
    pub style: Style,
    /// Where all chance comes from.
    pub seed: u64,
    /// What is wrong with the wagon; empty for a healthy one.
    pub faults: Vec<Fault>,
    /// What the operator does.
    pub script: Script,
}

impl Settings {
    /// A healthy wagon of this style, driven by the demonstration script.
    pub fn demo(style: Style, seed: u64) -> Self {
        Self { style, seed, faults: Vec::new(), script: Script::demo() }
    }

    /// Whether this fault is asked for.
    pub(crate) fn has(&self, fault: Fault) -> bool {
        self.faults.contains(&fault)
    }
}

/// The five link styles of the wagon's builds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Style {
    /// A word and a value, sent only when something changes.
    PlainLine,
    /// Checked text with sequence, panel counter, deadline, and answers.
    CueLine,
    /// Eleven bytes, marker bytes reserved.
    Stave,
    /// COBS and a CRC-16.
    Bead,
    /// Sync, length, each wheel's duty.
    Ladder,
}

impl Style {
    /// All five, poorest first.
    pub const ALL: [Self; 5] = [Self::PlainLine, Self::CueLine, Self::Stave, Self::Bead, Self::Ladder];

    /// Its name, as written on a command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::PlainLine => "plain-line",
            Self::CueLine => "cue-line",
            Self::Stave => "stave",
            Self::Bead => "bead",
            Self::Ladder => "ladder",
        }
    }

    /// The style of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|style| style.name() == name)
    }

    /// Whether the drive board of this build talks back.
    pub const fn answers(self) -> bool {
        matches!(self, Self::CueLine | Self::Stave)
    }
}

/// Bytes that follow each other on one wire without pause.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Burst {
    /// The wire.
    pub wire: Wire,
    /// When its first start bit begins, nanoseconds since power-up of the simulation.
    pub begins: Nanos,
    /// When its last byte is complete.
    pub ends: Nanos,
    /// The bytes.
    pub bytes: Vec<u8>,
}

impl Burst {
    /// When byte `index` is complete on the wire, nanoseconds.
    pub fn complete_at(&self, index: usize) -> Nanos {
        self.begins + wire::duration(index + 1)
    }
}
