//! The first order after a start of the command board is a move: the rover leaps as it comes back.

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View, in_lines, reset};
use crate::rover::state::RoverState;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct MovesAtStart {
    ledger: Ledger,
    starts: u64,
    /// The last text of a start that no order has followed yet: when, and whether orders stood before it.
    fresh: Option<(Nanos, bool)>,
    running: bool,
}

/// A board that waits for its panel takes longer to its first order after switching on; one that is programmed to drive by
/// itself begins sooner. Common practice, no source.
const WAITS: Nanos = 500_000_000;

const WORDS: Words = Words {
    id: "moves-at-start",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not a press that came later: no rest stood on the wire between the start and this move. A panel that sends only when something is pressed begins with a move rightly and is not judged; nor is a program that drives by itself as soon as it is switched on.",
    what_to_do: "Let the command board send rests after each start until it has once heard a rest from the control panel; let the drive board obey no move before a rest.",
    check_after: "Wheels off the ground: keep the stick pushed and press reset. Nothing turns until it was let go.",
};

impl Rule for MovesAtStart {
    fn id(&self) -> &'static str {
        "moves-at-start"
    }

    fn looks_for(&self) -> &'static str {
        "starts of the command board that begin with a move"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::StartUpText, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Damage, Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) {
            return;
        }
        match &event.what {
            Happening::Text { class, .. } if reset::sort(*class).is_some() => {
                self.starts += u64::from(self.fresh.is_none());
                let mid_run = self.fresh.map_or(self.running, |(_, mid_run)| mid_run);
                self.fresh = Some((event.at, mid_run));
            }
            // A reader of lines refuses an order that is glued to text: the next one is the first it can obey.
            Happening::Frame(frame) if frame.flags.has(Flag::Glued) && view.rover.is_some_and(in_lines) => {}
            // What was hit may have been the rest that nobody heard: this start is not judged.
            Happening::Damage { .. } | Happening::Noise { .. } => self.fresh = None,
            Happening::Frame(_) if view.is_order(event) => {
                let waited = |(at, mid_run): (Nanos, bool)| mid_run || event.span.lo - at >= WAITS;
                if self.fresh.take().is_some_and(waited) && view.state.is_some_and(RoverState::moving) {
                    self.ledger.add(event, 1);
                }
                self.running = true;
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "Of {} starts of the command board {} began with a move and not with a rest: the rover leaps",
            self.starts,
            self.ledger.count()
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
