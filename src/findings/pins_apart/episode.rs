//! One parting of a wheel: from when to when, and how far.

use wheeltap_parsers::{Nanos, Told};

use super::Pair;
use crate::rover::wheels::{Duty, Wheel};
use crate::timing::link::DutyKnown;

/// Duties that differ by no more are the same, thousandths.
const SAME: Duty = 10;
/// Full duty, thousandths.
const FULL: Duty = 1000;

/// What was told, and how well that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    /// What.
    pub told: Told,
    /// How well.
    pub duty: DutyKnown,
}

impl Known {
    /// Known as it stands.
    pub const fn whole(told: Told) -> Self {
        Self { told, duty: DutyKnown::Whole }
    }

    /// This duty says which way only: whether it turned at all is not known.
    const fn only_way(self, duty: Duty) -> bool {
        match self.duty {
            DutyKnown::Whole | DutyKnown::Within(_) => false,
            DutyKnown::WhenPulsed => duty.abs() == FULL,
            DutyKnown::WayOnly => true,
        }
    }

    /// Duties that differ by no more are the same, thousandths.
    const fn within(self) -> Duty {
        match self.duty {
            DutyKnown::Within(error) if error > SAME => error,
            _ => SAME,
        }
    }
}

/// How two parted: what the one was and what the other, thousandths; `None` is an open input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parting {
    one: Option<Duty>,
    other: Option<Duty>,
    /// Of these only the way is known.
    ways: [bool; 2],
}

impl Parting {
    /// `None` where they agree, or one of them is not known. An open input is no parting while the other is at rest.
    pub fn of(one: Known, other: Known) -> Option<Self> {
        match (one.told, other.told) {
            (Told::Duty(a), Told::Duty(b)) => {
                let ways = [one.only_way(a), other.only_way(b)];
                let parts = if ways == [false; 2] {
                    (a - b).abs() > one.within().max(other.within())
                } else {
                    a.signum() * b.signum() < 0
                };
                parts.then_some(Self { one: Some(a), other: Some(b), ways })
            }
            (Told::Duty(a), Told::Open) if a != 0 => {
                Some(Self { one: Some(a), other: None, ways: [one.only_way(a), false] })
            }
            _ => None,
        }
    }

    /// How far.
    pub fn weight(self) -> Duty {
        match (self.one, self.other) {
            (Some(a), Some(b)) => (a - b).abs(),
            (Some(a), None) | (None, Some(a)) => a.abs(),
            (None, None) => 0,
        }
    }

    /// The one rests and the other does not.
    pub const fn runs_on(self) -> bool {
        matches!((self.one, self.other), (Some(0), Some(_)))
    }

    /// What sort of parting it is, in words.
    pub fn sort(self) -> String {
        match (self.one, self.other) {
            (Some(_), None) | (None, _) => "an input is open".to_owned(),
            (Some(0), Some(_)) => "it does not stop".to_owned(),
            (Some(_), Some(0)) => "it does not turn".to_owned(),
            (Some(a), Some(b)) if a.signum() != b.signum() => "the other way".to_owned(),
            (Some(a), Some(b)) => format!("{:.2} times the duty", f64::from(b) / f64::from(a)),
        }
    }

    /// The first of the two, in words.
    pub fn one_words(self) -> String {
        words(self.one, self.ways[0])
    }

    /// The second of the two, in words.
    pub fn other_words(self) -> String {
        words(self.other, self.ways[1])
    }
}

fn words(duty: Option<Duty>, way: bool) -> String {
    let Some(duty) = duty else { return "nothing sure".to_owned() };
    if way {
        return if duty > 0 { "forward" } else { "backward" }.to_owned();
    }
    let sign = if duty > 0 { "+" } else { "" };
    format!("{sign}{:.1} %", f64::from(duty) / 10.0)
}

/// A stretch in which they parted.
#[derive(Clone, Debug)]
pub struct Episode {
    /// What was held against what.
    pub pair: Pair,
    /// Which wheel.
    pub wheel: Wheel,
    /// Since when.
    pub begin: Nanos,
    /// Until when; `None` while it lasts.
    pub end: Option<Nanos>,
    /// How they part now, and since when.
    now: (Parting, Nanos),
    /// The parting that lasted longest so far, and how long.
    longest: Option<(Parting, Nanos)>,
    /// Something else is its cause.
    pub explained: bool,
    /// It has been judged.
    pub judged: bool,
}

impl Episode {
    /// One that has just begun.
    pub const fn new(pair: Pair, wheel: Wheel, begin: Nanos, parting: Parting, explained: bool) -> Self {
        Self { pair, wheel, begin, end: None, now: (parting, begin), longest: None, explained, judged: false }
    }

    /// It parts so from `at` on.
    pub fn changes(&mut self, at: Nanos, parting: Parting) {
        if parting != self.now.0 {
            self.longest = Some(self.lasting(at));
            self.now = (parting, at);
        }
    }

    /// The parting that lasted longest up to `at`, and how long: just after an order it is another one.
    pub fn lasting(&self, at: Nanos) -> (Parting, Nanos) {
        let now = (self.now.0, self.end.unwrap_or(at) - self.now.1);
        self.longest.filter(|(_, lasted)| *lasted > now.1).unwrap_or(now)
    }
}
