//! The simulated wagon behind a simulated tap: one receiver a wire, read by a loop that wakes every 4 ms.
//!
//! Nothing here waits. A caller that wants the pace of a clock compares [`SimulatedSource::now`] with its own.

use std::collections::VecDeque;

use wheeltap_parsers::{Chunk, Input, Nanos, Wire};

use super::{Source, SourceError};
use crate::simulation::{Burst, Moonwagon, RATE, Settings, Truth};
use crate::timing::link::{self, LinkFacts, WireFacts};

mod receiver;

use receiver::Receiver;

/// One millisecond in nanoseconds.
const MS: Nanos = 1_000_000;
/// How long the reading loop waits for bytes before it looks at its other work.
const POLL: Nanos = 4 * MS;

/// How bytes get from the wire to the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Adapter {
    /// At once: each burst is one read at its end.
    None,
    /// A USB adapter that collects bytes until a packet is full or its timer runs out.
    Timer {
        /// The timer, milliseconds, 1 to 255; adapters of the common kind come with 16.
        ms: u8,
    },
}

impl Adapter {
    /// The longest a byte can wait in it, nanoseconds: the timer and one USB frame.
    pub const fn latency(self) -> Nanos {
        match self {
            Self::None => 0,
            Self::Timer { ms } => (if ms == 0 { 1 } else { ms } as Nanos + 1) * MS,
        }
    }
}

/// A read not yet handed on.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Read {
    wire: Wire,
    bytes: Vec<u8>,
    offset: u64,
    back_at: Nanos,
    empty_at: Nanos,
}

impl Read {
    fn chunk(&self, facts: &WireFacts) -> Chunk<'_> {
        link::chunk(facts, self.wire, self.offset, self.back_at, self.empty_at, &self.bytes)
    }
}

/// What the reading loop comes back with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Found {
    /// A read.
    Read,
    /// Nothing was waiting.
    Nothing,
    /// The session is over.
    End,
}

/// The wagon as a source.
#[derive(Clone, Debug)]
pub struct SimulatedSource {
    wagon: Moonwagon,
    link: LinkFacts,
    receivers: Vec<Receiver>,
    offsets: [u64; 2],
    /// When the loop last came back from waiting.
    now: Nanos,
    ends: Option<Nanos>,
    reads: VecDeque<Read>,
    /// The read the caller is looking at.
    shown: Option<Read>,
    /// The bursts heard, for tests.
    #[cfg(test)]
    heard: Vec<Burst>,
}

impl SimulatedSource {
    /// A wagon that is switched on as the session begins. The wire back is tapped only where something talks on it.
    pub fn new(settings: &Settings, adapter: Adapter) -> Self {
        let mut link = LinkFacts::default();
        let mut receivers = Vec::new();
        for wire in Wire::BOTH {
            if wire == Wire::ToDrive || settings.style.answers() {
                link.wires[wire.index()] = Some(facts(wire, adapter));
                receivers.push(Receiver::new(wire, adapter, settings.seed));
            }
        }
        Self {
            wagon: Moonwagon::new(settings),
            link,
            receivers,
            offsets: [0; 2],
            now: 0,
            ends: None,
            reads: VecDeque::new(),
            shown: None,
            #[cfg(test)]
            heard: Vec::new(),
        }
    }

    /// The same, over at this time: the last thing it gives is what the loop finds then.
    pub fn ends_at(mut self, at: Nanos) -> Self {
        self.ends = Some(at);
        self
    }

    /// The same, with this wall clock at its beginning: microseconds since 1970-01-01T00:00:00Z, and minutes to add
    /// for local time.
    pub fn begun_at(mut self, unix_us: i64, utc_offset_min: i32) -> Self {
        self.link.begun_unix_us = Some(unix_us);
        self.link.utc_offset_min = utc_offset_min;
        self
    }

    /// Time of the input given last, nanoseconds since the session began.
    pub const fn now(&self) -> Nanos {
        self.now
    }

    /// What is really so, within one wait of the loop (4 ms) of [`Self::now`].
    pub fn truth(&self) -> Truth {
        self.wagon.truth()
    }

    /// Lets the loop wait once: it comes back with reads, or empty-handed. False at the end.
    fn wait(&mut self) -> bool {
        if self.ends.is_some_and(|ends| self.now >= ends) {
            return false;
        }
        let limit = self.ends.map_or(self.now + POLL, |ends| ends.min(self.now + POLL));
        while let Some(burst) = self.wagon.next_before(limit) {
            self.hear(&burst);
        }
        for receiver in &mut self.receivers {
            receiver.advance(limit);
        }
        let first = self.receivers.iter().filter_map(Receiver::delivers_at).min();
        let back =
            first.map_or(limit, |at| self.receivers.iter_mut().map(|one| one.wakes(at)).max().unwrap_or(at).min(limit));
        for place in 0..self.receivers.len() {
            self.drain(place, back);
        }
        self.now = back;
        true
    }

    fn hear(&mut self, burst: &Burst) {
        #[cfg(test)]
        self.heard.push(burst.clone());
        if let Some(receiver) = self.receivers.iter_mut().find(|receiver| receiver.wire() == burst.wire) {
            receiver.hear(burst);
        }
    }

    /// Reads everything one receiver has handed over by `back`.
    fn drain(&mut self, place: usize, back: Nanos) {
        let Some(receiver) = self.receivers.get_mut(place) else {
            return;
        };
        let wire = receiver.wire();
        for (empty_at, bytes) in receiver.take(self.now, back) {
            let offset = self.offsets[wire.index()];
            self.offsets[wire.index()] += bytes.len() as u64;
            self.reads.push_back(Read { wire, bytes, offset, back_at: back, empty_at });
        }
    }

    /// Goes on until there is something to tell; a read found is then the one shown.
    fn find(&mut self) -> Found {
        loop {
            self.shown = self.reads.pop_front();
            if self.shown.is_some() {
                return Found::Read;
            }
            if !self.wait() {
                return Found::End;
            }
            if self.reads.is_empty() && !self.in_the_middle() {
                return Found::Nothing;
            }
        }
    }

    /// Whether some receiver is in the middle of something that a tick would have to deny.
    fn in_the_middle(&self) -> bool {
        self.receivers.iter().any(|receiver| receiver.in_the_middle(self.now))
    }
}

impl Source for SimulatedSource {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        let found = self.find();
        Ok(match (found, &self.shown) {
            (Found::End, _) => None,
            (Found::Read, Some(read)) => self.link.wire(read.wire).map(|facts| Input::Chunk(read.chunk(facts))),
            (Found::Nothing | Found::Read, _) => Some(Input::Tick(self.link.tick(self.now))),
        })
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}

fn facts(wire: Wire, adapter: Adapter) -> WireFacts {
    let port = format!("simulated {}", wire.symbol());
    WireFacts { rate: Some(RATE), settings: "8N1".to_owned(), latency: adapter.latency(), port }
}

#[cfg(test)]
mod tests;
