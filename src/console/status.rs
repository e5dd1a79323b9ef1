//! What the loop tells the console about itself: where the bytes come from, the recorder, the replay.

use std::sync::Arc;

use wheeltap_parsers::Nanos;

use crate::engine::snapshot::survey::{Sort, Survey};

/// The loop's own state.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Status {
    /// Where the bytes come from.
    pub mode: Mode,
    /// The recorder; `None` when nothing is recorded.
    pub recorder: Option<Recorder>,
    /// The replay; `None` when live.
    pub replay: Option<Replay>,
    /// The lesson at the teach page; `None` where none can be had.
    pub lesson: Option<Lesson>,
    /// One short message for the person, such as what went wrong with a port and what to do.
    pub message: Option<String>,
    /// Wall clock of session time 0 in words, when known.
    pub begun: Option<String>,
}

/// Where the bytes come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mode {
    /// The built-in simulated rover.
    #[default]
    Demo,
    /// A real port.
    Listen,
    /// A session, plain log or raw bytes.
    Replay,
}

/// A lesson at the teach page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lesson {
    /// What was said so far, newest last.
    pub lines: Vec<String>,
    /// Whether it is over.
    pub over: bool,
}

/// The recorder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorder {
    /// The session file.
    pub path: String,
    /// Bytes of the wires written so far.
    pub bytes: u64,
    /// Bytes that could not be kept.
    pub lost: u64,
    /// What is wrong with it, and what to do; `None` when all is well.
    pub trouble: Option<String>,
}

/// The replay.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Replay {
    /// Where it stands, nanoseconds.
    pub position: Nanos,
    /// Where the session ends, nanoseconds.
    pub length: Nanos,
    /// Speed in hundredths: 100 is as it was; `None` is as fast as possible.
    pub speed: Option<u32>,
    /// False while paused.
    pub playing: bool,
    /// How far the reading of findings has come, nanoseconds.
    pub read_to: Nanos,
    /// The sort of place that the keys go to.
    pub sort: Sort,
    /// The two notes between which it goes round, nanoseconds.
    pub round: Option<(Nanos, Nanos)>,
    /// What is in view was read from this instant on only; the rest is still being read.
    pub cold_from: Option<Nanos>,
    /// The whole session at a glance.
    pub survey: Arc<Survey>,
}
