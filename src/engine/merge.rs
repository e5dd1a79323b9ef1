//! Merging two wires into one order of time.
//!
//! The key of a record is the latest instant of its last byte, never less than that of the record before it on the
//! same wire. Records leave in the order (key, wire, offset) once every open wire is known to have nothing earlier.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos, Wire};

use crate::engine::event::Event;

/// More waiting events than this are let out even though the other wire is not known to be past them, so that
/// memory stays bounded when one wire carries an endless run of noise.
const MOST_WAITING: usize = 4096;

/// One wire's side of the merge.
#[derive(Clone, Debug)]
struct Side {
    waiting: VecDeque<(Nanos, Event)>,
    /// Key of the newest record: the next one has no smaller key.
    newest: Nanos,
    /// Bytes that come from now on are complete no sooner. It says nothing of bytes that still wait for a decision.
    heard_to: Nanos,
    /// The earliest instant of the newest record: the next one is complete no sooner either.
    newest_lo: Nanos,
    open: bool,
    /// Whether it was ever open.
    tapped: bool,
}

impl Side {
    /// Nothing that comes or waits on this wire was complete before this instant.
    fn sure_to(&self, held: Option<Interval>) -> Nanos {
        let known = self.heard_to.max(self.newest_lo);
        let known = held.map_or(known, |held| known.min(held.lo));
        self.waiting.front().map_or(known, |(_, event)| known.min(event.span.lo))
    }
}

/// The merge of both wires and of remarks.
#[derive(Clone, Debug)]
pub struct Merge {
    sides: [Side; 2],
    remarks: VecDeque<(Nanos, Event)>,
}

impl Merge {
    /// An empty merge; `open` says which wires are tapped.
    pub fn new(open: [bool; 2]) -> Self {
        let side = |open| Side {
            waiting: VecDeque::new(),
            newest: Nanos::MIN,
            heard_to: Nanos::MIN,
            newest_lo: Nanos::MIN,
            open,
            tapped: open,
        };
        Self { sides: open.map(side), remarks: VecDeque::new() }
    }

    /// Adds a record of a wire.
    pub fn add(&mut self, wire: Wire, event: Event) {
        let side = &mut self.sides[wire.index()];
        let key = event.at.max(side.newest);
        side.newest = key;
        side.newest_lo = side.newest_lo.max(event.span.lo);
        side.waiting.push_back((key, event));
    }

    /// Adds something that belongs to no wire.
    pub fn remark(&mut self, event: Event) {
        let place = self.remarks.partition_point(|(at, _)| *at <= event.at);
        self.remarks.insert(place, (event.at, event));
    }

    /// Nothing earlier than `at` will come on this wire.
    pub fn passed(&mut self, wire: Wire, at: Nanos) {
        let side = &mut self.sides[wire.index()];
        side.heard_to = side.heard_to.max(at);
    }

    /// The latest instant of the wire's newest record.
    pub const fn newest(&self, wire: Wire) -> Nanos {
        self.sides[wire.index()].newest
    }

    /// Opens or closes a wire; a closed one holds nothing back.
    pub fn set_open(&mut self, wire: Wire, open: bool) {
        let side = &mut self.sides[wire.index()];
        side.open = open;
        side.tapped |= open;
    }

    /// Of all that is known of a wire, nothing more begins on it before this instant; `begun` is the first byte that
    /// stands in no record yet.
    pub fn quiet_to(&self, wire: Wire, begun: Option<Interval>) -> Nanos {
        let waiting = self.sides[wire.index()].waiting.front().filter(|(_, event)| event.len > 0);
        let waiting = waiting.map_or(Nanos::MAX, |(_, event)| event.begins.lo);
        begun.map_or(waiting, |begun| begun.lo.min(waiting))
    }

    /// A verdict whose threshold lies up to here is certain: nothing that still comes out happened before it.
    pub fn sure_to(&self, held: [Option<Interval>; 2]) -> Nanos {
        let mut sure = self.remarks.front().map(|(at, _)| *at);
        for (side, held) in self.sides.iter().zip(held).filter(|(side, _)| side.tapped) {
            let of_side = side.sure_to(held);
            sure = Some(sure.map_or(of_side, |sure| sure.min(of_side)));
        }
        sure.unwrap_or(Nanos::MIN)
    }

