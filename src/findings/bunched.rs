//! Orders that waited and then came one upon the other: the sender stalled.

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, least_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct BunchedOrders {
    ledger: Ledger,
    /// What its troubles were put down to.
    behind: Behind,
}

const WORDS: Words = Words {
    id: "bunched",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not the adapter: orders that one read brought together are not counted where they can have come at their rhythm. If the panel's own counter jumped, messages waited in the radio; if it went on by one, they waited in the command board.",
    what_to_do: "Let the command board drop what is older than its newest order instead of sending it all, and see what it does before such a stall (picture, network, prints).",
    check_after: "Ten minutes with none, with the picture open as well.",
};

impl Rule for BunchedOrders {
    fn id(&self) -> &'static str {
        "bunched"
    }

    fn looks_for(&self) -> &'static str {
        "orders that waited and came one upon the other"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Verdict]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if let Happening::Bunched { gap, .. } = event.what {
            self.ledger.add(event, gap);
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if matches!(explained.trouble, Trouble::Bunch | Trouble::Late) {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "Orders stopped and then came one upon the other {}, the longest silence at least {}",
            times_words(self.ledger.count()),
            least_words(self.ledger.worst())
        );
        let words = self.behind.into_words(&WORDS, &[Cause::HeldUp]);
        self.ledger.finding(&words, says + &self.behind.words(&[])).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
