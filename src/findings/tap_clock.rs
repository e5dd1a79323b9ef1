//! The tap's own time: bytes dated nearer to each other than the wire can carry them, and times at which it slept.
//!
//! Neither is ever laid on the rover.

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers.
#[derive(Clone, Debug, Default)]
pub struct TapClock {
    close: Ledger,
    asleep: Ledger,
}

const CLOSE: Words = Words {
    id: "tap-clock",
    severity: Severity::Doubt,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "Not the rover: no sender can put bytes on a wire faster than its line rate. Times at those places are not judged.",
    what_to_do: "See that the line rate stated for the tap is the wire's (`--rate auto` finds it), and that nothing but the reader stamps the bytes.",
    check_after: "Listen for a minute: none.",
};

const ASLEEP: Words = Words {
    id: "tap-asleep",
    severity: Severity::Note,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "Not the rover: while the tap slept, orders may have come as they should. No lateness is claimed across it.",
    what_to_do: "Close what keeps this computer busy, keep it awake, and listen with nothing else on the port.",
    check_after: "Listen for ten minutes: none.",
};

impl Rule for TapClock {
    fn id(&self) -> &'static str {
        "tap-clock"
    }

    fn looks_for(&self) -> &'static str {
        "times at which the tap's own clock or computer was not fit to judge"
    }

    fn needs(&self) -> &'static [Need] {
        &[]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Tap]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        match event.what {
            Happening::TooClose { by } => self.close.add(event, by),
            Happening::Asleep { lasted } => self.asleep.add(event, lasted),
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let close = format!(
            "Bytes are dated nearer to each other than the wire can carry them, {}, at worst by {} us",
            times_words(self.close.count()),
            self.close.worst() / 1000
        );
        let asleep = format!(
            "The tap was asleep {}, at the longest for {}",
            times_words(self.asleep.count()),
            time_words(self.asleep.worst())
        );
        self.close.finding(&CLOSE, close).into_iter().chain(self.asleep.finding(&ASLEEP, asleep)).collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
