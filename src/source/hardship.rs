//! A source made worse on purpose: lost bytes, hit bits, late and clumsy reads, a port that goes away.
//!
//! Every interval stays honest: a byte that is still there was complete within the interval it is given. A later clock
//! moves all times alike; a read kept back keeps its lower bound and gets a later upper one.

use std::collections::VecDeque;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use wheeltap_parsers::{Chunk, Input, LineClock, Nanos, Pins, Wire};

use super::{Source, SourceError};
use crate::timing::link::LinkFacts;

/// What to do to a source. The default does nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Hardships {
    /// Where all chance comes from.
    pub seed: u64,
    /// One byte in this many was never on the wire; 0 for none.
    pub lose_one_in: u32,
    /// One byte in this many has one bit turned over; 0 for none.
    pub flip_one_in: u32,
    /// One read in this many is dropped by the program for want of room, and counted; 0 for none.
    pub drop_one_in: u32,
    /// The session's clock began this much earlier: added to every time, nanoseconds.
    pub delay: Nanos,
    /// One read in this many is kept back and joined to the next one of its wire, as by a reader that sleeps; 0 for none.
    pub join_one_in: u32,
    /// One read in this many is handed on as two; 0 for none.
    pub split_one_in: u32,
    /// How long a port stays before it goes away, on average, nanoseconds; 0 for ever.
    pub cut_every: Nanos,
    /// How long it then stays away, nanoseconds.
    pub cut_for: Nanos,
}

/// An input with its own bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Held {
    Chunk { wire: Wire, bytes: Vec<u8>, lo: Nanos, hi: Nanos, byte_ns: Nanos },
    Tick(Nanos),
    Note { at: Nanos, text: String },
    PortGone { at: Nanos, wire: Wire },
    PortBack { at: Nanos, wire: Wire },
    Lost { at: Nanos, since: Nanos, wire: Wire, bytes: u64, damaged: bool },
    Pins(Pins),
    Clock(LineClock),
}

/// What is going on with one wire's port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Port {
    /// There, to go away at this time; `None` for never.
    There(Option<Nanos>),
    /// Away until this time.
    Away(Nanos),
}

/// A source with hardships on top.
#[derive(Clone, Debug)]
pub struct Hardship<S> {
    source: S,
    what: Hardships,
    chance: ChaCha8Rng,
    /// Reads kept back, by wire.
    kept: [Option<Held>; 2],
    ports: [Port; 2],
    offsets: [u64; 2],
    ready: VecDeque<Held>,
    shown: Option<(Held, u64)>,
    /// The latest time of anything taken in.
    latest: Nanos,
    over: bool,
}

