//! The panel's own counter skips while the sequence does not: messages were lost in the air.

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct PanelGap {
    gaps: Ledger,
    backs: Ledger,
    orders: u64,
}

/// A panel counter that goes back this often for each time it skips is two counters, not a lossy one.
const TWO: u64 = 4;

const WORDS: Words = Words {
    id: "panel-gap",
    severity: Severity::Fault,
    layer: Layer::Panel,
    confidence: Confidence::Certain,
    not: "Not the wire: the command board's own sequence has no hole there.",
    what_to_do: "Another radio channel, the panel nearer, less video; and a deadline in the drive board.",
    check_after: "Compare the count in the empty room and in the full one.",
};

const TWO_PANELS: Words = Words {
    id: "two-panels",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "One panel whose messages arrive out of order steps back now and then; two panels do so all the time, and what they ask for differs.",
    what_to_do: "See that only one panel is open, and let the command board take orders from one at a time.",
    check_after: "The panel's counter only rises for ten minutes.",
};

impl Rule for PanelGap {
    fn id(&self) -> &'static str {
        "panel-gap"
    }

    fn looks_for(&self) -> &'static str {
        "messages lost between the control panel and the command board"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Sequence, Need::SecondCounter]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else { return };
        self.orders += u64::from(view.is_order(event));
        if frame.flags.has(Flag::PanelBack) {
            self.backs.add(event, 1);
        }
        let whole = !frame.flags.has(Flag::SequenceGap) && !frame.flags.has(Flag::SequenceRestart);
        if whole && frame.flags.has(Flag::PanelGap) {
            self.gaps.add(event, 1);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        if self.gaps.count() > 8 && self.gaps.count() * TWO > self.orders {
            let says = format!(
                "The panel's own counter jumps with {} of {} orders: two series",
                self.gaps.count(),
                self.orders
            );
            return self.gaps.finding(&TWO_PANELS, says).into_iter().collect();
        }
        if self.backs.count() > 2 && self.backs.count() * TWO >= self.gaps.count() {
            let says = format!("The panel's own counter went back {}", times_words(self.backs.count()));
            return self.backs.finding(&TWO_PANELS, says).into_iter().collect();
        }
        let says = format!(
            "Messages of the control panel never reached the command board, {}",
            times_words(self.gaps.count())
        );
        self.gaps.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
