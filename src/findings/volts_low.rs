//! The pack is under the volts at which it must rest, and a wheel is still meant to turn.

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;
use crate::rover::state::RoverState;

/// A pack that is under its limit for so long is empty; a hard start pulls it down for less. Common practice, no source.
const LONG: Nanos = 1_000_000_000;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct VoltsLow {
    ledger: Ledger,
    /// Since when each answer has told of a pack under its limit, with a wheel meant to turn; and whether it was counted.
    under: Option<(Nanos, bool)>,
    /// Lowest told while it was counted, and the limit, millivolts.
    lowest: Option<(i64, i64)>,
}

const WORDS: Words = Words {
    id: "volts-low",
    severity: Severity::Danger,
    layer: Layer::Power,
    confidence: Confidence::Certain,
    not: "Not the dip of a hard start: that one is over within a second. The volts are those that the drive board measured and told; a wrong divider tells wrong ones, so measure once at the pack.",
    what_to_do: "Stop driving and charge the pack: a lithium pack that is emptied further is spoiled and can burn when charged. Let the drive board rest at this limit by itself, and warn before it.",
    check_after: "From a bench supply that is turned down slowly, wheels off the ground: they rest at the limit.",
};

impl Rule for VoltsLow {
    fn id(&self) -> &'static str {
        "volts-low"
    }

    fn looks_for(&self) -> &'static str {
        "packs under their limit while a wheel is meant to turn"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Volts, Need::StopVolts]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if !view.state.is_some_and(RoverState::moving) {
            self.under = None;
            return;
        }
        let told = event.wire == Some(Wire::FromDrive)
            && view.kind(event).is_some_and(|kind| kind.field(Means::Volts).is_some());
        let limit = view.rover.and_then(|rover| rover.machine.pack?.stop);
        let pack = view.state.and_then(RoverState::pack_millivolts);
        let (Some(pack), Some(limit), true) = (pack, limit, told) else { return };
        if pack >= limit {
            self.under = None;
            return;
        }
        let (since, counted) = self.under.unwrap_or((event.at, false));
        let long = event.at - since >= LONG;
        if long {
            self.lowest = Some((self.lowest.map_or(pack, |(lowest, _)| lowest.min(pack)), limit));
        }
        if long && !counted {
            self.ledger.add(event, limit - pack);
        }
        self.under = Some((since, counted || long));
    }

    fn findings(&self) -> Vec<Finding> {
        let volts = |millivolts: i64| format!("{}.{} V", millivolts / 1000, millivolts % 1000 / 100);
        let (lowest, limit) = self.lowest.unwrap_or_default();
        let says = format!(
            "The pack was under its limit of {} for a second or more while a wheel was meant to turn, {}; lowest {}",
            volts(limit),
            times_words(self.ledger.count()),
            volts(lowest)
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
