//! Orders that came certainly later than their rhythm allows.

use wheeltap_parsers::{Interval, Nanos};

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, least_words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct LateFrames {
    late: Ledger,
    /// What its troubles were put down to.
    behind: Behind,
    possible: u64,
    period: Nanos,
    before: Option<Interval>,
}

const WORDS: Words = Words {
    id: "late",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not the adapter: only what lies outside the tap's own resolution is counted. If the panel's own counter jumped too, the radio lost messages; if not, the sender itself was busy.",
    what_to_do: "See what the command board does at those times (picture, network, prints) and let orders go out from a task of their own.",
    check_after: "Ten minutes with none, with the picture open as well.",
};

impl Rule for LateFrames {
    fn id(&self) -> &'static str {
        "late"
    }

    fn looks_for(&self) -> &'static str {
        "orders later than their rhythm allows"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else { return };
        if !view.is_order(event) {
            return;
        }
        if frame.flags.has(Flag::Late) {
            self.period = view.rhythm.period().unwrap_or(self.period);
            let gap = self.before.map_or(0, |before| event.span.lo - before.hi);
            self.late.add(event, gap);
        }
        self.possible += u64::from(frame.flags.has(Flag::PossiblyLate));
        self.before = Some(event.span);
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble == Trouble::Late {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "An order came late {} (due every {}, longest silence before one at least {}); {} more may have been",
            times_words(self.late.count()),
            time_words(self.period),
            least_words(self.late.worst()),
            self.possible
        );
        let words = self.behind.into_words(&WORDS, &[Cause::HeldUp]);
        self.late.finding(&words, says + &self.behind.words(&[])).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
