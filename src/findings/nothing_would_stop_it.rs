//! A standing remark: the drive board obeys its last order for ever, so nothing on the wire would stop the rover.

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Obeys;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NothingWouldStopIt {
    ledger: Ledger,
}

const WORDS: Words = Words {
    id: "nothing-would-stop-it",
    severity: Severity::Note,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "This is what the rover file says of the drive board; whether it is so shows only when the wire is pulled with the wheels off the ground.",
    what_to_do: "Keep a hand at the pack plug. Give the drive board a deadline of 200 to 300 ms, and let the command board repeat its order at least three times within it.",
    check_after: "Wheels off the ground, half duty, pull the wire: all four stop, ten times of ten.",
};

impl Rule for NothingWouldStopIt {
    fn id(&self) -> &'static str {
        "nothing-would-stop-it"
    }

    fn looks_for(&self) -> &'static str {
        "orders that are obeyed for ever"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Leg]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let for_ever = view.rover.is_some_and(|rover| rover.meaning.reader.obeys == Obeys::ForEver);
        if for_ever && event.what == (Happening::Leg { begins: true }) {
            self.ledger.add(event, 0);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The rover file says that the drive board obeys for ever: had the next line been lost, nothing on the wire would have stopped the rover ({})",
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
