//! Orders that lack nothing but their end mark: a reader that waits for it obeys late, or never.

use wheeltap_parsers::{Cause, Framing, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// So many orders without an end mark are no accident.
const ENOUGH: u64 = 4;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoEndMark {
    ledger: Ledger,
    /// Orders that lack only their end mark.
    lacking: u64,
    /// Orders broken otherwise, and intact frames.
    broken: u64,
    intact: u64,
}

const WORDS: Words = Words {
    id: "no-end-mark",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not lost bytes: each of these orders is whole up to its end mark. If the sender ends its lines otherwise, it is the rover file that is wrong.",
    what_to_do: "Let the command board end each order with the mark that the drive board waits for, or write the right `end` in [framing] of the rover file. Repeating the orders does not help: a reader that waits starts its waiting anew with each byte.",
    check_after: "Each press is obeyed at once, and stands on the wire as one frame.",
};

impl Rule for NoEndMark {
    fn id(&self) -> &'static str {
        "no-end-mark"
    }

    fn looks_for(&self) -> &'static str {
        "orders whose end mark is never sent"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Lines]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame, Sort::Damage]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some(profile) = view.rover.and_then(|rover| rover.profile(Wire::ToDrive)) else { return };
        if event.wire != Some(Wire::ToDrive) || !matches!(profile.framing, Framing::Lines { .. }) {
            return;
        }
        match &event.what {
            Happening::Damage { cause: Cause::Truncated | Cause::Overlong | Cause::Glued, raw, .. } => {
                // A run that nothing ends is one broken frame, however many orders stand in it.
                match profile.lacks_end(raw) {
                    Some(len) => {
                        self.lacking += (event.len / len.max(1) as u64).max(1);
                        self.ledger.add(event, event.len as i64);
                    }
                    None => self.broken += 1,
                }
            }
            Happening::Damage { .. } => self.broken += 1,
            Happening::Frame(_) => self.intact += 1,
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        if self.lacking < ENOUGH || self.lacking <= self.broken {
            return Vec::new();
        }
        let says = format!(
            "About {} orders stood on the wire without their end mark, beside {} intact and {} broken otherwise",
            self.lacking, self.intact, self.broken
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
