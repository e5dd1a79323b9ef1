//! Orders that should repeat stop coming while a wheel is meant to turn.

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, least_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct SilentWhileMoving {
    ledger: Ledger,
    /// What its troubles were put down to.
    behind: Behind,
    open: Option<Event>,
    longest: i64,
}

const WORDS: Words = Words {
    id: "silent-while-moving",
    severity: Severity::Danger,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not a slow adapter: the silence is counted only where the reader was awake and nothing was waiting. Not noise: orders that came and were hit are no silence, they are told as damage.",
    what_to_do: "Keep clear of the rover: its last order was a move. Look for a reset or a busy command board just before, then give the drive board a deadline of 200 to 300 ms.",
    check_after: "Pull the wire at half duty with the wheels off the ground: all four stop within the deadline, ten times of ten.",
};

impl Rule for SilentWhileMoving {
    fn id(&self) -> &'static str {
        "silent-while-moving"
    }

    fn looks_for(&self) -> &'static str {
        "orders that stop coming while a wheel is meant to turn"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame, Sort::Damage, Sort::Text, Sort::Noise, Sort::Verdict]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        match (&event.what, &self.open) {
            (Happening::SilentWhileMoving { since }, _) => {
                self.ledger.add(event, event.at - since);
                self.longest = self.longest.max(event.at - since);
                self.open = Some(event.clone());
            }
            (what, Some(began)) if what.may_be_frame() && event.wire == began.wire => {
                if let Happening::SilentWhileMoving { since } = began.what {
                    self.longest = self.longest.max(event.span.lo - since);
                }
                self.open = None;
            }
            _ => {}
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble == Trouble::Silence {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "Orders stopped coming {} while a wheel was meant to turn, the longest for at least {}",
            times_words(self.ledger.count()),
            least_words(self.longest)
        );
        let words = Words { what_to_do: WORDS.what_to_do, ..self.behind.into_words(&WORDS, &[]) };
        let advice = self.behind.most().and_then(Cause::what_to_do);
        let finding = self.ledger.finding(&words, says + &self.behind.words(&[]));
        let advised = |finding: Finding| match advice {
            Some(advice) => Finding { what_to_do: format!("{} {advice}", finding.what_to_do), ..finding },
            None => finding,
        };
        finding.map(advised).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
