//! The first order after a start stands glued to start-up text: a reader of lines takes both for one and refuses it.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct GluedAtStart {
    ledger: Ledger,
    starts: u64,
    fresh: bool,
}

const WORDS: Words = Words {
    id: "glued-at-start",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Noise does not wait for a start. A frame cut short by a reset is another thing: it stands before the text, this order after it.",
    what_to_do: "Let the command board send a bare end mark before its first order, or print its start-up text on another UART. Let the drive board throw away whatever comes before the first whole frame.",
    check_after: "Twenty starts: the first order is obeyed each time, and none before it.",
};

impl Rule for GluedAtStart {
    fn id(&self) -> &'static str {
        "glued-at-start"
    }

    fn looks_for(&self) -> &'static str {
        "first orders glued to start-up text"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::StartUpText, Need::Lines]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Text]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) {
            return;
        }
        match &event.what {
            Happening::Text { class, .. } if super::reset::sort(*class).is_some() => {
                self.starts += u64::from(!self.fresh);
                self.fresh = true;
            }
            Happening::Frame(frame) if view.is_order(event) => {
                if self.fresh && frame.flags.has(Flag::Glued) {
                    self.ledger.add(event, 1);
                }
                self.fresh = false;
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "Of {} starts of the command board {} had the first order glued to the start-up text, with no line end between",
            self.starts,
            self.ledger.count()
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
