//! Orders that the drive board never answered.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Role;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AnswerMissing {
    ledger: Ledger,
    answered: u64,
    /// Reports that the drive board sends by its own clock: they name the last order, not each.
    reports: u64,
}

const WORDS: Words = Words {
    id: "answer-missing",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "An order whose answer may have been damaged on the way back, or fell into a start of the drive board, is not counted. The order itself was intact on the wire where the tap sits: behind the tap it may have been hit.",
    what_to_do: "If every number is answered but some, the drive board's receive buffer overflows while its loop is elsewhere: read the wire in every round, or send less often. See the figures on bytes dropped.",
    check_after: "Ten minutes of driving: as many answers as orders.",
};

const NEVER: Words = Words {
    layer: Layer::Wire,
    not: "If a wheel obeys all the same, the drive board hears the orders and only the way back is cut, or the tap on it sits on the wrong pin. If no wheel obeys, it does not hear them.",
    what_to_do: "Pack out first. Follow the lead from the drive board's transmit pin back to the command board and to the tap; then see that both boards share their ground.",
    check_after: "Every order is answered within a few milliseconds.",
    ..WORDS
};

impl Rule for AnswerMissing {
    fn id(&self) -> &'static str {
        "answer-missing"
    }

    fn looks_for(&self) -> &'static str {
        "orders that are never answered"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::NumberedAnswers]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Frame, Sort::Verdict]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        match &event.what {
            Happening::NoAnswer { .. } => self.ledger.add(event, 1),
            Happening::Frame(_) if event.wire == Some(Wire::FromDrive) => {
                match view.kind(event).map(|kind| kind.role) {
                    Some(Role::Report) => self.reports += 1,
                    Some(Role::Answer) => self.answered += u64::from(event.reply().is_some()),
                    _ => {}
                }
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let finding = match self.answered {
            0 if self.reports > 0 => None,
            0 => {
                let says = format!("Not one order was ever answered: {} waited two seconds", self.ledger.count());
                self.ledger.finding(&NEVER, says)
            }
            answered => {
                let often = times_words(self.ledger.count());
                let says = format!("An order was not answered within two seconds, {often}; {answered} were");
                self.ledger.finding(&WORDS, says)
            }
        };
        finding.into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
