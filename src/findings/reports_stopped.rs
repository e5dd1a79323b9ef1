//! The drive board told of itself at a steady pace, and stopped while orders went on.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos, TextClass, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, least_words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Role;

/// How many times between two reports say what is usual.
const USUAL: usize = 16;
/// Silence of so many usual times, and of this long, is none of them. Common practice, no source.
const TIMES: Nanos = 8;
const LONG: Nanos = 1_000_000_000;
/// So many orders in it: where a report comes with each order, none is due without one.
const ORDERS: u64 = 8;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct ReportsStopped {
    ledger: Ledger,
    /// Times between reports, at most.
    recent: VecDeque<Nanos>,
    /// The last report, or whatever else was heard of the drive board.
    last: Option<Interval>,
    /// Orders since.
    orders: u64,
    told: bool,
    longest: Nanos,
}

const WORDS: Words = Words {
    id: "reports-stopped",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "Not a busy wire: nothing at all came back meanwhile, neither start-up text nor anything broken. If the wheels still obey, only the way back is cut; if they do not, the drive board hangs or has lost its supply.",
    what_to_do: "See what the wheels did at those times, hands clear. Then look at the drive board's loop for a wait without an end, at its supply, and at the lead from its transmit pin.",
    check_after: "Ten minutes of driving: reports come as long as orders do.",
};

impl ReportsStopped {
    fn heard(&mut self, event: &Event, report: bool) {
        if let Some(last) = self.last.filter(|_| report && !self.told) {
            if self.recent.len() == USUAL {
                self.recent.pop_front();
            }
            self.recent.push_back(event.span.since(last).hi);
        }
        if let Some(last) = self.last.filter(|_| self.told) {
            self.longest = self.longest.max(event.span.since(last).lo);
        }
        (self.last, self.orders, self.told) = (Some(event.span), 0, false);
    }

    fn order(&mut self, event: &Event) {
        self.orders += 1;
        let silence = self.last.map_or(0, |last| event.span.since(last).lo);
        if self.orders < ORDERS || silence < LONG || silence < TIMES * self.usual() {
            return;
        }
        self.longest = self.longest.max(silence);
        if !self.told {
            self.told = true;
            self.ledger.add(event, silence);
        }
    }

    /// Half of the times between reports were no longer.
    fn usual(&self) -> Nanos {
        let mut sorted: Vec<Nanos> = self.recent.iter().copied().collect();
        sorted.sort_unstable();
        if sorted.len() < USUAL { Nanos::MAX / TIMES } else { sorted.get(USUAL / 2).copied().unwrap_or(LONG) }
    }
}

impl Rule for ReportsStopped {
    fn id(&self) -> &'static str {
        "reports-stopped"
    }

    fn looks_for(&self) -> &'static str {
        "drive boards that fall silent while orders go on"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Answers]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let role = view.kind(event).map(|kind| kind.role);
        match (&event.what, event.wire) {
            (Happening::PortGone { .. } | Happening::PortBack { .. } | Happening::Lost { .. }, _) => {
                *self = Self { last: None, told: false, ..std::mem::take(self) };
            }
            (Happening::Text { class: TextClass::Start { .. }, .. }, Some(Wire::FromDrive)) => self.last = None,
            (Happening::Frame(_), Some(Wire::FromDrive)) if role == Some(Role::Hello) => self.last = None,
            (_, Some(Wire::FromDrive)) if event.len > 0 => self.heard(event, role == Some(Role::Report)),
            (Happening::Frame(_), _) if view.is_order(event) => self.order(event),
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The drive board fell silent while orders went on, {}; the longest for at least {}",
            times_words(self.ledger.count()),
            least_words(self.longest)
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
