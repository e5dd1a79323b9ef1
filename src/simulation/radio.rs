//! The air between the panel and the command board.

use wheeltap_parsers::Nanos;

use super::chance::Chance;
use super::panel::Message;
use super::timetable::Timetable;
use super::{Fault, MS, Settings};

/// How long before the end of a gap messages are late rather than lost.
const KEPT: Nanos = 250 * MS;

/// Messages on their way, in order.
#[derive(Clone, Debug)]
pub(super) struct Radio {
    drops_out: bool,
    chance: Chance,
    air: Timetable<Message>,
    last: Nanos,
    gap: (Nanos, Nanos),
}

impl Radio {
    pub(super) fn new(settings: &Settings) -> Self {
        let mut radio = Self {
            drops_out: settings.has(Fault::RadioGaps),
            chance: Chance::new(settings.seed, 2),
            air: Timetable::new(),
            last: 0,
            gap: (0, 0),
        };
        radio.gap = radio.next_gap(0);
        radio
    }

    fn next_gap(&mut self, after: Nanos) -> (Nanos, Nanos) {
        let begins = after + self.chance.span(3_000 * MS, 8_000 * MS);
        (begins, begins + self.chance.span(450 * MS, 800 * MS))
    }

    /// Sends a message off at `at`. In a gap it is lost, or, near the end of the gap, arrives with others in a bunch.
    pub(super) fn send(&mut self, at: Nanos, message: Message) {
        while self.drops_out && at >= self.gap.1 {
            self.gap = self.next_gap(self.gap.1);
        }
        let travel = self.chance.span(8 * MS, 22 * MS);
        let arrives = if !self.drops_out || at < self.gap.0 {
            at + travel
        } else if at < self.gap.1 - KEPT {
            return;
        } else {
            self.gap.1 + travel / 10
        };
        self.last = arrives.max(self.last + 200_000);
        self.air.add(self.last, message);
    }

    /// When the next message arrives.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        self.air.next_at()
    }

    /// The message that has arrived by `now`, if there is one.
    pub(super) fn arrived(&mut self, now: Nanos) -> Option<Message> {
        self.air.take(now)
    }
}