impl<S: Source> Hardship<S> {
    /// `source` with these hardships.
    pub fn new(source: S, what: Hardships) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&what.seed.to_le_bytes());
        let mut one = Self {
            source,
            what,
            chance: ChaCha8Rng::from_seed(key),
            kept: [None, None],
            ports: [Port::There(None); 2],
            offsets: [0; 2],
            ready: VecDeque::new(),
            shown: None,
            latest: Nanos::MIN,
            over: false,
        };
        if what.cut_every > 0 {
            for wire in Wire::BOTH {
                one.ports[wire.index()] = Port::There(Some(one.until_cut(0)));
            }
        }
        one
    }

    /// The source underneath.
    pub const fn source(&self) -> &S {
        &self.source
    }

    /// Takes the next input of the source in; false at its end.
    fn draw(&mut self) -> Result<bool, SourceError> {
        let held = self.source.next()?.map(owned);
        let Some(held) = held else {
            return Ok(false);
        };
        let held = later(held, self.what.delay);
        self.latest = self.latest.max(held.at());
        self.ports_at(self.latest);
        match held {
            Held::Chunk { wire, bytes, lo, hi, byte_ns } => self.read(wire, bytes, lo, hi, byte_ns),
            // A tick vouches that everything has been handed over, which is not so while a read is kept back.
            Held::Tick(_) if self.kept.iter().any(Option::is_some) => {}
            other => self.ready.push_back(other),
        }
        Ok(true)
    }

    /// Lets ports go away and come back whose time has come by `now`.
    fn ports_at(&mut self, now: Nanos) {
        for wire in Wire::BOTH {
            let index = wire.index();
            match self.ports[index] {
                Port::There(Some(until)) if until <= now && self.source.link().wire(wire).is_some() => {
                    self.ready.extend(self.kept[index].take());
                    self.ready.push_back(Held::PortGone { at: now, wire });
                    self.ports[index] = Port::Away(now + self.what.cut_for);
                }
                Port::Away(until) if until <= now => {
                    self.ready.push_back(Held::PortBack { at: now, wire });
                    self.ports[index] = Port::There(Some(self.until_cut(now)));
                }
                Port::There(_) | Port::Away(_) => {}
            }
        }
    }

    fn until_cut(&mut self, now: Nanos) -> Nanos {
        let most = u64::try_from(self.what.cut_every).unwrap_or(0).saturating_mul(2);
        now.saturating_add(Nanos::try_from(self.below(most)).unwrap_or(Nanos::MAX))
    }

    /// One read of a wire goes through its hardships.
    fn read(&mut self, wire: Wire, mut bytes: Vec<u8>, lo: Nanos, hi: Nanos, byte_ns: Nanos) {
        if matches!(self.ports[wire.index()], Port::Away(_)) {
            return;
        }
        self.damage(&mut bytes);
        let read = match self.kept[wire.index()].take() {
            Some(kept) => joined(kept, bytes, hi),
            None => Held::Chunk { wire, bytes, lo, hi, byte_ns },
        };
        if self.one_in(self.what.drop_one_in) {
            self.ready.push_back(Held::Lost {
                at: hi,
                since: read.begins(),
                wire,
                bytes: read.len() as u64,
                damaged: false,
            });
        } else if self.one_in(self.what.join_one_in) {
            self.kept[wire.index()] = Some(read);
        } else if self.one_in(self.what.split_one_in) {
            self.split(&read);
        } else if read.len() > 0 {
            self.ready.push_back(read);
        }
    }

    /// Takes bytes away and turns bits over.
    fn damage(&mut self, bytes: &mut Vec<u8>) {
        if self.what.lose_one_in > 0 {
            bytes.retain(|_| !self.one_in(self.what.lose_one_in));
        }
        if self.what.flip_one_in > 0 {
            for byte in bytes.iter_mut() {
                if self.one_in(self.what.flip_one_in) {
                    *byte ^= 1 << self.below(8);
                }
            }
        }
    }

    /// Hands one read on as two, each byte with the interval it had.
    fn split(&mut self, read: &Held) {
        let place = self.below(read.len() as u64 + 1) as usize;
        if let Some(chunk) = read.chunk(0) {
            let (head, tail) = chunk.split_at(place);
            self.ready.extend(
                [head, tail].into_iter().filter(|part| !part.bytes.is_empty()).map(|part| owned(Input::Chunk(part))),
            );
        }
    }

    fn below(&mut self, bound: u64) -> u64 {
        ((u128::from(self.chance.next_u64()) * u128::from(bound)) >> 64) as u64
    }

    fn one_in(&mut self, n: u32) -> bool {
        n > 0 && self.below(u64::from(n)) == 0
    }
}

impl<S: Source> Source for Hardship<S> {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        while self.ready.is_empty() && !self.over {
            if !self.draw()? {
                self.over = true;
                self.ready.extend(self.kept.iter_mut().filter_map(Option::take));
            }
        }
        self.shown = self.ready.pop_front().map(|held| {
            let mut offset = 0;
            if let Held::Chunk { wire, .. } = held {
                offset = self.offsets[wire.index()];
                self.offsets[wire.index()] += held.len() as u64;
            }
            (held, offset)
        });
        Ok(self.shown.as_ref().map(|(held, offset)| held.input(*offset)))
    }

    fn link(&self) -> &LinkFacts {
        self.source.link()
    }
}

