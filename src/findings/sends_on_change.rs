//! The command board sends only when something changes, and the drive board has a deadline: go, stop, go.

use std::collections::BTreeMap;

use crate::engine::event::Event;
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct SendsOnChange {
    ledger: Ledger,
    stops: BTreeMap<Cause, u64>,
    /// Orders carry the panel's own counter.
    counted: bool,
}

const WORDS: Words = Words {
    id: "sends-on-change",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not the radio: a message lost in the air makes the panel's own counter jump; here both counters go on by one. Not a busy sender: one that repeats would have repeated.",
    what_to_do: "Let the command board repeat its last order at least three times within the deadline: every 100 ms for 300 ms.",
    check_after: "Keep one move still for ten minutes: no lapse, and no gap above half the deadline.",
};

/// Without the panel's own counter only the sender's habit shows it.
const BY_HABIT: Words = Words {
    confidence: Confidence::Possible,
    not: "A message lost in the air would leave the same gap, and this link has no counter of the panel's own messages to tell. But hardly one order ever asked for the same as the one before it: a sender that repeats would have repeated.",
    ..WORDS
};

impl Rule for SendsOnChange {
    fn id(&self) -> &'static str {
        "sends-on-change"
    }

    fn looks_for(&self) -> &'static str {
        "orders sent only when something changes, against a deadline"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Deadline]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        self.counted |= view.kind(event).is_some_and(|kind| kind.field(Means::PanelCounter).is_some());
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble != Trouble::Lapse {
            return;
        }
        *self.stops.entry(explained.cause).or_default() += 1;
        if explained.cause == Cause::SendsOnChange {
            self.ledger.add_place(explained.place, explained.closed - explained.place.at);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let all: u64 = self.stops.values().sum();
        let sum =
            |wanted: fn(Cause) -> bool| self.stops.iter().filter(|(cause, _)| wanted(**cause)).map(|(_, n)| n).sum();
        let others = [
            ("radio", sum(|cause| cause == Cause::Radio)),
            ("reset", sum(Cause::is_reset)),
            ("hit on the wire", sum(|cause| cause == Cause::Wire)),
        ];
        let named = |(words, count): (&str, u64)| (count > 0).then(|| format!("; {words}: {count}"));
        let says = format!(
            "The command board sends only when something changes: {} of {all} stops{}",
            self.ledger.count(),
            others.into_iter().filter_map(named).collect::<String>()
        );
        self.ledger.finding(if self.counted { &WORDS } else { &BY_HABIT }, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
