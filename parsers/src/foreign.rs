//! Foreign text: what boards print that is no frame, recognised and tied to a cause.

use memchr::memmem;

use crate::profile::StartUpText;

mod chip;

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

/// The earliest place in `line` where text of a board begins, and what it tells. `own` are the rover's own patterns;
/// at one place they go before a chip's.
///
/// Colour escapes and the level, time and tag of a log line right before the pattern belong to the text.
pub fn find(line: &[u8], own: &[StartUpText]) -> Option<(usize, TextClass)> {
    crate::examined::looked_at(line.len() * (1 + own.len()));
    let mine = own.iter().enumerate().filter_map(|(index, text)| Some((index, text, memmem::find(line, &text.has)?)));
    let mine = mine.min_by_key(|(index, _, place)| (*place, *index));
    let chip = chip::find(line);
    match (mine, chip) {
        (Some((index, text, place)), other) if other.is_none_or(|(chip, _)| place <= chip) => {
            let cause = line.get(place + text.has.len()..).and_then(|rest| own_cause(rest, text));
            Some((place, TextClass::Start { start_up: Some(index), cause }))
        }
        (_, chip) => chip,
    }
}

/// The reset cause stated in `rest`, which begins right behind the pattern.
fn own_cause(rest: &[u8], text: &StartUpText) -> Option<ResetCause> {
    let (before, after) = text.reason_between.as_ref()?;
    let from = memmem::find(rest, before)? + before.len();
    let tail = rest.get(from..)?;
    let line_end = memchr::memchr2(b'\r', b'\n', tail).unwrap_or(tail.len());
    let end = if after.is_empty() { line_end } else { memmem::find(tail.get(..line_end)?, after)? };
    let stated = tail.get(..end)?;
    let known = text.reasons.iter().find(|(printed, _)| printed.as_bytes() == stated);
    Some(known.map_or(ResetCause::Unknown, |(_, cause)| *cause))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own() -> Vec<StartUpText> {
        let text = |has: &str, between: Option<(&str, &str)>| StartUpText {
            has: has.into(),
            board: "command board".into(),
            reason_between: between.map(|(before, after)| (before.into(), after.into())),
            reasons: vec![("sag".into(), ResetCause::BrownOut), ("key".into(), ResetCause::External)],
        };
        vec![text("GC2 rom", Some(("rst(", ")"))), text("up:", Some(("why=", ""))), text("TR4", None)]
    }

    fn told(line: &str) -> Option<(usize, TextClass)> {
        find(line.as_bytes(), &own())
    }

    #[test]
    fn the_rovers_own_text_states_its_cause() {
        let rows = [
            ("GC2 rom 1.4 rst(sag) x", 0, 0, Some(ResetCause::BrownOut)),
            ("f+00\0GC2 rom 1.4 rst(key)\r\n", 5, 0, Some(ResetCause::External)),
            ("GC2 rom 1.4 rst(moon)", 0, 0, Some(ResetCause::Unknown)),
            ("GC2 rom 1.4 rst(sa", 0, 0, None),
            ("GC2 rom 1.4", 0, 0, None),
            ("up: why=key\r\n", 0, 1, Some(ResetCause::External)),
            ("TR4 sag", 0, 2, None),
            ("TR4 then up: why=sag", 0, 2, None),
        ];
        for (line, place, which, cause) in rows {
            assert_eq!(told(line), Some((place, TextClass::Start { start_up: Some(which), cause })), "{line}");
        }
    }

    #[test]
    fn the_earlier_of_two_texts_counts() {
        let chip = TextClass::Start { start_up: None, cause: None };
        assert_eq!(told("ets Jul 29 2019 12:21:46 TR4"), Some((0, chip)));
        assert_eq!(told("x TR4 ets Jul 29 2019"), Some((2, TextClass::Start { start_up: Some(2), cause: None })));
        assert_eq!(told("way,port"), None);
    }

    #[test]
    fn every_cause_has_its_id() {
        for cause in ["power", "external", "brown-out", "watchdog", "software", "sleep", "unknown"] {
            assert_eq!(ResetCause::from_id(cause).map(ResetCause::id), Some(cause));
        }
        assert_eq!(ResetCause::from_id("moon"), None);
    }
}
