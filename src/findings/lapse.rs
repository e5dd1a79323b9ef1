//! A deadline ran out while a wheel was meant to turn: the rover stops by itself.

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct Lapse {
    certain: Ledger,
    possible: u64,
}

const WORDS: Words = Words {
    id: "lapse",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "If the panel's own counter jumped, the radio lost messages; if start-up text follows, the command board was reset; if damaged frames stand just before it, the wire lost the repeats; if none of these, the sender sends only when something changes.",
    what_to_do: "Let the command board repeat its last order at least three times within the deadline.",
    check_after: "Hold one move still for a minute: no lapse.",
};

impl Rule for Lapse {
    fn id(&self) -> &'static str {
        "lapse"
    }

    fn looks_for(&self) -> &'static str {
        "deadlines that run out while a wheel is meant to turn"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Deadline]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        match event.what {
            Happening::Lapse { certain: true } => self.certain.add(event, 0),
            Happening::Lapse { certain: false } => self.possible += 1,
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The deadline ran out {} while a wheel was meant to turn (go, stop, go); {} more may have",
            times_words(self.certain.count()),
            self.possible
        );
        self.certain.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
