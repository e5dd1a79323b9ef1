//! Things that become due one after the other.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

/// Things in the order in which they become due.
#[derive(Clone, Debug)]
pub(super) struct Timetable<T>(VecDeque<(Nanos, T)>);

impl<T> Timetable<T> {
    pub(super) const fn new() -> Self {
        Self(VecDeque::new())
    }

    /// Adds one that is due at `at`, or with the last one where that is later.
    pub(super) fn add(&mut self, at: Nanos, thing: T) {
        let last = self.0.back().map_or(at, |(last, _)| *last);
        self.0.push_back((at.max(last), thing));
    }

    /// When the next one is due.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        self.0.front().map(|(at, _)| *at)
    }

    /// The next one that is due by `now`.
    pub(super) fn take(&mut self, now: Nanos) -> Option<T> {
        if self.next_at()? > now {
            return None;
        }
        self.0.pop_front().map(|(_, thing)| thing)
    }

    /// Forgets all.
    pub(super) fn clear(&mut self) {
        self.0.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_overtakes_and_nothing_comes_early() {
        let mut table = Timetable::new();
        table.add(5, 'a');
        table.add(3, 'b');
        table.add(9, 'c');
        assert_eq!(table.take(4), None);
        assert_eq!((table.take(5), table.take(5), table.take(5)), (Some('a'), Some('b'), None));
        assert_eq!(table.next_at(), Some(9));
        table.clear();
        assert_eq!(table.next_at(), None);
    }
}
