//! Legs: each move from press to release.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::rover::wheels::{Duties, Leg, LegEnd};

/// How many ended legs are kept for showing.
const KEPT: usize = 256;

/// The diary of legs.
#[derive(Clone, Debug, Default)]
pub struct Legs {
    ended: VecDeque<Leg>,
    open: Option<Leg>,
    count: u64,
    /// The moves of those that began with the last input, in order.
    begun: Vec<String>,
}

/// What an order did to the diary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The same leg goes on, or rest goes on.
    None,
    /// A leg began after rest.
    Began,
    /// A leg ended at rest.
    Ended,
    /// Another leg began with no rest between.
    Changed,
}

impl Legs {
    /// The wheels are meant to turn so from `at` on, under this name.
    pub fn moves(&mut self, at: Nanos, name: &str, meant: Duties) -> Change {
        if meant == [0; 4] {
            return self.stops(at, LegEnd::Rest);
        }
        if let Some(leg) = self.open.as_mut().filter(|leg| leg.name == name) {
            let strength = |duties: Duties| duties.iter().map(|duty| duty.abs()).sum::<i32>();
            if strength(meant) > strength(leg.meant) {
                leg.meant = meant;
            }
            return Change::None;
        }
        let changed = self.stops(at, LegEnd::NextMove) == Change::Ended;
        self.count += 1;
        self.begun.push(name.to_owned());
        self.open = Some(Leg { begins: at, ends: None, name: name.to_owned(), meant, end: LegEnd::Open });
        if changed { Change::Changed } else { Change::Began }
    }

    /// The order that came at `at` was refused: what it began or ended is taken back, and the leg before it goes on.
    pub fn taken_back(&mut self, at: Nanos) {
        if self.open.as_ref().is_some_and(|leg| leg.begins == at) {
            self.open = None;
            self.count -= 1;
        }
        let before = self.ended.back_mut().filter(|leg| leg.ends == Some(at) && self.open.is_none());
        if let Some(leg) = before {
            leg.ends = None;
            leg.end = LegEnd::Open;
            self.open = self.ended.pop_back();
        }
    }

    /// The move in force, if there is one, ended so.
    pub fn stops(&mut self, at: Nanos, end: LegEnd) -> Change {
        let Some(mut leg) = self.open.take() else { return Change::None };
        leg.ends = Some(at);
        leg.end = end;
        if self.ended.len() == KEPT {
            self.ended.pop_front();
        }
        self.ended.push_back(leg);
        Change::Ended
    }

    /// Another input comes.
    pub fn next_input(&mut self) {
        self.begun.clear();
    }

    /// The moves of the legs that began with the last input, one that was refused since among them.
    pub fn begun(&self) -> &[String] {
        &self.begun
    }

    /// How many legs there were in all.
    pub const fn count(&self) -> u64 {
        self.count
    }

    /// The last one; it may still be open.
    pub fn last(&self) -> Option<&Leg> {
        self.open.as_ref().or_else(|| self.ended.back())
    }

    /// The last ones, oldest first; the last may still be open.
    pub fn recent(&self) -> Vec<Leg> {
        self.ended.iter().chain(&self.open).cloned().collect()
    }
}
