//! The first edges of every signal of a dump, to tell by them which one is a wire.

use std::collections::BTreeMap;
use std::io::Read;

use super::dump::{Dump, DumpFault, Picos, Step};
use super::level::Level;
use super::signal::Signal;

/// Edges kept of each signal.
const KEPT: usize = 4_096;
/// Signals looked at; those that a person named come first.
pub const SIGNALS: usize = 256;
/// Of fewer times nobody can say by which step they go.
const FEWEST_TIMES: u32 = 32;

/// The first edges of each signal.
#[derive(Clone, Debug, Default)]
pub struct Edges {
    of: BTreeMap<(u32, u32), Vec<(Picos, Level)>>,
    begins: Option<Picos>,
    unit: Picos,
    step: Picos,
    times: u32,
}

impl Edges {
    /// Reads a dump to its end, or the end of what is looked at.
    pub fn read<R: Read>(dump: &mut Dump<R>, first: &[&str]) -> Result<Self, DumpFault> {
        let mut edges = Self::new(dump.signals(), first, dump.unit());
        let mut now = 0;
        while let Some(step) = dump.next()? {
            match step {
                Step::Time(time) => {
                    now = time;
                    edges.at(time);
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

    fn new(signals: &[Signal], first: &[&str], unit: Picos) -> Self {
        let asked = signals.iter().filter(|signal| first.iter().any(|name| signal.is_called(name)));
        let places = asked.chain(signals).map(Signal::place);
        let mut of = BTreeMap::new();
        for place in places {
            if of.len() < SIGNALS {
                of.entry(place).or_insert_with(Vec::new);
            }
        }
        Self { of, begins: None, unit, step: 0, times: 0 }
    }

    fn at(&mut self, time: Picos) {
        let begins = *self.begins.get_or_insert(time);
        self.times = self.times.saturating_add(1);
        if self.step != self.unit {
            self.step = common(self.step, time - begins);
        }
    }

    fn take(&mut self, place: (u32, u32), now: Picos, level: Level) {
        if let Some(list) = self.of.get_mut(&place) {
            push(list, now, level);
        }
    }

    /// The edges of this signal; none when it was not looked at.
    pub fn of(&self, signal: &Signal) -> &[(Picos, Level)] {
        self.of.get(&signal.place()).map(Vec::as_slice).unwrap_or_default()
    }

    /// The step of the dump's times as its header states it.
    pub const fn unit(&self) -> Picos {
        self.unit
    }

    /// The longest step by which all its times go: the recorder's own grid where that is coarser than the unit. A few
    /// times are no grid.
    pub fn step(&self) -> Picos {
        if self.times < FEWEST_TIMES { self.unit } else { self.step.max(self.unit) }
    }

    /// The first time of the dump.
    pub fn begins(&self) -> Picos {
        self.begins.unwrap_or(0)
    }
}

/// The greatest common divisor.
const fn common(mut a: Picos, mut b: Picos) -> Picos {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

fn push(list: &mut Vec<(Picos, Level)>, now: Picos, level: Level) {
    if list.len() < KEPT && list.last().is_none_or(|(_, before)| *before != level) {
        list.push((now, level));
    }
}
