//! What the pins told a wheel parts from what was meant, or the pins at both ends of the loom part from each other.
//!
//! Needs a recording of levels. With the pins at the chip it names the drive board's firmware; with the pins at both
//! ends it names the loom; with the far end alone it names neither.

mod episode;

use std::collections::VecDeque;

use wheeltap_parsers::{Nanos, Pins, Place, TextClass, Told, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::clock_beyond::{is_beyond, is_heard_beyond};
use crate::findings::ledger::{Ledger, Words, time_words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Role;
use crate::rover::wheels::{Duties, Wheel};
use crate::timing::link::DutyKnown;
use episode::{Episode, Known, Parting};

/// An order is carried out within this time after its last byte, nanoseconds, and the time it takes on the wire.
const SETTLES: Nanos = 20_000_000;
/// A parting is judged this long after it began: by then it is known whether the drive board started anew.
const HORIZON: Nanos = 300_000_000;
/// A drive board that answers, and has been silent for so long beside an order that waits, does not hear, nanoseconds.
/// Until then it may be late: what it has not read yet its pins cannot show.
const PATIENCE: Nanos = 1_000_000_000;
/// The most orders that wait for an answer; older ones are forgotten.
const MOST_WAITING: usize = 256;

/// What is held against what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pair {
    /// The pins at the chip against what is meant.
    Firmware,
    /// The pins at the wheel against those at the chip.
    Loom,
    /// The pins at the wheel against what is meant, where the chip's are not recorded.
    Either,
}

/// One finding's ledger: a cause at a wheel.
#[derive(Clone, Debug)]
struct Entry {
    words: &'static Words,
    wheel: Wheel,
    ledger: Ledger,
    worst: Parting,
    longest: Nanos,
}

/// The rule's ledgers.
#[derive(Clone, Debug, Default)]
pub struct PinsApart {
    pins: [[Told; 4]; 2],
    meant: Option<Duties>,
    known: [[DutyKnown; 4]; 2],
    line: Nanos,
    /// When a frame was damaged on the wire to the drive board.
    damaged: Option<Nanos>,
    /// When the drive board last answered.
    answered: Option<Nanos>,
    /// Orders that wait for their answer, by their time.
    waiting: VecDeque<Nanos>,
    /// When an order last changed what is meant.
    changed: Nanos,
    /// No receiver bears the clock of the command board.
    clock_beyond: bool,
    /// The wire back is tapped, and it should carry answers.
    answers: bool,
    open: Vec<Episode>,
    entries: Vec<Entry>,
}

const FIRMWARE: Words = Words {
    id: "pins-firmware",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "Not the loom: this stands at the drive board's own pins. Two probes exchanged look the same. If no later order moves them either, look for a wire that is cut behind the tap. If the rover file is wrong, the pins are right and `meant` is not: compare one move by hand.",
    what_to_do: "Wheels off the ground. Compare the drive board's table for this wheel (pins, sign, scale of the duty, deadline) with the rover file.",
    check_after: "Record the same move again: seen at the chip equals meant within 1 %.",
};

const RUNS_ON: Words = Words {
    id: "pins-run-on",
    severity: Severity::Danger,
    not: "Not the loom: this stands at the drive board's own pins. If no later order moves them either, look for a wire that is cut behind the tap.",
    what_to_do: "Keep a hand at the pack's plug, wheels off the ground. Let the drive board stop at each rest, and by itself once its deadline has run out; compare that deadline with the rover file.",
    check_after: "Pull the wire in a move, wheels off the ground: the pins rest within the deadline, ten times of ten.",
    ..FIRMWARE
};

const LOOM: Words = Words {
    id: "pins-loom",
    severity: Severity::Fault,
    layer: Layer::Driver,
    confidence: Confidence::Certain,
    not: "Not the firmware: the chip's own pins are told something else at the same time. A probe on the wrong lead looks the same: see which lead each probe sits on.",
    what_to_do: "Unplug the pack. Follow the leads and plugs of this wheel from the drive board to the probes.",
    check_after: "Record the same move again: seen at the wheel equals seen at the chip.",
};

const EITHER: Words = Words {
    id: "pins-apart",
    severity: Severity::Fault,
    layer: Layer::Driver,
    confidence: Confidence::Possible,
    not: "The drive board's firmware and the loom look the same from here: the pins at the chip, recorded too, would tell them apart.",
    what_to_do: "Record the drive board's own pins together with those at the wheel.",
    check_after: "Record the same move again: seen at the wheel equals meant within 1 %.",
};

const UNHEARD: Words = Words {
    id: "pins-unheard",
    severity: Severity::Danger,
    layer: Layer::Wire,
    confidence: Confidence::Possible,
    not: "Not the firmware's table: the drive board does not answer these orders either. A board that hangs looks the same: see whether it answers after a reset.",
    what_to_do: "Unplug the pack. Follow the wire from the tap to the drive board's receive pin.",
    check_after: "Every order is answered, and the pins follow.",
};

impl PinsApart {
    /// Time has come to `now`: partings that are old enough are judged.
    fn pass(&mut self, now: Nanos, event: &Event) {
        let settles = SETTLES + self.line;
        let short = |episode: &Episode| episode.end.is_some_and(|end| end - episode.begin <= settles);
        let all = std::mem::take(&mut self.open).into_iter().filter(|episode| !short(episode));
        let deaf = self.is_deaf(now);
        let (due, open) = all.partition(|episode| {
            let waits = !deaf && !episode.judged && episode.pair != Pair::Loom && self.is_behind(episode);
            now >= episode.begin + HORIZON && !waits
        });
        self.open = open;
        for mut episode in due {
            let lasted = episode.end.unwrap_or(now) - episode.begin;
            if !episode.explained && !episode.judged && lasted > settles {
                self.judge(&episode, now, event);
            }
            episode.judged = true;
            if episode.end.is_none() {
                episode.begin = now;
                self.open.push(episode);
            }
        }
    }

    fn judge(&mut self, episode: &Episode, now: Nanos, event: &Event) {
        let (parting, lasted) = (episode.lasting(now).0, episode.end.unwrap_or(now) - episode.begin);
        let unheard = self.is_behind(episode) && self.is_deaf(now) || self.clock_beyond && self.answered.is_none();
        let words = match episode.pair {
            Pair::Loom => &LOOM,
            _ if unheard => &UNHEARD,
            Pair::Firmware if parting.runs_on() => &RUNS_ON,
            Pair::Firmware => &FIRMWARE,
            Pair::Either => &EITHER,
        };
        let at = episode.begin + SETTLES + self.line;
        let place = Event { at, wire: Some(Wire::ToDrive), len: 0, ..event.clone() };
        let known = self.entries.iter().position(|entry| (entry.words.id, entry.wheel) == (words.id, episode.wheel));
        let place_of = known.unwrap_or_else(|| {
            let wheel = episode.wheel;
            self.entries.push(Entry { words, wheel, ledger: Ledger::default(), worst: parting, longest: 0 });
            self.entries.len() - 1
        });
        if let Some(entry) = self.entries.get_mut(place_of) {
            entry.ledger.add(&place, parting.weight().into());
            entry.longest = entry.longest.max(lasted);
            if parting.weight() > entry.worst.weight() {
                entry.worst = parting;
            }
        }
    }

    /// An order from before this parting, or the one that says what is meant, waits for its answer.
    fn is_behind(&self, episode: &Episode) -> bool {
        self.answers && waits(self.waiting.front(), self.changed, episode)
    }

    /// The drive board has been silent for too long beside an order that waits.
    fn is_deaf(&self, now: Nanos) -> bool {
        let first = self.waiting.front().copied();
        first.is_some_and(|first| now - self.answered.map_or(first, |answered| answered.max(first)) >= PATIENCE)
    }

    /// An answer: the orders up to its own wait no more. What the pins showed before it says nothing of the order that
    /// the board has only now read.
    fn answer(&mut self, event: &Event) {
        let before = self.waiting.front().copied();
        self.answered = Some(event.at);
        match event.reply() {
            Some(reply) => {
                let order = event.at - reply.delay.lo;
                self.waiting.retain(|waits| *waits > order);
            }
            None => self.waiting.clear(),
        }
        let (answers, changed, now) = (self.answers, self.changed, self.waiting.front());
        for episode in self.open.iter_mut().filter(|one| answers && one.pair != Pair::Loom && !one.judged) {
            if waits(before.as_ref(), changed, episode) && !waits(now, changed, episode) {
                episode.explained |= episode.end.is_some();
                episode.begin = event.at;
            }
        }
    }

    /// What the event says besides levels.
    fn note(&mut self, event: &Event, view: &View<'_>) {
        let role = view.kind(event).map(|kind| kind.role);
        match (&event.what, event.wire) {
            (Happening::Pins(Pins { place, wheels, .. }), _) => self.pins[place.index()] = *wheels,
            (Happening::Frame(_), Some(Wire::ToDrive)) if role == Some(Role::Order) => {
                self.line =
                    event.len as i64 * 10_000_000_000 / i64::from(view.rover.map_or(115_200, |rover| rover.rate));
                if self.waiting.len() == MOST_WAITING {
                    self.waiting.pop_front();
                }
                self.waiting.push_back(event.at);
            }
            (Happening::Frame(_), Some(Wire::FromDrive)) if role == Some(Role::Answer) => {
                self.answer(event);
            }
            (Happening::Frame(_), Some(Wire::FromDrive)) if role == Some(Role::Hello) => self.explain(|_| true),
            (Happening::Text { class: TextClass::Start { .. } | TextClass::Reset(_), .. }, Some(Wire::FromDrive)) => {
                self.explain(|_| true);
            }
            (Happening::Clock(clock), _) => self.clock_beyond |= is_beyond(clock),
            (Happening::Damage { .. } | Happening::Noise { .. } | Happening::Text { .. }, Some(Wire::ToDrive)) => {
                self.damaged = Some(event.at);
                self.explain(|episode| event.at - episode.begin < SETTLES);
            }
            _ => {}
        }
    }

    /// Partings from what is meant have another cause.
    fn explain(&mut self, which: impl Fn(&Episode) -> bool) {
        for episode in self.open.iter_mut().filter(|episode| episode.pair != Pair::Loom && which(episode)) {
            episode.explained = true;
        }
    }

    /// Opens and closes partings of a wheel as things stand at `at`.
    fn compare(&mut self, wheel: Wheel, at: Nanos) {
        let seen = |place: Place| Known {
            told: self.pins[place.index()][wheel.index()],
            duty: self.known[place.index()][wheel.index()],
        };
        let [chip, far] = Place::BOTH.map(seen);
        let meant = Known::whole(self.meant.map(|meant| Told::Duty(meant[wheel.index()])).unwrap_or_default());
        let either = if chip.told == Told::NotProbed { far } else { Known::whole(Told::NotProbed) };
        for (pair, one, other) in
            [(Pair::Firmware, meant, chip), (Pair::Loom, chip, far), (Pair::Either, meant, either)]
        {
            self.parts(pair, wheel, at, Parting::of(one, other));
        }
    }

    fn parts(&mut self, pair: Pair, wheel: Wheel, at: Nanos, parting: Option<Parting>) {
        let damaged = self.damaged.is_some_and(|damaged| at - damaged < HORIZON) && pair != Pair::Loom;
        let running = |episode: &&mut Episode| (episode.pair, episode.wheel, episode.end) == (pair, wheel, None);
        match (self.open.iter_mut().find(running), parting) {
            (Some(episode), None) => episode.end = Some(at),
            (Some(episode), Some(parting)) => episode.changes(at, parting),
            (None, Some(parting)) => self.open.push(Episode::new(pair, wheel, at, parting, damaged)),
            (None, None) => {}
        }
    }
}

/// Whether the first order that waits came before this parting, or is the one that last changed what is meant.
fn waits(first: Option<&Nanos>, changed: Nanos, episode: &Episode) -> bool {
    first.is_some_and(|first| *first <= changed.max(episode.begin))
}

/// Whether the wire back of this rover carries answers.
fn answers(view: &View<'_>) -> bool {
    let kinds = view.rover.map(|rover| &rover.meaning.kinds[Wire::FromDrive.index()]);
    kinds.is_some_and(|kinds| kinds.iter().any(|kind| kind.role == Role::Answer))
}

impl Rule for PinsApart {
    fn id(&self) -> &'static str {
        "pins-apart"
    }

    fn looks_for(&self) -> &'static str {
        "wheels whose pins are told something else than is meant"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Pins]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        self.clock_beyond |= is_heard_beyond(view);
        self.answers = view.tapped[Wire::FromDrive.index()] && answers(view);
        self.pass(event.at, event);
        self.note(event, view);
        self.known = view.dump.unwrap_or_default();
        let meant = view.state.and_then(crate::rover::state::RoverState::meant);
        if meant != self.meant && view.is_order(event) {
            self.changed = event.at;
        }
        self.meant = meant;
        for wheel in Wheel::ALL {
            self.compare(wheel, event.at);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        self.entries.iter().filter_map(Entry::finding).collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

impl Entry {
    fn finding(&self) -> Option<Finding> {
        let [one, other] = match self.words.id {
            "pins-loom" => ["the chip told", "the wheel's inputs were told"],
            "pins-apart" => ["meant was", "the wheel's inputs were told"],
            _ => ["meant was", "the chip told"],
        };
        let says = format!(
            "{}: {one} {}, {other} {} ({}); {} for longer than an order takes, the longest for {} at least",
            self.wheel.name(),
            self.worst.one_words(),
            self.worst.other_words(),
            self.worst.sort(),
            times_words(self.ledger.count()),
            time_words(self.longest),
        );
        let finding = self.ledger.finding(self.words, says)?;
        Some(Finding { wheel: Some(self.wheel), ..finding })
    }
}
