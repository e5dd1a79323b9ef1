//! A move follows a move with no rest between on a press-and-release link: a release may never have been sent.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::nearly_an_order::nearly;
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::{Means, Obeys};
use crate::timing::cadence::Rhythm;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoRestBetween {
    ledger: Ledger,
    /// Something since the last order may have been the rest before it was hit.
    hit: bool,
}

const WORDS: Words = Words {
    id: "no-rest-between",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "On a link whose orders run out by themselves this is not counted. A panel that lets a finger slide from one button to the next may do this by design: try that by hand.",
    what_to_do: "See whether lifting the finger always sends the rest. Let the panel repeat the rest three times.",
    check_after: "A hundred releases: a rest on the wire after each.",
};

impl Rule for NoRestBetween {
    fn id(&self) -> &'static str {
        "no-rest-between"
    }

    fn looks_for(&self) -> &'static str {
        "releases that were never sent"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Moves]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Damage, Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else {
            let broken = matches!(event.what, Happening::Damage { .. }) && event.wire == Some(Wire::ToDrive);
            self.hit |= broken || nearly(event, view).is_some();
            return;
        };
        // A reader of lines takes a glued rest for the end of the text before it: it was sent, and lost.
        if frame.flags.has(Flag::Glued) {
            self.hit = true;
            return;
        }
        // Where orders run out by themselves a rest that was never sent ends the move all the same, and moves may blend.
        let runs_out =
            view.rover.is_some_and(|rover| matches!(rover.meaning.reader.obeys, Obeys::For(_) | Obeys::DeadlineField));
        // Where a twist is ordered, another word for the motion is no other press.
        let press = view.kind(event).is_some_and(|kind| kind.field(Means::Move).is_some());
        let hit = press && std::mem::take(&mut self.hit);
        if press && !hit && !runs_out && frame.flags.has(Flag::NoRestBetween) && view.rhythm == Rhythm::OnChange {
            self.ledger.add(event, 1);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "A move followed a move with no rest between, {}: a release may never have been sent",
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
