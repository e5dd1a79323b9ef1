//! The adapter's own grid: it hands over bytes in parcels, so that evenly sent frames look bunched. Named, never flagged.

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, time_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// A tap that knows a byte's time to less than this shows no grid worth naming.
const COARSE: Nanos = 8_000_000;
/// Fewest arrivals before a grid is named; at least half of all lie on it then.
const ENOUGH: u64 = 50;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AdapterGrid {
    ledger: Ledger,
    frames: u64,
}

const WORDS: Words = Words {
    id: "adapter-grid",
    severity: Severity::Note,
    layer: Layer::Tap,
    confidence: Confidence::Certain,
    not: "Not the rover: frames that come together here may have been sent evenly. Real bunching after a silence shows in the counters as well.",
    what_to_do: "Nothing shorter is flagged. Set the adapter's latency timer to 1 ms if finer times are wanted.",
    check_after: "The tap's resolution on the screen falls to a few milliseconds.",
};

impl Rule for AdapterGrid {
    fn id(&self) -> &'static str {
        "adapter-grid"
    }

    fn looks_for(&self) -> &'static str {
        "arrivals on the grid of the tap's own adapter"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if !matches!(event.what, Happening::Frame(_)) {
            return;
        }
        self.frames += 1;
        if event.span.width() >= COARSE {
            self.ledger.add(event, event.span.width());
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "{} of {} arrivals lie on the adapter's own grid: their times are known to within {} at worst, and nothing below that is flagged",
            self.ledger.count(),
            self.frames,
            time_words(self.ledger.worst())
        );
        let grid = self.ledger.count() >= ENOUGH && self.ledger.count() * 2 >= self.frames;
        grid.then(|| self.ledger.finding(&WORDS, says)).flatten().into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
