//! A deadline ran out while a wheel was meant to turn: the rover stops by itself.

use wheeltap_parsers::{Interval, Nanos};

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, least_words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Role;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct Lapse {
    certain: Ledger,
    /// What its troubles were put down to.
    behind: Behind,
    possible: u64,
    /// The last order: when, and its place on the wire.
    order: Option<(Interval, u64, u64)>,
    /// A lapse for which no order has come yet.
    open: bool,
    /// The longest gap that a lapse ended in, at least.
    longest: Nanos,
    /// From the last order to the drive board's own report: how often, shortest, longest.
    reported: Option<(u64, Nanos, Nanos)>,
}

impl Lapse {
    /// The lapse is tied to the order that ran out: its place is the evidence.
    fn lapsed(&mut self, event: &Event) {
        self.open = true;
        match self.order {
            Some((at, offset, len)) => {
                self.certain.add(&Event { offset, len, ..event.clone() }, event.at - at.hi);
            }
            None => self.certain.add(event, 0),
        }
    }

    fn ordered(&mut self, event: &Event) {
        if let Some((before, ..)) = self.order.filter(|_| std::mem::take(&mut self.open)) {
            self.longest = self.longest.max(event.span.lo - before.hi);
        }
        self.order = Some((event.span, event.offset, event.len));
    }

    fn reported(&mut self, event: &Event) {
        let Some((order, ..)) = self.order else { return };
        let after = event.span.since(order);
        let (count, shortest, longest) = self.reported.unwrap_or((0, after.lo, after.hi));
        self.reported = Some((count + 1, shortest.min(after.lo), longest.max(after.hi)));
    }
}

const WORDS: Words = Words {
    id: "lapse",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "If the panel's own counter jumped, the radio lost messages; if start-up text follows, the command board was reset; if damaged frames stand just before it, the wire lost the repeats; if none of these, the sender sends only when something changes.",
    what_to_do: "Let the command board repeat its last order at least three times within the deadline.",
    check_after: "Hold one move still for a minute: no lapse.",
};

impl Rule for Lapse {
    fn id(&self) -> &'static str {
        "lapse"
    }

    fn looks_for(&self) -> &'static str {
        "deadlines that run out while a wheel is meant to turn"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Deadline]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame, Sort::Verdict, Sort::Tap]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        match event.what {
            Happening::Lapse { certain: true } => self.lapsed(event),
            Happening::Lapse { certain: false } => self.possible += 1,
            Happening::Frame(_) if view.is_order(event) => self.ordered(event),
            Happening::Frame(_) if view.kind(event).is_some_and(|kind| kind.role == Role::Lapse) => {
                self.reported(event);
            }
            Happening::PortGone { .. } | Happening::Lost { .. } => (self.order, self.open) = (None, false),
            _ => {}
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble == Trouble::Lapse {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let mut says = format!(
            "The deadline ran out {} while a wheel was meant to turn (go, stop, go); {} more may have",
            times_words(self.certain.count()),
            self.possible
        );
        if self.longest > 0 {
            says += &format!("; the longest gap that caused one was at least {}", least_words(self.longest));
        }
        if let Some((count, shortest, longest)) = self.reported {
            let (shortest, longest) = (time_words(shortest.max(0)), time_words(longest));
            says += &format!(
                "; the drive board reported it {}, {shortest} to {longest} after the order",
                times_words(count)
            );
        }
        says += &self.behind.words(&[]);
        let words = self.behind.into_words(&WORDS, &[Cause::SendsOnChange]);
        self.certain.finding(&words, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
