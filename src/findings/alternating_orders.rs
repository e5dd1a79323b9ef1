//! Orders that alternate between two courses: two control panels, or two senders, drive at once.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;
use crate::rover::state::RoverState;
use crate::rover::wheels::Duties;

/// Two orders on two courses differ by at least this in one wheel, thousandths.
const APART: i32 = 200;
/// Two orders on one course differ by no more than this part of it.
const PART: i32 = 4;
/// So many orders in a row must alternate.
const ENOUGH: usize = 12;
/// Within this time: no finger presses and lets go six times in it. Common practice, no source.
const QUICK: Nanos = 700_000_000;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AlternatingOrders {
    ledger: Ledger,
    /// The last two orders, the newest last.
    last: VecDeque<Duties>,
    /// When the orders came that alternate up to now.
    run: VecDeque<Nanos>,
    told: bool,
}

const WORDS: Words = Words {
    id: "two-panels",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "One hand cannot change its mind with every order, again and again. Two boards that send on one wire look the same as two panels on one board: unplug one and look.",
    what_to_do: "See that only one panel is open and only one board sends, and let the command board take orders from one panel at a time.",
    check_after: "Stir the stick for a minute: the orders follow one course.",
};

fn distance(one: &Duties, other: &Duties) -> i32 {
    one.iter().zip(other).map(|(one, other)| (one - other).abs()).max().unwrap_or(0)
}

impl AlternatingOrders {
    fn alternates(&self, meant: &Duties) -> bool {
        let (Some(before), Some(last)) = (self.last.front(), self.last.back()) else { return false };
        let apart = distance(last, meant);
        self.last.len() == 2 && apart >= APART && distance(before, meant) * PART <= apart
    }

    fn order(&mut self, event: &Event, meant: Duties) {
        if self.alternates(&meant) {
            self.run.push_back(event.at);
            if self.run.len() > ENOUGH {
                self.run.pop_front();
            }
            let quick = self.run.front().is_some_and(|first| event.at - first <= QUICK);
            if self.run.len() == ENOUGH && quick && !self.told {
                self.told = true;
                self.ledger.add(event, 1);
            }
        } else {
            self.run.clear();
            self.told = false;
        }
        if self.last.len() == 2 {
            self.last.pop_front();
        }
        self.last.push_back(meant);
    }
}

impl Rule for AlternatingOrders {
    fn id(&self) -> &'static str {
        "alternating-orders"
    }

    fn looks_for(&self) -> &'static str {
        "two panels or two senders that drive at once"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        // Where the panel counts its own messages, two series of that counter tell more.
        let counted = view.kind(event).is_some_and(|kind| kind.field(Means::PanelCounter).is_some());
        if !view.is_order(event) || counted {
            return;
        }
        if let Some(meant) = view.state.and_then(RoverState::meant) {
            self.order(event, meant);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "Orders alternated between two courses, {ENOUGH} and more in a row, {}: two panels or two senders",
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
