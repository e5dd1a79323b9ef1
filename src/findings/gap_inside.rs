//! Frames whose end came later than their bytes need: an end mark overdue inside a line.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, least_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers, by wire.
#[derive(Clone, Debug, Default)]
pub struct GapInside {
    ledgers: [Ledger; 2],
}

const WORDS: Words = Words {
    id: "gap-inside",
    severity: Severity::Doubt,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not the adapter: a frame that two reads brought is counted only where its bytes certainly stood apart. A wrong line rate in the tap would show as damage, not as this.",
    what_to_do: "Let the sender write the whole frame with its end mark at once, not piece by piece with other work between. A reader that waits for the end mark acts only then; one that does not takes half a frame.",
    check_after: "A hundred presses with none.",
};

impl Rule for GapInside {
    fn id(&self) -> &'static str {
        "gap-inside"
    }

    fn looks_for(&self) -> &'static str {
        "frames whose end came late inside them"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::LineRate]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Verdict]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if let (Happening::GapInside { by }, Some(wire)) = (&event.what, event.wire) {
            self.ledgers[wire.index()].add(event, *by);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let each = Wire::BOTH.into_iter().zip(&self.ledgers);
        each.filter_map(|(wire, ledger)| {
            let (what, layer) = match wire {
                Wire::ToDrive => ("order", Layer::CommandBoard),
                Wire::FromDrive => ("answer", Layer::Reader),
            };
            let says = format!(
                "The end of an {what} came late inside it {}, at worst at least {} after its bytes were due",
                times_words(ledger.count()),
                least_words(ledger.worst())
            );
            ledger.finding(&Words { layer, ..WORDS }, says)
        })
        .collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
