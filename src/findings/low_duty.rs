//! Moves at so little duty that a wheel may hum and stay: a hint for the person, since no wire shows it.

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::state::RoverState;
use crate::rover::wheels::per_cent;

/// A move whose strongest wheel never gets more than this is a weak one, thousandths. Common practice, no source: geared
/// motors behind a bipolar driver are told to start at 15 to 30 %.
const WEAK: i32 = 200;
/// A move shorter than this is a touch.
const LONG: Nanos = 500_000_000;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct LowDuty {
    ledger: Ledger,
    began: Option<Nanos>,
    strongest: i32,
    most: i32,
}

const WORDS: Words = Words {
    id: "low-duty",
    severity: Severity::Note,
    layer: Layer::Driver,
    confidence: Confidence::Possible,
    not: "The wire shows the duty, never the wheel. A wheel that hums and stays is below its starting duty; one that is silent has no supply or no driver.",
    what_to_do: "Wheels off the ground: raise the duty step by step and note for each wheel where it starts and where it still keeps going. Then let the drive board begin at that duty.",
    check_after: "The smallest order above rest starts all four wheels.",
};

impl Rule for LowDuty {
    fn id(&self) -> &'static str {
        "low-duty"
    }

    fn looks_for(&self) -> &'static str {
        "moves at a duty that may not start a wheel"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame, Sort::Leg]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        match event.what {
            Happening::Leg { begins: true } => {
                self.end(event);
                self.began = Some(event.at);
                self.strongest = strongest(view);
            }
            Happening::Leg { begins: false } => self.end(event),
            Happening::Frame(_) => self.strongest = self.strongest.max(strongest(view)),
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "A move of half a second or more never asked for more than {} %, {}: ask whether the wheels turned or hummed",
            per_cent(self.most),
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

impl LowDuty {
    fn end(&mut self, event: &Event) {
        let Some(began) = self.began.take() else { return };
        if event.at - began >= LONG && (1..=WEAK).contains(&self.strongest) {
            self.most = self.most.max(self.strongest);
            self.ledger.add(event, i64::from(WEAK - self.strongest));
        }
    }
}

fn strongest(view: &View<'_>) -> i32 {
    let meant = view.state.and_then(RoverState::meant).unwrap_or_default();
    meant.iter().map(|duty| duty.abs()).max().unwrap_or(0)
}
