//! Observations from a recording of levels: which way each wheel was driven in each move.
//!
//! A move counts once it was meant for long enough. What a wheel was told counts by its time within the move, from
//! shortly after the order on: one way for nine tenths of that time is what was seen. A wheel that was driven now this
//! way and now that is *not looked* at, and named. So is an input that floats: nobody can say what its driver makes
//! of it. While a board starts its pins float; that is no open lead.

use std::collections::BTreeSet;

use wheeltap_parsers::{Nanos, Pins, Place, TextClass, Told, Wire};

use crate::diagnosis::move_table::Moves;
use crate::diagnosis::observation::Observation;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::engine::event::{Event, Happening};
use crate::rover::wheels::{Duties, Duty, Wheel};

/// A move that is meant for less time is left out, nanoseconds.
const SHORTEST: Nanos = 60_000_000;
/// How long after an order the pins may still stand as before it, nanoseconds: a guess, as in the rule that holds pins
/// against orders.
const SETTLES: Nanos = 20_000_000;
/// Of ten parts of a move's time, how many a wheel is driven one way at least.
const OF_TEN: i64 = 9;
/// A duty of no more is still, thousandths.
const STILL: Duty = 20;
/// From this duty on it is a high one, thousandths.
const HIGH: Duty = 500;
/// The most wheels named that were driven now this way and now that.
const MOST_NAMED: usize = 8;

/// Time driven backward, still, forward within one move, nanoseconds.
type Times = [Nanos; 3];

/// A move in force.
#[derive(Clone, Copy, Debug)]
struct Move {
    begun: Nanos,
    meant: Duties,
    times: [Times; 4],
}

/// The way a wheel is driven that is told this.
fn way(told: Told) -> Option<i32> {
    match told {
        Told::Duty(duty) if duty.abs() > STILL => Some(duty.signum()),
        Told::Duty(_) => Some(0),
        Told::NotProbed | Told::Open => None,
    }
}

/// An input that floats for less may float because its board starts anew, nanoseconds: as long as a parting of pins waits
/// for that news.
const STARTS: Nanos = 300_000_000;

/// Gathers observations from events, at one end of the loom.
#[derive(Debug)]
pub struct PinsSeen {
    place: Place,
    pins: [[Told; 4]; 2],
    now: Option<Move>,
    /// Up to when times are counted.
    counted: Nanos,
    /// Since when an input floats while the wheel is meant to turn, until it is known that it is a lead.
    floats: [Option<Nanos>; 4],
    /// An input floated while the wheel was meant to turn, and its board did not start anew.
    open: [bool; 4],
    seen: BTreeSet<(usize, DutyLevel, [Option<i32>; 4])>,
    both_ways: Vec<String>,
}

impl PinsSeen {
    /// Nothing seen yet at this end.
    pub const fn at(place: Place) -> Self {
        Self {
            place,
            pins: [[Told::NotProbed; 4]; 2],
            now: None,
            counted: 0,
            floats: [None; 4],
            open: [false; 4],
            seen: BTreeSet::new(),
            both_ways: Vec::new(),
        }
    }

    /// Which end.
    pub const fn place(&self) -> Place {
        self.place
    }

    /// Takes the next event.
    pub fn take(&mut self, event: &Event, moves: &Moves) {
        if let Happening::Pins(Pins { place, wheels, .. }) = event.what {
            self.count(event.at);
            self.pins[place.index()] = wheels;
        }
        if event.wire == Some(Wire::FromDrive) && matches!(event.what, Happening::Text { .. }) {
            self.floats = [None; 4];
        }
        let meant = match &event.what {
            Happening::Frame(frame) if event.wire == Some(Wire::ToDrive) => frame.meant,
            Happening::Lapse { certain: true } => Some([0; 4]),
            Happening::Text { class: TextClass::Start { .. }, .. } if event.wire == Some(Wire::FromDrive) => {
                Some([0; 4])
            }
            _ => None,
        };
        if let Some(meant) = meant.filter(|meant| self.now.is_none_or(|now| now.meant != *meant)) {
            self.ends(event.at, moves);
            self.now = Some(Move { begun: event.at, meant, times: [[0; 3]; 4] });
            self.counted = event.at;
        }
    }

    /// Counts the time up to `at` for the way each wheel is driven.
    fn count(&mut self, at: Nanos) {
        let told = Wheel::ALL.map(|wheel| self.told(wheel));
        let Some(now) = &mut self.now else { return };
        let lasted = at - self.counted.max(now.begun + SETTLES);
        self.counted = self.counted.max(at);
        if lasted <= 0 {
            return;
        }
        // A chip that floats at both ends starts anew, or has no power: that is no lead of the loom.
        let chip = self.pins[Place::Chip.index()];
        for (number, (told, meant)) in told.iter().zip(now.meant).enumerate() {
            let floats = *told == Told::Open && meant != 0;
            let long = self.floats[number].is_some_and(|since| at - since >= STARTS);
            let lead = match chip[number] {
                Told::Duty(_) => true,
                Told::Open => self.place == Place::Chip && long,
                Told::NotProbed => long,
            };
            self.open[number] |= floats && lead;
            let since = self.floats[number].unwrap_or(at - lasted);
            self.floats[number] = floats.then_some(since);
        }
        for (times, told) in now.times.iter_mut().zip(told) {
            if let Some(time) = way(told).and_then(|way| times.get_mut((way + 1) as usize)) {
                *time += lasted;
            }
        }
    }

