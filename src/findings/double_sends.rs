//! The same line twice within a moment on a press-and-release link: the sender sends each change more than once.

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening, Raw};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::timing::cadence::Rhythm;

/// Two equal lines closer than this are one press: no finger is quicker. Common practice, no source.
const ONE_PRESS: Nanos = 60_000_000;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct DoubleSends {
    ledger: Ledger,
    orders: u64,
    last: Option<(Nanos, Raw)>,
}

const WORDS: Words = Words {
    id: "double-sends",
    severity: Severity::Note,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "A sender may do this on purpose, so that one lost line does no harm. A touch that counts twice looks the same.",
    what_to_do: "If it is not on purpose, look at the panel: both the touch and the click of a button may send.",
    check_after: "One press, one line; or as many as you meant.",
};

impl Rule for DoubleSends {
    fn id(&self) -> &'static str {
        "double-sends"
    }

    fn looks_for(&self) -> &'static str {
        "orders sent twice for one press"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else { return };
        if !view.is_order(event) {
            return;
        }
        // A sender that repeats sends twice by nature: what was counted before its rhythm was known were its repeats.
        if view.rhythm.period().is_some() {
            *self = Self::default();
        }
        if view.rhythm != Rhythm::OnChange {
            return;
        }
        self.orders += 1;
        let twice = self.last.is_some_and(|(at, raw)| raw == frame.raw && event.at - at < ONE_PRESS);
        if twice {
            self.ledger.add(event, 0);
        }
        self.last = Some((event.at, frame.raw));
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The same order came twice within a moment, {} ({} orders in all)",
            times_words(self.ledger.count()),
            self.orders
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
