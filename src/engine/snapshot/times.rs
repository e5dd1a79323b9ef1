//! Times and loads for the console and the reports: plain data.

use wheeltap_parsers::{Nanos, Wire};

/// What was timed so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Times {
    /// All orders together while a wheel was meant to turn; `None` before the first two.
    pub orders: Option<KindTimes>,
    /// By kind of frame, wire `>` first.
    pub kinds: Vec<KindTimes>,
    /// From an order to its answer; `None` before the first.
    pub answers: Option<Quantiles>,
    /// Orders that were not answered within two seconds.
    pub no_answer: u64,
    /// Orders of which nobody can say whether they were answered.
    pub not_judged: u64,
    /// Answers carry the number of their order, and their wire is tapped.
    pub numbered: bool,
    /// From the last order to the drive board's report that its deadline ran out.
    pub lapse_reports: Option<Quantiles>,
    /// Stalls that ended in a bunch.
    pub bunched: u64,
    /// By wire: frames that the adapter handed over with the one before.
    pub together: [u64; 2],
    /// By wire: how often the tap itself was asleep.
    pub asleep: [u64; 2],
    /// The longest sleep, nanoseconds.
    pub longest_sleep: Nanos,
    /// By wire; `None` without a rate or with less than two bytes.
    pub load: [Option<Loaded>; 2],
    /// Bytes of the drive board's receive buffer that were reckoned with.
    pub buffer: u32,
    /// What it would have dropped.
    pub not_read: Vec<NotRead>,
    /// Tries that notes count.
    pub tries: Vec<TriesShown>,
    /// Notes that begin with `try` and say neither `: good` nor `: bad`.
    pub tries_not_understood: u32,
}

impl Times {
    /// Orders together, then the kinds that they do not already tell of.
    pub fn rows(&self) -> impl Iterator<Item = &KindTimes> {
        let sole = self.kinds.iter().filter(|kind| kind.wire == Wire::ToDrive).count() == 1 && self.orders.is_some();
        let kinds = self.kinds.iter().filter(move |kind| !(sole && kind.wire == Wire::ToDrive));
        self.orders.iter().chain(kinds)
    }
}

/// Times of one kind of frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindTimes {
    /// The wire.
    pub wire: Wire,
    /// The kind's name in the rover file.
    pub name: String,
    /// How many.
    pub frames: u64,
    /// Their rhythm in words.
    pub rhythm: String,
    /// From one to the next.
    pub gaps: Option<Quantiles>,
    /// Certainly late.
    pub late: u64,
    /// Possibly late.
    pub possibly_late: u64,
}

/// How times are spread. Each is an interval: not below the first, not above the second, nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quantiles {
    /// How many times.
    pub count: u64,
    /// Half are no longer.
    pub half: [Nanos; 2],
    /// 95 in a hundred are no longer.
    pub most: [Nanos; 2],
    /// 999 in a thousand are no longer.
    pub nearly_all: [Nanos; 2],
    /// The longest.
    pub longest: [Nanos; 2],
}

/// Share of a line in use, thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Loaded {
    /// From its first to its last byte.
    pub mean: u32,
    /// In the busiest second.
    pub busiest_second: u32,
}

/// What the receive buffer would have dropped at the worst moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotRead {
    /// If nobody had read it for so many milliseconds.
    pub ms: u32,
    /// Bytes: at least, at most.
    pub dropped: [u64; 2],
}

/// Tries of one sort.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TriesShown {
    /// What was tried.
    pub what: String,
    /// How often.
    pub tries: u32,
    /// How often it went wrong.
    pub failed: u32,
    /// The rate of failure that this still allows, thousandths (95 %, one-sided).
    pub still_allows: u32,
}
