//! The tap itself: ports that went away, levels that a recording does not know, bytes that were received but
//! not kept, bytes that a damaged file lacks.

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
    missing: Ledger,
    missing_bytes: u64,
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
    not: "These bytes were on the wire; only this program could not keep them.",
    what_to_do: "Look at the disk: full, slow, or taken away.",
    check_after: "Listen again: nothing is lost.",
};

const MISSING: Words = Words {
    id: "bytes-missing",
    severity: Severity::Fault,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "They were recorded: the file has been damaged since. Silence there says nothing of the rover.",
    what_to_do: "Take the file from where it was recorded once more, or from another copy; `wheeltap decode FILE --check` names the lines.",
    check_after: "`wheeltap decode FILE --check` finds every line whole.",
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
            Happening::Lost { bytes, damaged: true } => {
                self.missing.add(event, bytes as i64);
                self.missing_bytes += bytes;
            }
            Happening::Lost { bytes, damaged: false } => {
                self.lost.add(event, bytes as i64);
                self.bytes += bytes;
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let gone = format!("The port went away {}", times_words(self.gone.count()));
        let lost = format!("{} bytes were received but could not be kept", self.bytes);
        let unknown = format!("The level of a wire was not known {}", times_words(self.unknown.count()));
        let missing = match self.missing_bytes {
            0 => "Lines of the session are damaged, and bytes may be missing with them".to_owned(),
            bytes => format!("{bytes} bytes are missing: lines of the session are damaged or gone"),
        };
        let all = [
            self.gone.finding(&GONE, gone),
            self.unknown.finding(&UNKNOWN, unknown),
            self.lost.finding(&LOST, lost),
            self.missing.finding(&MISSING, missing),
        ];
        all.into_iter().flatten().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