    /// Up to when, for each wire, nothing that still comes out was complete before, once this event has left. A wire whose
    /// reader was asleep may hold much older bytes than the event of the other.
    pub fn sure_at(&self, event: &Event, held: [Option<Interval>; 2]) -> [Nanos; 2] {
        Wire::BOTH.map(|wire| {
            let side = &self.sides[wire.index()];
            let own = event.wire == Some(wire) || !side.tapped;
            if own { event.span.lo } else { event.span.lo.min(side.sure_to(held[wire.index()])) }
        })
    }

    /// Nothing waits.
    fn is_empty(&self) -> bool {
        self.sides.iter().all(|side| side.waiting.is_empty()) && self.remarks.is_empty()
    }

    /// Nothing with a smaller key will come on this side; `held` is its earliest byte not yet decided.
    fn past(&self, wire: usize, held: [Option<Interval>; 2]) -> Nanos {
        let side = &self.sides[wire];
        if !side.open {
            return Nanos::MAX;
        }
        held[wire].map_or(Nanos::MAX, |held| held.hi).min(side.newest.max(side.heard_to))
    }

    /// The next event that may leave; at the `end` of input all may. Where keys are equal wire `>` comes
    /// first and a remark last: so an event of `>` waits until `<` has reached its key, one of `<` until `>` is past it,
    /// a remark until both are.
    pub fn next(&mut self, held: [Option<Interval>; 2], end: bool) -> Option<Event> {
        if self.is_empty() {
            return None;
        }
        let all = end || self.sides.iter().any(|side| side.waiting.len() > MOST_WAITING);
        let key = |list: &VecDeque<(Nanos, Event)>| list.front().map(|(key, _)| *key);
        let [a, b] = [key(&self.sides[0].waiting), key(&self.sides[1].waiting)];
        let remark = key(&self.remarks);
        let first = [a, b, remark].into_iter().flatten().min()?;
        let past = [self.past(0, held), self.past(1, held)];
        let (list, free) = if a == Some(first) {
            (&mut self.sides[0].waiting, first <= past[1])
        } else if b == Some(first) {
            (&mut self.sides[1].waiting, first < past[0])
        } else {
            (&mut self.remarks, first < past[0].min(past[1]))
        };
        if all || free { list.pop_front().map(|(_, event)| event) } else { None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::event::Happening;

    fn event(wire: Wire, at: Nanos) -> Event {
        let span = Interval::new(at, at);
        Event {
            at,
            span,
            begins: span,
            wire: Some(wire),
            offset: 0,
            len: 1,
            what: Happening::Lost { bytes: 0, damaged: false },
        }
    }

    fn order(ticks: &[Nanos]) -> Vec<(Wire, Nanos)> {
        let mut merge = Merge::new([true; 2]);
        merge.add(Wire::ToDrive, event(Wire::ToDrive, 30));
        for tick in ticks {
            merge.passed(Wire::ToDrive, *tick);
            merge.passed(Wire::FromDrive, *tick);
        }
        // A line without an end, heard at 5, is given up only now.
        merge.add(Wire::FromDrive, event(Wire::FromDrive, 5));
        let out = std::iter::from_fn(|| merge.next([None; 2], true));
        out.filter_map(|event| Some((event.wire?, event.at))).collect()
    }

    #[test]
    fn a_verdict_waits_for_every_byte_that_may_have_come_before_it() {
        let mut merge = Merge::new([true; 2]);
        merge.passed(Wire::ToDrive, 50);
        merge.passed(Wire::FromDrive, 50);
        assert_eq!(merge.sure_to([None; 2]), 50);
        assert_eq!(merge.sure_to([None, Some(Interval::new(12, 40))]), 12);
        let late = Event { span: Interval::new(20, 60), ..event(Wire::ToDrive, 60) };
        merge.add(Wire::ToDrive, late);
        assert_eq!(merge.sure_to([None; 2]), 20);
        // A port that is gone vouches for nothing but its ticks.
        merge.set_open(Wire::FromDrive, false);
        merge.next([None; 2], true);
        assert_eq!(merge.sure_to([None; 2]), 50);
    }

    #[test]
    fn a_tick_does_not_move_what_was_heard_before_it() {
        let right = [(Wire::FromDrive, 5), (Wire::ToDrive, 30)];
        assert_eq!(order(&[]), right);
        assert_eq!(order(&[20, 50]), right);
    }
}
