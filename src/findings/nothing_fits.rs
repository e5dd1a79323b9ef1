//! Much is heard on a wire and nothing of it is a frame of the rover file: a wrong file, or a wrong line rate.

use wheeltap_parsers::{TextClass, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// So many bytes without one frame are believed; start-up text of a board is shorter.
const ENOUGH: u64 = 1024;

/// The rule's ledgers, one for each wire.
#[derive(Clone, Debug, Default)]
pub struct NothingFits {
    strange: [Ledger; 2],
    bytes: [u64; 2],
    fits: [bool; 2],
    /// Broken frames that would fit but for their end mark: that is said as such.
    unended: [u64; 2],
}

const WORDS: Words = Words {
    id: "nothing-fits",
    severity: Severity::Doubt,
    layer: Layer::Tap,
    confidence: Confidence::Possible,
    not: "A wrong rover file shows readable lines that it does not know; a wrong line rate or a missing ground shows noise.",
    what_to_do: "Look at the lines: readable, then choose or make the rover file that fits; noise, then try the line rate and the ground lead.",
    check_after: "Each press gives a frame.",
};

impl Rule for NothingFits {
    fn id(&self) -> &'static str {
        "nothing-fits"
    }

    fn looks_for(&self) -> &'static str {
        "rover files or line rates that do not fit the wire"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some(wire) = event.wire.filter(|wire| view.rover.is_some_and(|rover| rover.profile(*wire).is_some()))
        else {
            return;
        };
        match event.what {
            Happening::Frame(_) => self.fits[wire.index()] = true,
            // Start-up text that is known as such is understood.
            Happening::Text { class, .. } if class != TextClass::Free => {}
            _ if event.len > 0 => {
                self.bytes[wire.index()] += event.len;
                self.strange[wire.index()].add(event, 0);
            }
            _ => {}
        }
    }

    fn explained(&mut self, explained: &Explained) {
        let end = matches!(explained.cause, Cause::EndMark | Cause::EndMarkOrHit);
        self.unended[explained.place.wire.index()] += u64::from(end && explained.trouble == Trouble::Damage);
    }

    fn findings(&self) -> Vec<Finding> {
        let found = |wire: Wire| {
            let bytes = self.bytes[wire.index()];
            let says = format!("Of {bytes} bytes on wire {} not one frame is known to the rover file", wire.symbol());
            let unended = 2 * self.unended[wire.index()] > self.strange[wire.index()].count();
            let wrong = bytes >= ENOUGH && !self.fits[wire.index()] && !unended;
            wrong.then(|| self.strange[wire.index()].finding(&WORDS, says)).flatten()
        };
        Wire::BOTH.into_iter().filter_map(found).collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
