//! After a restart of the command board the gear comes back as the strongest: the next start is a hard one.

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct GearAfterRestart {
    ledger: Ledger,
    restarts: u64,
    ran: bool,
    fresh: bool,
    gear: i64,
}

const WORDS: Words = Words {
    id: "gear-after-restart",
    severity: Severity::Fault,
    layer: Layer::CommandBoard,
    confidence: Confidence::Certain,
    not: "Not the operator's choice: it is the gear of the first order after the start-up text, before any hand can have changed it.",
    what_to_do: "Let the command board begin in its lowest gear and ask for more only when the operator does. Until then choose the gear anew after each freeze.",
    check_after: "Twenty restarts: the first order has gear 1.",
};

impl Rule for GearAfterRestart {
    fn id(&self) -> &'static str {
        "gear-after-restart"
    }

    fn looks_for(&self) -> &'static str {
        "restarts after which the strongest gear is in force"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::StartUpText, Need::Gear]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Text]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if event.wire != Some(Wire::ToDrive) {
            return;
        }
        match &event.what {
            Happening::Text { class, .. } if self.ran && super::reset::sort(*class).is_some() => self.fresh = true,
            Happening::Frame(_) if view.is_order(event) => self.order(event, view),
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The gear came back as {}, the strongest, after {} of {} restarts of the command board",
            self.gear,
            self.ledger.count(),
            self.restarts
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

impl GearAfterRestart {
    fn order(&mut self, event: &Event, view: &View<'_>) {
        self.ran = true;
        if !std::mem::take(&mut self.fresh) {
            return;
        }
        self.restarts += 1;
        let strongest = view.rover.map_or(0, |rover| rover.meaning.mixer.gears.len()) as i64;
        if let Some(gear) = view.whole(event, Means::Gear).filter(|gear| *gear == strongest && strongest > 1) {
            self.gear = gear;
            self.ledger.add(event, 1);
        }
    }
}
