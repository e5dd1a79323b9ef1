//! Sequence numbers that skip: frames were lost on the wire or at the sender.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers.
#[derive(Clone, Debug, Default)]
pub struct SequenceGap {
    gaps: Ledger,
    /// Of these and those out of turn so many are another sender's.
    turns: u64,
    order: Ledger,
    explained: u64,
    damaged: bool,
}

const GAP: Words = Words {
    id: "sequence-gap",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "A damaged frame right before it explains a gap of its own and is not counted here; a sequence that begins again at 0 is a restart.",
    what_to_do: "Look whether the sender skips numbers when it is busy; then at the wire.",
    check_after: "Ten minutes of driving with none.",
};

const ORDER: Words = Words {
    id: "sequence-order",
    severity: Severity::Doubt,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Two senders on one wire give two series of numbers that interleave; a single step back is an order out of turn.",
    what_to_do: "Let the drive board drop an order whose number is not newer. See that only one board sends on this wire.",
    check_after: "Numbers only rise for ten minutes.",
};

const TURNS: Words = Words {
    not: "One sender that skips numbers goes on with higher ones and never comes back to where it was.",
    what_to_do: "Two senders drive on this wire. See that only one board sends on it, and that no other program of the command board does.",
    ..GAP
};

impl Rule for SequenceGap {
    fn id(&self) -> &'static str {
        "sequence-gap"
    }

    fn looks_for(&self) -> &'static str {
        "frames lost on the wire or never sent"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Sequence]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) {
            return;
        }
        match &event.what {
            // A frame hit at its start mark is noise or text to the decoder; it explains the gap as well.
            Happening::Damage { .. } | Happening::Noise { .. } | Happening::Text { .. } => self.damaged = true,
            Happening::Frame(frame) => {
                if frame.flags.has(Flag::SequenceGap) {
                    if self.damaged {
                        self.explained += 1;
                    } else {
                        self.gaps.add(event, 1);
                    }
                }
                if frame.flags.has(Flag::SequenceBack) || frame.flags.has(Flag::SequenceRepeat) {
                    self.order.add(event, 1);
                }
                self.damaged = false;
            }
            _ => {}
        }
    }

    fn explained(&mut self, explained: &Explained) {
        let number = matches!(explained.trouble, Trouble::SequenceGap | Trouble::SequenceOrder);
        self.turns += u64::from(number && explained.cause == Cause::TwoSenders);
    }

    fn findings(&self) -> Vec<Finding> {
        let two = 2 * self.turns > self.gaps.count() + self.order.count();
        let mut gaps = format!(
            "Sequence numbers are missing {} with nothing damaged between; {} more gaps are damaged frames",
            times_words(self.gaps.count()),
            self.explained
        );
        let order = format!("A sequence number came again or out of turn {}", times_words(self.order.count()));
        if two {
            gaps += ": two series of numbers take turns";
        }
        self.gaps
            .finding(if two { &TURNS } else { &GAP }, gaps)
            .into_iter()
            .chain(self.order.finding(&ORDER, order))
            .collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
