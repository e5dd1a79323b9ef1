//! Bytes that are neither frame nor text.

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoiseRuns {
    ledger: Ledger,
    bytes: u64,
}

const WORDS: Words = Words {
    id: "noise",
    severity: Severity::Doubt,
    layer: Layer::Wire,
    confidence: Confidence::Certain,
    not: "One stray byte right before start-up text comes with each start of a board. A wrong line rate makes everything noise; a lost ground makes it differ each time.",
    what_to_do: "If nothing but noise arrives, try the line rate first, then the ground lead, then crossed or inverted leads. If it comes with the motors, look at leads and capacitors.",
    check_after: "A minute at rest and a minute at full duty with none.",
};

impl Rule for NoiseRuns {
    fn id(&self) -> &'static str {
        "noise"
    }

    fn looks_for(&self) -> &'static str {
        "bytes that are neither frame nor text"
    }

    fn needs(&self) -> &'static [Need] {
        &[]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if let Happening::Noise { .. } = event.what {
            self.ledger.add(event, event.len as i64);
            self.bytes += event.len;
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!("{} bytes were neither frame nor text, in {} runs", self.bytes, self.ledger.count());
        let once = format!("{} bytes were neither frame nor text, {}", self.bytes, times_words(1));
        self.ledger.finding(&WORDS, if self.ledger.count() == 1 { once } else { says }).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
