//! Foreign text: what boards print that is no frame, recognised and tied to a cause.

/// Why a board started again, as its start-up text says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ResetCause {
    /// Power came on (or had collapsed fully).
    Power,
    /// Its reset pin was pulled.
    External,
    /// The supply sagged below the brown-out threshold.
    BrownOut,
    /// A watchdog ran out: the program hung.
    Watchdog,
    /// The program restarted itself, after a crash or on purpose.
    Software,
    /// It woke from sleep.
    Sleep,
    /// Stated, but not known to us.
    Unknown,
}

impl ResetCause {
    /// Stable id, as `decode --json` and the rover file write it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::External => "external",
            Self::BrownOut => "brown-out",
            Self::Watchdog => "watchdog",
            Self::Software => "software",
            Self::Sleep => "sleep",
            Self::Unknown => "unknown",
        }
    }

    /// The cause with this id.
    pub fn from_id(id: &str) -> Option<Self> {
        [Self::Power, Self::External, Self::BrownOut, Self::Watchdog, Self::Software, Self::Sleep, Self::Unknown]
            .into_iter()
            .find(|cause| cause.id() == id)
    }
}

/// What a piece of text tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TextClass {
    /// A board has just started: its first line. `start_up` indexes [`crate::Profile::start_up`] when it was one of
    /// this rover's own patterns; `None` for a chip's ROM text.
    Start {
        /// Which of the profile's patterns.
        start_up: Option<usize>,
        /// The reset cause, when this very line states it.
        cause: Option<ResetCause>,
    },
    /// A reset cause on a line of its own.
    Reset(ResetCause),
    /// The supply-dip message of a chip's firmware.
    BrownOut,
    /// A watchdog message.
    Watchdog,
    /// A crash: panic, failed assertion, abort, memory fault.
    Crash,
    /// Register dump or backtrace that follows a crash.
    Backtrace,
    /// The chip waits for new firmware.
    Download,
    /// The chip cannot read its flash.
    FlashError,
    /// Some other line of a start (load addresses, modes).
    StartDetail,
    /// A log line or any other readable text.
    Free,
}
