//! What waits to leave in the order of time, until nothing earlier can come.

use std::collections::BTreeMap;

use wheeltap_parsers::{LineClock, Nanos, Place, Told, Wire};

/// Something that happened in a dump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    /// A byte was complete.
    Byte {
        /// Which wire.
        wire: Wire,
        /// Bytes of this wire before it.
        offset: u64,
        /// The byte.
        byte: u8,
    },
    /// The clock of a wire so far.
    Clock(LineClock),
    /// The level of a wire became unknown.
    Gone(Wire),
    /// The level of a wire is known again.
    Back(Wire),
    /// What all wheels at one place are told from now on.
    Pins {
        /// Where.
        place: Place,
        /// What each is told.
        wheels: [Told; 4],
    },
    /// Nothing more up to now.
    Tick,
}

impl Item {
    /// The order of things at one instant.
    const fn rank(self) -> u8 {
        match self {
            Self::Byte { .. } => 0,
            Self::Clock(_) => 1,
            Self::Gone(_) | Self::Back(_) => 2,
            Self::Pins { .. } => 3,
            Self::Tick => 4,
        }
    }
}

/// A change of one wheel at one place.
#[derive(Clone, Copy, Debug)]
struct Change {
    place: Place,
    wheel: usize,
    told: Told,
}

/// All that waits.
#[derive(Clone, Debug)]
pub struct Waiting {
    items: BTreeMap<(Nanos, u8, u64), Item>,
    changes: BTreeMap<(Nanos, u64), Change>,
    count: u64,
    wheels: [[Told; 4]; 2],
    decided: Nanos,
}

impl Default for Waiting {
    fn default() -> Self {
        let wheels = [[Told::NotProbed; 4]; 2];
        Self { items: BTreeMap::new(), changes: BTreeMap::new(), count: 0, wheels, decided: Nanos::MIN }
    }
}

impl Waiting {
    /// Adds an item.
    pub fn add(&mut self, at: Nanos, item: Item) {
        self.count += 1;
        self.items.insert((at, item.rank(), self.count), item);
    }

    /// One wheel is told this from `at` on.
    pub fn tells(&mut self, at: Nanos, place: Place, wheel: usize, told: Told) {
        self.count += 1;
        self.changes.insert((at, self.count), Change { place, wheel, told });
    }

    /// Nothing that still comes lies before `at`.
    pub fn decided_to(&mut self, at: Nanos) {
        self.decided = self.decided.max(at);
    }

    /// The time of what may leave next, or up to when all has left.
    pub fn limit(&self) -> Nanos {
        let item = self.items.keys().next().map(|(at, ..)| *at);
        let change = self.changes.keys().next().map(|(at, _)| *at);
        [item, change].into_iter().flatten().fold(self.decided, Nanos::min)
    }

    /// The next item that may leave. Changes of wheels within the time `together` are told as one, dated by the last of
    /// them.
    pub fn next(&mut self, together: Nanos) -> Option<(Nanos, Item)> {
        while let Some((at, _)) = self.changes.keys().next().copied() {
            let behind_items = self.items.keys().next().is_some_and(|(item, ..)| *item < at);
            if at > self.decided || behind_items {
                break;
            }
            self.gather(at, at.saturating_add(together));
        }
        let key = *self.items.keys().next().filter(|(at, ..)| *at <= self.decided)?;
        self.items.remove(&key).map(|item| (key.0, item))
    }

    /// Makes one item of the first change and of those at the same place that follow it closely.
    fn gather(&mut self, from: Nanos, to: Nanos) {
        let Some(place) = self.changes.values().next().map(|change| change.place) else { return };
        let close = self.changes.range((from, 0)..=(to, u64::MAX));
        // What a wheel was told for a moment only is told too.
        let mut changed = [false; 4];
        let mut once = |wheel: usize| changed.get_mut(wheel).is_some_and(|changed| !std::mem::replace(changed, true));
        let here = close.filter(|(_, change)| change.place == place).map(|(key, change)| (*key, change.wheel));
        let same: Vec<(Nanos, u64)> = here.take_while(|(_, wheel)| once(*wheel)).map(|(key, _)| key).collect();
        let mut last = from;
        for key in same {
            let Some(change) = self.changes.remove(&key) else { continue };
            last = key.0;
            if let Some(told) = self.wheels[place.index()].get_mut(change.wheel) {
                *told = change.told;
            }
        }
        self.add(last, Item::Pins { place, wheels: self.wheels[place.index()] });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_close_together_are_one_dated_by_the_last() {
        let mut waiting = Waiting::default();
        let duty = Told::Duty;
        waiting.tells(1_000, Place::Wheel, 0, duty(600));
        waiting.tells(1_400, Place::Wheel, 3, duty(-600));
        waiting.tells(1_100, Place::Chip, 0, duty(600));
        waiting.tells(1_450, Place::Wheel, 0, duty(0));
        waiting.tells(9_000, Place::Wheel, 0, duty(100));
        waiting.add(1_200, Item::Tick);
        assert_eq!(waiting.next(500), None, "nothing is decided");
        waiting.decided_to(5_000);
        let none = Told::NotProbed;
        let pins = |place, wheels| Item::Pins { place, wheels };
        let due = [
            (1_100, pins(Place::Chip, [duty(600), none, none, none])),
            (1_200, Item::Tick),
            (1_400, pins(Place::Wheel, [duty(600), none, none, duty(-600)])),
            (1_450, pins(Place::Wheel, [duty(0), none, none, duty(-600)])),
        ];
        assert_eq!(std::iter::from_fn(|| waiting.next(500)).collect::<Vec<_>>(), due);
        assert_eq!(waiting.limit(), 5_000);
    }
}
