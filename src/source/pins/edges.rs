//! The first edges of every signal of a dump, to tell by them which one is a wire.

use std::collections::BTreeMap;
use std::io::Read;

use super::dump::{Dump, DumpFault, Picos, Step};
use super::level::Level;
use super::signal::Signal;

/// Edges kept of each signal.
const KEPT: usize = 4_096;
/// Signals looked at; those that a person named come first.
const SIGNALS: usize = 256;

/// The first edges of each signal.
#[derive(Clone, Debug, Default)]
pub struct Edges {
    of: BTreeMap<(u32, u32), Vec<(Picos, Level)>>,
    begins: Option<Picos>,
}

impl Edges {
    /// Reads a dump to its end, or the end of what is looked at.
    pub fn read<R: Read>(dump: &mut Dump<R>, first: &[&str]) -> Result<Self, DumpFault> {
        let mut edges = Self::new(dump.signals(), first);
        let mut now = 0;
        while let Some(step) = dump.next()? {
            match step {
                Step::Time(time) => {
                    now = time;
                    edges.begins.get_or_insert(time);
                }
                Step::Scalar(code, level) => edges.take((code, 0), now, level),
                Step::Vector(code, bits) => {
                    let all = edges.of.range_mut((code, 0)..=(code, u32::MAX));
                    for ((_, bit), list) in all {
                        push(list, now, Level::of_bit(bits, *bit as usize));
                    }
                }
            }
        }
        Ok(edges)
    }

    fn new(signals: &[Signal], first: &[&str]) -> Self {
        let asked = signals.iter().filter(|signal| first.iter().any(|name| signal.is_called(name)));
        let places = asked.chain(signals).map(|signal| (signal.code, signal.bit));
        let mut of = BTreeMap::new();
        for place in places {
            if of.len() < SIGNALS {
                of.entry(place).or_insert_with(Vec::new);
            }
        }
        Self { of, begins: None }
    }

    fn take(&mut self, place: (u32, u32), now: Picos, level: Level) {
        if let Some(list) = self.of.get_mut(&place) {
            push(list, now, level);
        }
    }

    /// The edges of this signal; none when it was not looked at.
    pub fn of(&self, signal: &Signal) -> &[(Picos, Level)] {
        self.of.get(&(signal.code, signal.bit)).map(Vec::as_slice).unwrap_or_default()
    }

    /// The first time of the dump.
    pub fn begins(&self) -> Picos {
        self.begins.unwrap_or(0)
    }
}

fn push(list: &mut Vec<(Picos, Level)>, now: Picos, level: Level) {
    if list.len() < KEPT && list.last().is_none_or(|(_, before)| *before != level) {
        list.push((now, level));
    }
}
