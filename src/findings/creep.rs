//! The rover never rests: where a rest is due, the same small order stands again and again.

use wheeltap_parsers::Nanos;

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::state::RoverState;
use crate::rover::wheels::{Duties, per_cent};

/// A stick that rests off its middle asks for no more than this, thousandths. Common practice, no source.
const SMALL: i32 = 120;
/// No hand keeps a small order exactly the same for longer. Common practice, no source.
const STILL: Nanos = 700_000_000;
/// So often the same small order, with no rest between.
const OFTEN: usize = 3;

/// A small order that has stood since it came.
#[derive(Clone, Debug)]
struct Stands {
    meant: Duties,
    since: Nanos,
    counted: bool,
}

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct Creep {
    ledger: Ledger,
    stands: Option<Stands>,
    /// The small order that came back since the last rest, and where: [`OFTEN`] places at most.
    again: Option<(Duties, Vec<Event>)>,
    strongest: i32,
}

const WORDS: Words = Words {
    id: "creep",
    severity: Severity::Fault,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "A hand that drives slowly is never quite still, and lets go in the end: here the very same small order came back, and no rest stood between. The wire cannot see the finger: let go of everything and look.",
    what_to_do: "Give the stick a dead zone around its middle, at the control panel and again in the drive board; set the middle anew when the panel starts.",
    check_after: "Hands off for a minute: every order on the wire is a rest.",
};

impl Creep {
    /// The order that stands has stood long enough.
    fn stood(&mut self, event: &Event) {
        let Some(stands) = self.stands.as_mut().filter(|stands| !stands.counted && event.at - stands.since >= STILL)
        else {
            return;
        };
        stands.counted = true;
        let meant = stands.meant;
        let same = self.again.take().filter(|(other, _)| *other == meant);
        let mut places = same.map_or_else(Vec::new, |(_, places)| places);
        if places.len() == OFTEN {
            self.ledger.add(event, 1);
        } else {
            places.push(event.clone());
            if places.len() == OFTEN {
                for place in &places {
                    self.ledger.add(place, 1);
                }
            }
        }
        if places.len() == OFTEN {
            self.strongest = self.strongest.max(strongest(meant));
        }
        self.again = Some((meant, places));
    }
}

fn strongest(meant: Duties) -> i32 {
    meant.iter().map(|duty| duty.abs()).max().unwrap_or(0)
}

impl Rule for Creep {
    fn id(&self) -> &'static str {
        "creep"
    }

    fn looks_for(&self) -> &'static str {
        "sticks that rest off their middle"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Cadence]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if !view.is_order(event) {
            return;
        }
        let Some(meant) = view.state.and_then(RoverState::meant) else { return };
        let strongest = strongest(meant);
        if strongest == 0 {
            (self.stands, self.again) = (None, None);
        } else if strongest > SMALL {
            self.stands = None;
        } else if self.stands.as_ref().is_some_and(|stands| stands.meant == meant) {
            self.stood(event);
        } else {
            self.stands = Some(Stands { meant, since: event.at, counted: false });
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "The same small order of {} % stood still {} where a rest was due, and no rest came between",
            per_cent(self.strongest),
            times_words(self.ledger.count())
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