impl Held {
    fn at(&self) -> Nanos {
        match *self {
            Self::Chunk { hi: at, .. }
            | Self::Tick(at)
            | Self::Note { at, .. }
            | Self::PortGone { at, .. }
            | Self::PortBack { at, .. }
            | Self::Lost { at, .. }
            | Self::Pins(Pins { at, .. })
            | Self::Clock(LineClock { at, .. }) => at,
        }
    }

    /// No byte of it was complete before this.
    fn begins(&self) -> Nanos {
        if let Self::Chunk { lo, .. } = *self { lo } else { self.at() }
    }

    /// How many bytes it carries.
    fn len(&self) -> usize {
        if let Self::Chunk { bytes, .. } = self { bytes.len() } else { 0 }
    }

    fn chunk(&self, offset: u64) -> Option<Chunk<'_>> {
        match self {
            Self::Chunk { wire, bytes, lo, hi, byte_ns } => {
                Some(Chunk { wire: *wire, offset, bytes, lo: *lo, hi: *hi, byte_ns: *byte_ns })
            }
            _ => None,
        }
    }

    fn input(&self, offset: u64) -> Input<'_> {
        match *self {
            Self::Chunk { wire, ref bytes, lo, hi, byte_ns } => {
                Input::Chunk(Chunk { wire, offset, bytes, lo, hi, byte_ns })
            }
            Self::Tick(at) => Input::Tick(at),
            Self::Note { at, ref text } => Input::Note { at, text },
            Self::PortGone { at, wire } => Input::PortGone { at, wire },
            Self::PortBack { at, wire } => Input::PortBack { at, wire },
            Self::Lost { at, since, wire, bytes, damaged } => Input::Lost { at, since, wire, bytes, damaged },
            Self::Pins(pins) => Input::Pins(pins),
            Self::Clock(clock) => Input::Clock(clock),
        }
    }
}

/// The input with bytes of its own.
fn owned(input: Input<'_>) -> Held {
    match input {
        Input::Chunk(Chunk { wire, bytes, lo, hi, byte_ns, .. }) => {
            Held::Chunk { wire, bytes: bytes.to_vec(), lo, hi, byte_ns }
        }
        Input::Tick(at) => Held::Tick(at),
        Input::Note { at, text } => Held::Note { at, text: text.to_owned() },
        Input::PortGone { at, wire } => Held::PortGone { at, wire },
        Input::PortBack { at, wire } => Held::PortBack { at, wire },
        Input::Lost { at, since, wire, bytes, damaged } => Held::Lost { at, since, wire, bytes, damaged },
        Input::Pins(pins) => Held::Pins(pins),
        Input::Clock(clock) => Held::Clock(clock),
    }
}

/// The same, `delay` later.
fn later(mut held: Held, delay: Nanos) -> Held {
    match &mut held {
        Held::Chunk { lo, hi, .. } => {
            *lo += delay;
            *hi += delay;
        }
        Held::Tick(at)
        | Held::Note { at, .. }
        | Held::PortGone { at, .. }
        | Held::PortBack { at, .. }
        | Held::Lost { at, .. }
        | Held::Pins(Pins { at, .. })
        | Held::Clock(LineClock { at, .. }) => *at += delay,
    }
    held
}

/// A read kept back, with the bytes of the next one: it was empty before the first and read with the second.
fn joined(kept: Held, more: Vec<u8>, read_at: Nanos) -> Held {
    match kept {
        Held::Chunk { wire, mut bytes, lo, byte_ns, .. } => {
            bytes.extend(more);
            Held::Chunk { wire, bytes, lo, hi: read_at, byte_ns }
        }
        other => other,
    }
}

#[cfg(test)]
mod tests;
