//! The tap itself: ports that went away, levels that a recording does not know, bytes that were received but not kept.

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers.
#[derive(Clone, Debug, Default)]
pub struct TapLost {
    gone: Ledger,
    unknown: Ledger,
    lost: Ledger,
    bytes: u64,
}

const GONE: Words = Words {
    id: "port-gone",
    severity: Severity::Fault,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "Silence in that time says nothing of the rover: nobody was listening.",
    what_to_do: "Look at the adapter's plug and cable, and keep this computer from going to sleep; wheeltap opens the port again by itself. The session says which it was.",
    check_after: "Move the cable while listening: the port stays.",
};

const UNKNOWN: Words = Words {
    id: "level-unknown",
    severity: Severity::Doubt,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "Silence in that time says nothing of the rover: what stood on the wire is not in the recording.",
    what_to_do: "See whether the recorder was stopped at that time, or its probe's lead was off; what fell into it is missing.",
    check_after: "Record again: the level is known from beginning to end.",
};

const LOST: Words = Words {
    id: "bytes-not-kept",
    severity: Severity::Fault,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "These bytes were on the wire; only this program does not have them. Where lines of the file are named as damaged, it was hit after it was written; where none is, the recorder had no room for them.",
    what_to_do: "While recording: look at the disk: full, slow, or taken away. Of a file whose lines are damaged: `wheeltap decode FILE --check` names each; copy it once more from where it was recorded, by another way.",
    check_after: "Listen again, or check the copy: nothing is missing.",
};

impl Rule for TapLost {
    fn id(&self) -> &'static str {
        "tap"
    }

    fn looks_for(&self) -> &'static str {
        "times at which the tap itself was deaf"
    }

    fn needs(&self) -> &'static [Need] {
        &[]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Tap]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        match event.what {
            Happening::PortGone { dump: false } => self.gone.add(event, 0),
            Happening::PortGone { dump: true } => self.unknown.add(event, 0),
            Happening::Lost(bytes) => {
                self.lost.add(event, bytes as i64);
                self.bytes += bytes;
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let gone = format!("The port went away {}", times_words(self.gone.count()));
        let lost = format!("{} bytes are missing: not kept while recording, or damaged in the file since", self.bytes);
        let unknown = format!("The level of a wire was not known {}", times_words(self.unknown.count()));
        let all =
            [self.gone.finding(&GONE, gone), self.unknown.finding(&UNKNOWN, unknown), self.lost.finding(&LOST, lost)];
        all.into_iter().flatten().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
