//! The drive board refuses an order that stood intact on the wire: its reader is at fault, or the order is.

use std::collections::BTreeMap;

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct RefusedIntact {
    ledger: Ledger,
    /// How often each error code came with a refusal of this sort.
    errors: BTreeMap<i64, u64>,
    /// Codes of refusals whose cause is not decided yet, by their time.
    waiting: BTreeMap<Nanos, i64>,
}

const WORDS: Words = Words {
    id: "refused-intact",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "An order that was hit on the wire, or glued to start-up text, is refused rightly and is not counted here. A tap on the sender's side cannot see what the lead behind it does.",
    what_to_do: "Look at the drive board's reader: does it wait for the end of the frame, does it start anew after a fault, does it take the values that are sent? Then at the lead between tap and drive board.",
    check_after: "A thousand orders, each obeyed.",
};

impl Rule for RefusedIntact {
    fn id(&self) -> &'static str {
        "refused-intact"
    }

    fn looks_for(&self) -> &'static str {
        "orders that stood intact on the wire and were refused"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Answers, Need::Refusals]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Frame]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if let Happening::Frame(frame) = &event.what
            && frame.flags.has(Flag::Refused)
            && let Some(error) = view.whole(event, Means::Error)
        {
            self.waiting.insert(event.at, error);
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble != Trouble::Refused {
            return;
        }
        let error = self.waiting.remove(&explained.place.at);
        if explained.cause == Cause::Reader {
            self.ledger.add_place(explained.place, 1);
            if let Some(error) = error {
                *self.errors.entry(error).or_default() += 1;
            }
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let errors: Vec<String> =
            self.errors.iter().map(|(error, count)| format!("{error:02X} {}", times_words(*count))).collect();
        let errors = if errors.is_empty() { String::new() } else { format!(" (error {})", errors.join(", ")) };
        let says = format!(
            "The drive board refused an order that stood intact on the wire {}{errors}",
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
