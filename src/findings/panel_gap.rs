//! The panel's own counter skips while the sequence does not: messages were lost in the air.

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct PanelGap {
    gaps: Ledger,
}

const WORDS: Words = Words {
    id: "panel-gap",
    severity: Severity::Fault,
    layer: Layer::Panel,
    confidence: Confidence::Certain,
    not: "Not the wire: the command board's own sequence has no hole there.",
    what_to_do: "Another radio channel, the panel nearer, less video; and a deadline in the drive board.",
    check_after: "Compare the count in the empty room and in the full one.",
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

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else { return };
        let whole = !frame.flags.has(Flag::SequenceGap) && !frame.flags.has(Flag::SequenceRestart);
        if whole && frame.flags.has(Flag::PanelGap) {
            self.gaps.add(event, 1);
        }
    }

    fn findings(&self) -> Vec<Finding> {
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
