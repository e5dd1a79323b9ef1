//! Lines of text that would be sound but for the highest bit of their bytes: the sender's clock is a few per cent fast.
//!
//! A byte goes lowest bit first and ends with a stop bit, which is 1 (8N1: Maxim tutorial 2141, excerpt; the order of
//! the bits from memory). A receiver finds each bit by its own clock from the start bit on, so the last one is the
//! first to be missed: where the sender is fast, the stop bit is read in its place. In text the highest bit is 0
//! (ASCII has seven bits), so it shows.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// Fewest such lines.
const ENOUGH: u64 = 8;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct ClockOff {
    ledger: Ledger,
    damaged: u64,
}

const WORDS: Words = Words {
    id: "clock-off",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Noise turns any of the eight bits, up or down: one hit in sixteen would look so. A wrong line rate leaves no line whole. What the tap's receiver misreads, the drive board's may still read, or the other way round: each has its own clock.",
    what_to_do: "See what the command board's divider makes of the line rate, and whether its clock is a crystal: warmth moves the others. A lower rate that divides evenly helps; so does a crystal. Compare with another adapter: this one's clock may be the slow one.",
    check_after: "A thousand orders cold and a thousand warm, each of them whole.",
};

impl Rule for ClockOff {
    fn id(&self) -> &'static str {
        "clock-off"
    }

    fn looks_for(&self) -> &'static str {
        "senders whose clock is a few per cent fast"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Lines]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Damage]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Damage { raw, .. } = &event.what else { return };
        let profile = view.rover.and_then(|rover| rover.profile(Wire::ToDrive));
        let Some(profile) = profile.filter(|_| event.wire == Some(Wire::ToDrive)) else { return };
        self.damaged += 1;
        if profile.whole_in_seven_bits(raw) {
            self.ledger.add(event, 1);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let count = self.ledger.count();
        if count < ENOUGH || count * 2 < self.damaged {
            return Vec::new();
        }
        let says = format!(
            "{count} of {} broken orders would be whole if the highest bit of each byte were 0: the stop bit is read in its place, so the sender's clock is some 5 % fast beside the receiver's",
            self.damaged
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
