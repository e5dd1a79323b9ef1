//! A duty control that sends a line for every little movement: the line fills, and the last value comes late.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;

/// So many duty lines within one second are a flood. Common practice, no source.
const FLOOD: usize = 20;
/// The span in which they are counted.
const SPAN: Nanos = 1_000_000_000;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct DutyFlood {
    ledger: Ledger,
    recent: VecDeque<Nanos>,
    flooding: bool,
    most: usize,
}

const WORDS: Words = Words {
    id: "duty-flood",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Certain,
    not: "Not a repeat for safety: only lines that set nothing but the duty are counted.",
    what_to_do: "Let the panel send the duty at most ten times a second, and once more when the finger lifts.",
    check_after: "Move the duty control from end to end: at most ten lines a second, and the last one is the final value.",
};

impl Rule for DutyFlood {
    fn id(&self) -> &'static str {
        "duty-flood"
    }

    fn looks_for(&self) -> &'static str {
        "duty controls that fill the line"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(_) = &event.what else { return };
        let duty_alone =
            view.kind(event).is_some_and(|kind| kind.field(Means::Duty).is_some() && kind.field(Means::Move).is_none());
        if !duty_alone {
            return;
        }
        self.recent.push_back(event.at);
        while self.recent.front().is_some_and(|at| *at <= event.at - SPAN) {
            self.recent.pop_front();
        }
        self.most = self.most.max(self.recent.len());
        let flooding = self.recent.len() >= FLOOD;
        if flooding && !self.flooding {
            self.ledger.add(event, self.recent.len() as i64);
        }
        self.flooding = flooding;
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The duty control flooded the line {}, with up to {} lines in one second",
            times_words(self.ledger.count()),
            self.most
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
