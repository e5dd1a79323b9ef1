//! The decoder of one wire.

use std::sync::Arc;

use crate::chunk::{Chunk, Interval, Nanos, Wire};
use crate::flow::{Flow, Plan};
use crate::framing::{
    delimited::{Code, Delimited},
    lines::Lines,
    markers::Markers,
    sync_length::{Size, SyncLength},
};
use crate::profile::{Framing, Profile};
use crate::record::Sink;

/// Bytes taken in at a time, so that a big chunk needs no more memory than a small one.
const BITE: usize = 4096;

/// Turns the chunks of one wire into records. Cloning it keeps its place.
///
/// It holds back at most [`Profile::longest`] and about a thousand bytes more, whatever comes in.
#[derive(Clone, Debug)]
pub struct Decoder {
    plan: Arc<Plan>,
    flow: Flow,
    state: State,
}

/// Where the framing stands.
#[derive(Clone, Debug)]
enum State {
    Lines(Lines),
    Markers(Markers),
    Delimited(Delimited),
    SyncLength(SyncLength),
}

impl Decoder {
    /// A decoder at the start of `wire`.
    pub fn new(wire: Wire, profile: Arc<Profile>) -> Self {
        let plan = Plan::new(profile);
        let state = match &plan.profile.framing {
            Framing::Lines { start, end } => State::Lines(Lines::new(start, end, &plan)),
            Framing::Markers { first } => State::Markers(Markers::new(*first, &plan)),
            Framing::Cobs => State::Delimited(Delimited::new(Code::Cobs, &plan)),
            Framing::Slip => State::Delimited(Delimited::new(Code::Slip, &plan)),
            Framing::Stuffed => State::Delimited(Delimited::new(Code::Stuffed, &plan)),
            Framing::Fixed { sync, len } => State::SyncLength(SyncLength::new(sync, Size::Fixed(*len), &plan)),
            Framing::SyncLength { sync, beyond } => {
                State::SyncLength(SyncLength::new(sync, Size::Said { beyond: *beyond }, &plan))
            }
        };
        let exacting = !matches!(state, State::Lines(_));
        Self { plan: Arc::new(plan), flow: Flow::new(wire, exacting), state }
    }

    /// Takes the next chunk. Where its offset does not follow on the last byte taken, everything begun is closed first.
    #[inline]
    pub fn push(&mut self, chunk: &Chunk<'_>, sink: &mut impl Sink) {
        match chunk.bytes {
            [] => {}
            [byte] if self.flow.take_one(*byte, chunk, self.plan.profile.idle) => {}
            _ => self.push_all(chunk, sink),
        }
    }

    fn push_all(&mut self, chunk: &Chunk<'_>, sink: &mut impl Sink) {
        if chunk.offset != self.flow.carry.end() {
            self.cut(sink);
            self.flow.carry.move_to(chunk.offset);
        }
        // A silence inside a chunk is shorter than a byte time; only then must each byte be looked at for it.
        let bite = if chunk.byte_ns > self.plan.profile.idle { 1 } else { BITE };
        if chunk.bytes.len() <= bite {
            return self.take(chunk, sink);
        }
        let mut left = *chunk;
        while left.bytes.len() > bite {
            let (next, behind) = left.split_at(bite);
            self.take(&next, sink);
            left = behind;
        }
        self.take(&left, sink);
    }

    fn take(&mut self, chunk: &Chunk<'_>, sink: &mut impl Sink) {
        let first_lo = self.flow.carry.first_lo(chunk);
        if self.flow.carry.silent_before(chunk, first_lo, self.plan.profile.idle) {
            self.cut(sink);
        }
        self.flow.carry.push(chunk, first_lo);
        if !self.flow.goes_on(chunk.bytes) {
            self.work(false, sink);
        }
    }

    /// Nothing more was complete up to `at`.
    pub fn tick(&mut self, at: Nanos, sink: &mut impl Sink) {
        if self.flow.carry.silence_until(at) > self.plan.profile.idle {
            self.cut(sink);
        }
    }

    /// The port is gone or the input has ended: closes everything begun.
    pub fn cut(&mut self, sink: &mut impl Sink) {
        self.work(true, sink);
        // With a sound profile nothing is left here; no byte may be lost with a faulty one either.
        let left = self.flow.rest().len();
        self.flow.loose(left, &self.plan, sink);
        self.flow.close(&self.plan, sink);
    }

    fn work(&mut self, closing: bool, sink: &mut impl Sink) {
        self.flow.wait_no_more();
        match &mut self.state {
            State::Lines(lines) => lines.work(closing, &self.plan, &mut self.flow, sink),
            State::Markers(markers) => markers.work(closing, &self.plan, &mut self.flow, sink),
            State::Delimited(delimited) => delimited.work(closing, &self.plan, &mut self.flow, sink),
            State::SyncLength(sync) => sync.work(closing, &self.plan, &mut self.flow, sink),
        }
    }

    /// Bytes held in memory because they are not told apart yet.
    pub fn carried(&self) -> usize {
        self.flow.carry.bytes().len()
    }

    /// Place on the wire of the first byte that stands in no record yet.
    pub fn settled(&self) -> u64 {
        self.flow.outlet.held().unwrap_or(self.flow.carry.offset())
    }

    /// The earliest byte that can still end a record: no record to come ends sooner, by its earliest or its latest
    /// instant. `None` when nothing is held back.
    pub fn held_since(&self) -> Option<Interval> {
        let waiting = (self.carried() > 0).then(|| self.flow.carry.interval(0));
        self.flow.outlet.held_at().or(waiting)
    }

    /// The first byte that stands in no record yet: something more began with it. `None` when nothing is held back.
    pub fn held_from(&self) -> Option<Interval> {
        let waiting = (self.carried() > 0).then(|| self.flow.carry.interval(0));
        self.flow.outlet.held_from().or(waiting)
    }
}

/// What is wrong with a profile, in words; empty when a decoder can work with it.
pub fn faults(profile: &Profile) -> Vec<String> {
    crate::faults::of(profile)
}
