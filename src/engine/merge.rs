//! Merging two wires into one order of time.
//!
//! The key of a record is the latest instant of its last byte, never less than that of the record before it on the
//! same wire. Records leave in the order (key, wire, offset) once every open wire is known to have nothing earlier.

use std::collections::VecDeque;

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::Event;

/// More waiting events than this are let out even though the other wire is not known to be past them, so that
/// memory stays bounded when one wire carries an endless run of noise.
const MOST_WAITING: usize = 4096;

/// One wire's side of the merge.
#[derive(Clone, Debug)]
struct Side {
    waiting: VecDeque<(Nanos, Event)>,
    /// Nothing with a smaller key will come.
    watermark: Nanos,
    open: bool,
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
        let side = |open| Side { waiting: VecDeque::new(), watermark: Nanos::MIN, open };
        Self { sides: open.map(side), remarks: VecDeque::new() }
    }

    /// Adds a record of a wire.
    pub fn add(&mut self, wire: Wire, event: Event) {
        let side = &mut self.sides[wire.index()];
        let key = event.at.max(side.watermark);
        side.watermark = key;
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
        side.watermark = side.watermark.max(at);
    }

    /// Opens or closes a wire; a closed one holds nothing back.
    pub fn set_open(&mut self, wire: Wire, open: bool) {
        self.sides[wire.index()].open = open;
    }

    /// Every open wire is past this instant. `held` is, by wire, the earliest instant of bytes not yet decided.
    pub fn horizon(&self, held: [Option<Nanos>; 2]) -> Nanos {
        let open = self.sides.iter().zip(held).filter(|(side, _)| side.open);
        open.map(|(side, held)| held.map_or(side.watermark, |held| held.min(side.watermark)))
            .min()
            .unwrap_or(Nanos::MAX)
    }

    /// The next event that may leave. At the end of input `horizon` is [`Nanos::MAX`].
    pub fn next(&mut self, horizon: Nanos) -> Option<Event> {
        let full = self.sides.iter().any(|side| side.waiting.len() > MOST_WAITING);
        let key = |list: &VecDeque<(Nanos, Event)>| list.front().map(|(key, _)| *key);
        let [a, b] = [key(&self.sides[0].waiting), key(&self.sides[1].waiting)];
        let remark = key(&self.remarks);
        let first = [a, b, remark].into_iter().flatten().min()?;
        // On one wire alone records are in order already; only the other wire can hold them back.
        let alone = |wire: usize| !self.sides[1 - wire].open && self.sides[1 - wire].waiting.is_empty();
        let list = if a == Some(first) {
            (first <= horizon || full || alone(0)).then_some(&mut self.sides[0].waiting)
        } else if b == Some(first) {
            (first <= horizon || full || alone(1)).then_some(&mut self.sides[1].waiting)
        } else {
            (first <= horizon).then_some(&mut self.remarks)
        };
        list?.pop_front().map(|(_, event)| event)
    }
}
