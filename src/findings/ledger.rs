//! The ledger of one rule: how often, first and last time, and the places that show it.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::engine::event::Event;
use crate::findings::{Confidence, Evidence, Finding, Layer, Severity};

/// How many places are kept of each sort: first, last, worst.
const KEPT: usize = 8;

/// Count, times and evidence.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    count: u64,
    times: Option<(Nanos, Nanos)>,
    first: Vec<Evidence>,
    last: VecDeque<Evidence>,
    worst: Vec<(i64, Evidence)>,
}

/// The fixed words of a finding.
#[derive(Clone, Copy, Debug)]
pub struct Words {
    /// Stable id.
    pub id: &'static str,
    /// How bad.
    pub severity: Severity,
    /// Where the cause sits.
    pub layer: Layer,
    /// How sure.
    pub confidence: Confidence,
    /// What it could be mistaken for, and what would tell them apart.
    pub not: &'static str,
    /// What to do.
    pub what_to_do: &'static str,
    /// How to check the fix.
    pub check_after: &'static str,
}

impl Ledger {
    /// Adds an event; `weight` says how bad it is among its like.
    pub fn add(&mut self, event: &Event, weight: i64) {
        match event.wire {
            Some(wire) => self.add_place(Evidence { at: event.at, wire, offset: event.offset, len: event.len }, weight),
            None => self.count_at(event.at),
        }
    }

    /// Adds a place.
    pub fn add_place(&mut self, place: Evidence, weight: i64) {
        self.count_at(place.at);
        self.keep(place, weight);
    }

    fn count_at(&mut self, at: Nanos) {
        self.count += 1;
        let (first, last) = self.times.unwrap_or((at, at));
        self.times = Some((first.min(at), last.max(at)));
    }

    fn keep(&mut self, place: Evidence, weight: i64) {
        if self.first.len() < KEPT {
            self.first.push(place);
        } else {
            if self.last.len() == KEPT {
                self.last.pop_front();
            }
            self.last.push_back(place);
        }
        let rank = self.worst.partition_point(|(other, _)| *other >= weight);
        if rank < KEPT {
            self.worst.insert(rank, (weight, place));
            self.worst.truncate(KEPT);
        }
    }

    /// How often.
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// The largest weight.
    pub fn worst(&self) -> i64 {
        self.worst.first().map_or(0, |(weight, _)| *weight)
    }

    /// First, last and worst places, each once, by time.
    pub fn evidence(&self) -> Vec<Evidence> {
        let worst = self.worst.iter().map(|(_, place)| *place);
        let mut all: Vec<Evidence> = self.first.iter().chain(&self.last).copied().chain(worst).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The finding, when there is one.
    pub fn finding(&self, words: &Words, says: String) -> Option<Finding> {
        let (first, last) = self.times?;
        Some(Finding {
            id: words.id,
            severity: words.severity,
            layer: words.layer,
            confidence: words.confidence,
            wheel: None,
            count: self.count,
            first,
            last,
            says,
            not: words.not.to_owned(),
            what_to_do: words.what_to_do.to_owned(),
            check_after: words.check_after.to_owned(),
            evidence: self.evidence(),
        })
    }
}

/// A time in words for a sentence: milliseconds below a second, else seconds.
pub fn time_words(nanos: Nanos) -> String {
    if nanos < 1_000_000_000 {
        format!("{} ms", (nanos + 500_000) / 1_000_000)
    } else {
        format!("{:.2} s", nanos as f64 / 1e9)
    }
}

/// A time in words behind *at least*: rounded down, so that no more is claimed than was measured.
pub fn least_words(nanos: Nanos) -> String {
    time_words(nanos - nanos.rem_euclid(if nanos < 1_000_000_000 { 1_000_000 } else { 10_000_000 }))
}

/// `once`, `twice`, or `n times`.
pub fn times_words(count: u64) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        count => format!("{count} times"),
    }
}