    /// The move in force ends at `at`.
    pub fn ends(&mut self, at: Nanos, moves: &Moves) {
        self.count(at);
        let long = |now: &Move| at - now.begun >= SHORTEST && now.meant != [0; 4];
        let Some(now) = self.now.filter(long) else { return };
        let Some(row) = moves.row_with(now.meant.map(Duty::signum)) else { return };
        let weakest = now.meant.iter().map(|duty| duty.abs()).filter(|duty| *duty > 0).min().unwrap_or(0);
        let level = if weakest >= HIGH { DutyLevel::High } else { DutyLevel::Low };
        let wheels = now.times.map(mostly);
        for wheel in Wheel::ALL {
            let times = now.times[wheel.index()];
            if wheels[wheel.index()].is_none() && times != [0; 3] {
                self.both_ways.push(both_ways(wheel, moves.name(row), now.begun, times));
            }
        }
        if wheels != [None; 4] {
            self.seen.insert((row, level, wheels));
        }
    }

    fn told(&self, wheel: Wheel) -> Told {
        self.pins[self.place.index()][wheel.index()]
    }

    /// Whether anything was seen.
    pub fn any(&self) -> bool {
        !self.seen.is_empty()
    }

    /// Whether this end was recorded.
    pub fn probed(&self) -> bool {
        self.pins[self.place.index()].iter().any(|told| *told != Told::NotProbed)
    }

    /// The same move at the same duty, and a wheel was driven one way once and another way at another time: in words.
    pub fn contradiction(&self, moves: &Moves) -> Option<String> {
        let all: Vec<_> = self.seen.iter().collect();
        for (place, (row, level, wheels)) in all.iter().enumerate() {
            for (_, _, others) in all.iter().skip(place + 1).filter(|(at, other, _)| at == row && other == level) {
                let differs = Wheel::ALL.into_iter().find_map(|wheel| {
                    let (one, other) = (wheels[wheel.index()]?, others[wheel.index()]?);
                    (one != other).then_some((wheel, one, other))
                });
                if let Some((wheel, one, other)) = differs {
                    let name = moves.name(*row);
                    let (one, other) = (way_words(one), way_words(other));
                    return Some(format!("in `{name}` {} was {one} once and {other} another time.", wheel.name()));
                }
            }
        }
        None
    }

    /// Wheels of which an input floated while they were meant to turn.
    pub fn open(&self) -> impl Iterator<Item = Wheel> + '_ {
        Wheel::ALL.into_iter().filter(move |wheel| self.open[wheel.index()])
    }

    /// What was seen, each once.
    pub fn observations(&self) -> impl Iterator<Item = Observation> + '_ {
        self.seen.iter().map(|(row, level, wheels)| Observation::Stand(Order::Row(*row), *level, *wheels))
    }

    /// Wheels that were driven now this way and now that within a move, in words; the first few, then how many more.
    pub fn both_ways(&self) -> Vec<String> {
        let mut said: Vec<String> = self.both_ways.iter().take(MOST_NAMED).cloned().collect();
        let more = self.both_ways.len() - said.len();
        if more > 0 {
            said.push(format!("and {more} more such cases"));
        }
        said
    }
}

const fn way_words(way: i32) -> &'static str {
    match way {
        1.. => "driven forward",
        0 => "still",
        _ => "driven backward",
    }
}

/// The way of nine tenths of the time; `None` without time, or where no way has so much.
fn mostly(times: Times) -> Option<i32> {
    let all: Nanos = times.iter().sum();
    let way = times.iter().position(|time| all > 0 && time * 10 >= all * OF_TEN)?;
    Some(way as i32 - 1)
}

fn both_ways(wheel: Wheel, name: &str, begun: Nanos, times: Times) -> String {
    let all: Nanos = times.iter().sum::<Nanos>().max(1);
    let [backward, still, forward] = times.map(|time| time * 100 / all);
    format!(
        "{} in `{name}` from {}.{:03} s: driven forward {forward} %, backward {backward} %, still {still} % of the time; \
         not taken",
        wheel.name(),
        begun / 1_000_000_000,
        begun / 1_000_000 % 1000
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    #[test]
    fn one_way_for_nine_tenths_of_the_time_is_what_was_seen() {
        assert_eq!(mostly([0, 5 * MS, 95 * MS]), Some(1));
        assert_eq!(mostly([90 * MS, 10 * MS, 0]), Some(-1));
        assert_eq!(mostly([0, 100 * MS, 0]), Some(0));
        assert_eq!(mostly([0, 20 * MS, 80 * MS]), None);
        assert_eq!(mostly([0; 3]), None, "an input that floats all the time");
    }
}
