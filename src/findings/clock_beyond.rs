//! The command board's clock lies beyond what a receiver bears: measured from the edges of its bytes.

use wheeltap_parsers::{LineClock, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::timing::link::BORNE_BY_A_RECEIVER;

/// Whether this is the clock of the command board, and no receiver bears it.
pub fn is_beyond(clock: &LineClock) -> bool {
    clock.wire == Wire::ToDrive && clock.error_ppm.is_some_and(|ppm| ppm.abs() > BORNE_BY_A_RECEIVER)
}

/// Whether no receiver of this rover's rate bears the rate at which the wire to the drive board is heard.
pub fn is_heard_beyond(view: &View<'_>) -> bool {
    let both = view.rover.map(|rover| i64::from(rover.rate)).zip(view.rates[Wire::ToDrive.index()].map(i64::from));
    both.is_some_and(|(stated, heard)| (heard - stated).abs() * 1_000_000 > stated * BORNE_BY_A_RECEIVER)
}

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct ClockBeyond {
    ledger: Ledger,
    worst: i64,
}

const WORDS: Words = Words {
    id: "clock-beyond",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not noise: the edges lie evenly. This recording reads the orders because it follows their edges; the drive board's receiver goes by its own clock and loses them, whole or in part.",
    what_to_do: "See what the command board's divider makes of the line rate, and whether its clock is the one that the program is told of. A lower rate that divides evenly helps.",
    check_after: "Record again: the clock is within 2 %, and every order is answered or obeyed.",
};

impl Rule for ClockBeyond {
    fn id(&self) -> &'static str {
        "clock-beyond"
    }

    fn looks_for(&self) -> &'static str {
        "senders whose clock no receiver bears, by the edges of their bytes"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Levels]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Other]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        let Happening::Clock(clock) = &event.what else { return };
        let ppm = clock.error_ppm.unwrap_or(0);
        if is_beyond(clock) {
            self.ledger.add(event, ppm.abs());
            if ppm.abs() > self.worst.abs() {
                self.worst = ppm;
            }
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let way = if self.worst < 0 { "slow" } else { "fast" };
        let says = format!(
            "The command board's clock is {:.1} % {way}, by the edges of its bytes; a receiver bears {:.1} % at most",
            self.worst.abs() as f64 / 1e4,
            BORNE_BY_A_RECEIVER as f64 / 1e4
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
