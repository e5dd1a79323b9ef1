//! On a press-and-release link a move follows a move with no rest between, or stands for ever: a release may never have
//! been sent.

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::{Event, Flag, Happening};
use crate::findings::ledger::{Ledger, Words, least_words, time_words, times_words};
use crate::findings::nearly_an_order::nearly;
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::{Means, Obeys};
use crate::rover::state::RoverState;
use crate::timing::cadence::Rhythm;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoRestBetween {
    ledger: Ledger,
    /// Something since the last order may have been the rest before it was hit.
    hit: bool,
    /// Moves that stood too long.
    stood: Ledger,
    /// The longest of them, and the longest of those before it.
    longest: Option<(Nanos, Nanos)>,
    /// The move that stands: its order, and whether it was told.
    stands: Option<(Event, bool)>,
    /// Moves that ended, and how long the longest of them stood.
    ended: (u64, Nanos),
}

/// A move stands too long after so many moves, when it stands for so long and so many times longer than the longest of
/// them. *Common practice, no source*: a finger stays on a button for seconds.
const MOVES: u64 = 5;
const LONG: Nanos = 30_000_000_000;
const LONGER: Nanos = 10;

const WORDS: Words = Words {
    id: "no-rest-between",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "On a link whose orders run out by themselves this is not counted. A panel that lets a finger slide from one button to the next may do this by design: try that by hand.",
    what_to_do: "See whether lifting the finger always sends the rest. Let the panel repeat the rest three times.",
    check_after: "A hundred releases: a rest on the wire after each.",
};

const STANDS: Words = Words {
    id: "move-stands",
    severity: Severity::Doubt,
    layer: Layer::Panel,
    confidence: Confidence::Possible,
    not: "A person may have meant it: then it is right. That the rover still moves the wire does not show; nothing on it would stop it.",
    what_to_do: "If nobody held the button, its release was never sent: let the panel repeat the rest three times, and give the drive board a deadline of 200 to 300 ms. Until then keep a hand at the pack plug.",
    check_after: "A hundred releases: a rest on the wire after each.",
};

impl NoRestBetween {
    /// A press or a release came at `event`.
    fn press(&mut self, event: &Event, moves: bool) {
        if let Some((begun, told)) = self.stands.take() {
            let stood = event.at - begun.at;
            if told {
                self.longest = self.longest.map(|(longest, before)| (longest.max(stood), before));
            } else {
                self.ended = (self.ended.0 + 1, self.ended.1.max(stood));
            }
        }
        self.stands = moves.then(|| (event.clone(), false));
    }
}

impl Rule for NoRestBetween {
    fn id(&self) -> &'static str {
        "no-rest-between"
    }

    fn looks_for(&self) -> &'static str {
        "releases that were never sent"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Moves]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Damage, Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Happening::Frame(frame) = &event.what else {
            let broken = matches!(event.what, Happening::Damage { .. }) && event.wire == Some(Wire::ToDrive);
            self.hit |= broken || nearly(event, view).is_some();
            return;
        };
        // A reader of lines takes a glued rest for the end of the text before it: it was sent, and lost.
        if frame.flags.has(Flag::Glued) {
            self.hit = true;
            return;
        }
        // Where orders run out by themselves a rest that was never sent ends the move all the same, and moves may blend.
        let runs_out =
            view.rover.is_some_and(|rover| matches!(rover.meaning.reader.obeys, Obeys::For(_) | Obeys::DeadlineField));
        // Where a twist is ordered, another word for the motion is no other press.
        let press = view.kind(event).is_some_and(|kind| kind.field(Means::Move).is_some());
        let hit = press && std::mem::take(&mut self.hit);
        if press && !runs_out {
            let again = self.stands.is_some() && !frame.flags.has(Flag::NoRestBetween);
            match view.state.is_some_and(RoverState::moving) {
                true if again => {}
                moves => self.press(event, moves),
            }
        }
        if press && !hit && !runs_out && frame.flags.has(Flag::NoRestBetween) && view.rhythm == Rhythm::OnChange {
            self.ledger.add(event, 1);
        }
    }

    fn watches_time(&self) -> bool {
        true
    }

    fn passes(&mut self, until: Nanos, view: &View<'_>) {
        let Some((begun, told)) = &mut self.stands else { return };
        let (moves, before) = self.ended;
        let limit = LONG.max(LONGER * before);
        if *told && view.state.is_some_and(RoverState::moving) {
            self.longest = self.longest.map(|(longest, before)| (longest.max(until - begun.at), before));
        }
        if *told || moves < MOVES || until - begun.at < limit || view.rhythm != Rhythm::OnChange {
            return;
        }
        // A port that went away, a start of the drive board: nobody knows what is in force.
        if !view.state.is_some_and(RoverState::moving) {
            self.stands = None;
            return;
        }
        *told = true;
        let at = begun.at + limit;
        self.stood.add(&Event { at, ..begun.clone() }, limit);
        let (longest, other) = self.longest.unwrap_or_default();
        self.longest = Some((longest.max(limit), other.max(before)));
    }

    fn findings(&self) -> Vec<Finding> {
        let (longest, before) = self.longest.unwrap_or_default();
        let stood = format!(
            "A move stood for at least {} without a rest, where the longest before stood for {}, {}: its release may never \
             have been sent",
            least_words(longest),
            time_words(before),
            times_words(self.stood.count())
        );
        let says = format!(
            "A move followed a move with no rest between, {}: a release may never have been sent",
            times_words(self.ledger.count())
        );
        [self.ledger.finding(&WORDS, says), self.stood.finding(&STANDS, stood)].into_iter().flatten().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
