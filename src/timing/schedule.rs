//! The schedule of an even sender: when a frame was due at the latest, by the frames on time before it.
//!
//! Each of the last twelve frames on time bounds the next: it was complete by the latest instant of that frame and so
//! many periods. A frame is *certainly* late when even its earliest instant lies after the smallest of these bounds and
//! the jitter. It is certain too when it certainly came more than 1.15 periods, and the jitter, after the frame before.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

use super::learner::Even;
use super::wander::Wander;

/// How one frame came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// As due, or nothing was due.
    OnTime,
    /// It may have been late; the tap cannot tell.
    PossiblyLate,
    /// It was late, by at least so many nanoseconds.
    Late(Nanos),
}

/// How many frames on time are kept to bound the next.
const ON_TIME: usize = 12;
/// So many frames in a row, none certainly early, before frames are judged by a common beat. A sender that sends
/// changes in between has no common beat: there only the single gap counts.
const STEADY: u32 = 24;
/// So many frames after a certain gap may be ones that waited.
const WAITED: u32 = 8;
/// So many late frames in a row that agree with each other are a new beat.
const NEW_BEAT: u32 = 3;
/// So many periods late, a frame begins a new beat.
const HELD_UP: Nanos = 4;
/// So many frames that could be of either beat, or of neither, end the old one.
const UNDECIDED: u32 = 12;
/// A sender that leaves out more places in a row than this has a new beat.
const MOST_LEFT_OUT: i64 = 8;
/// A period can be off by one part in so many.
const OFF: Nanos = 5_000;

/// Frames that keep one beat.
#[derive(Clone, Debug, Default)]
struct Beat(VecDeque<(i64, Interval)>);

/// How a frame fits a beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fit {
    Early,
    Fits,
    Late(Nanos),
}

impl Beat {
    fn push(&mut self, place: i64, at: Interval) {
        if self.0.len() == ON_TIME {
            self.0.pop_front();
        }
        self.0.push_back((place, at));
    }

    /// When the frame at `place` was due: not before, not after.
    fn due(&self, place: i64, period: Nanos) -> Option<(Nanos, Nanos)> {
        self.0.iter().fold(None, |bounds, (kept, at)| {
            let way = (place - kept) * period;
            let off = way / OFF;
            let (lo, hi) = (at.lo + way - off, at.hi + way + off);
            Some(bounds.map_or((lo, hi), |(a, b): (Nanos, Nanos)| (a.max(lo), b.min(hi))))
        })
    }

    fn fit(&self, place: i64, at: Interval, even: Even) -> Fit {
        match self.due(place, even.period) {
            Some((_, latest)) if at.lo > latest + even.jitter => Fit::Late(at.lo - latest),
            Some((earliest, _)) if at.hi < earliest - even.jitter => Fit::Early,
            _ => Fit::Fits,
        }
    }
}

/// The schedule of one run of frames.
#[derive(Clone, Debug, Default)]
pub struct Schedule {
    place: i64,
    last: Option<Interval>,
    on_time: Beat,
    /// The beat that a late frame may have begun, and how many late frames are of it.
    other: Option<(Beat, u32)>,
    undecided: u32,
    /// Places that were taken as left out at the last late frame.
    left_out: i64,
    steady: u32,
    /// So many frames may still be ones that waited.
    waited: u32,
    wander: Wander,
}

impl Schedule {
    /// Begins anew: the next frame was not due at a known time.
    pub fn interrupt(&mut self) {
        *self = Self { steady: self.steady, wander: self.wander.clone(), ..Self::default() };
    }

    /// By how much a frame `steps` places after the last one is certainly late, by that one alone; `None` where it is not.
    pub fn overdue(&self, at: Interval, steps: i64, even: Even) -> Option<Nanos> {
        let over = at.lo - self.last?.hi - steps.max(1) * even.period;
        (over > self.jitter(even).max(even.period * 15 / 100)).then_some(over)
    }

    /// What this sender may be late without being called so.
    fn jitter(&self, even: Even) -> Nanos {
        even.jitter.max(self.wander.allowed(even.period))
    }

    /// Takes a frame `steps` places after the one before; `counted` when a sequence number says so.
    pub fn take(&mut self, at: Interval, steps: i64, counted: bool, even: Even) -> Came {
        let steps = steps.max(1);
        let gap = self.overdue(at, steps, even);
        let even = Even { jitter: self.jitter(even), ..even };
        self.place += steps;
        let Some(last) = self.last.replace(at) else {
            self.on_time.push(self.place, at);
            return Came::OnTime;
        };
        if !even.settled || self.steady < STEADY {
            return self.by_gap(at, last, steps, even, gap);
        }
        let came = self.by_beat(at, counted, even);
        match (gap, came) {
            (Some(over), Came::OnTime | Came::PossiblyLate) => Came::Late(over),
            (Some(over), Came::Late(by)) => Came::Late(by.max(over)),
            _ => came,
        }
    }

    /// Without a common beat: by the frame before alone.
    fn by_gap(&mut self, at: Interval, last: Interval, steps: i64, even: Even, gap: Option<Nanos>) -> Came {
        let early = self.on_time.fit(self.place, at, even) == Fit::Early;
        // Frames that waited come early on the one that ended the silence: that says nothing of the beat.
        self.waited = if gap.is_some() { WAITED } else { self.waited.saturating_sub(1) };
        match early {
            true if self.waited == 0 => self.steady = 0,
            true => {}
            false => self.steady = self.steady.saturating_add(1),
        }
        if early || gap.is_some() {
            self.on_time = Beat::default();
        }
        self.on_time.push(self.place, at);
        match gap {
            Some(over) => Came::Late(over),
            None if at.hi > last.lo + steps * even.period + even.period / 2 => Came::PossiblyLate,
            None => Came::OnTime,
        }
    }

    fn by_beat(&mut self, at: Interval, counted: bool, even: Even) -> Came {
        let fit = self.on_time.fit(self.place, at, even);
        self.learn(fit, at, even);
        if let Some((other, hits)) = self.other.take() {
            return self.by_both(at, even, fit, other, hits);
        }
        match fit {
            Fit::Fits => self.keep(at, even),
            Fit::Early if self.left_out > 0 => {
                // Nothing was left out: it comes only now.
                self.place -= std::mem::take(&mut self.left_out);
                self.undecided = 0;
                self.other = Some((Beat::default(), 0));
                Came::OnTime
            }
            Fit::Early => {
                self.steady = 0;
                self.on_time = Beat::default();
                self.on_time.push(self.place, at);
                Came::OnTime
            }
            Fit::Late(by) => {
                if counted || !self.skip(at, by, even) {
                    let mut other = Beat::default();
                    other.push(self.place, at);
                    self.other = Some((other, 1));
                    self.undecided = 0;
                }
                Came::Late(by)
            }
        }
    }

    /// Frames after a late one may have waited for it: only others tell of the sender's own jitter.
    fn learn(&mut self, fit: Fit, at: Interval, even: Even) {
        let alone = self.other.is_none() && self.left_out == 0 && !matches!(fit, Fit::Late(_));
        let free = alone && self.on_time.0.len() == ON_TIME;
        if let Some((earliest, _)) = self.on_time.due(self.place, even.period).filter(|_| free) {
            self.wander.take(at, earliest);
        }
    }

    fn keep(&mut self, at: Interval, even: Even) -> Came {
        let possibly = self.on_time.due(self.place, even.period).is_some_and(|due| at.hi > due.0 + even.period / 2);
        self.on_time.push(self.place, at);
        self.left_out = 0;
        if possibly { Came::PossiblyLate } else { Came::OnTime }
    }

    /// Without numbers a frame that is late by whole periods may follow on frames that were never sent.
    fn skip(&mut self, at: Interval, by: Nanos, even: Even) -> bool {
        let around = by / even.period;
        let fits = |left_out: &i64| self.on_time.fit(self.place + left_out, at, even) == Fit::Fits;
        let Some(left_out) = (around..=around + 1).filter(|n| (1..=MOST_LEFT_OUT).contains(n)).find(fits) else {
            return false;
        };
        self.place += left_out;
        self.left_out = left_out;
        self.on_time.push(self.place, at);
        true
    }

    /// After a late frame: it was late once, or it began a new beat, or frames that waited come one upon the other.
    fn by_both(&mut self, at: Interval, even: Even, fit: Fit, mut other: Beat, hits: u32) -> Came {
        self.undecided += 1;
        match (fit, other.fit(self.place, at, even)) {
            (Fit::Fits, Fit::Early | Fit::Late(_)) => self.keep(at, even),
            (Fit::Late(by), Fit::Fits) if !other.0.is_empty() => {
                other.push(self.place, at);
                self.settle(other, hits + 1);
                // A sender that was held up for so long takes its beat up from there: one order was late.
                if by < HELD_UP * even.period { Came::Late(by) } else { Came::OnTime }
            }
            (Fit::Late(by), Fit::Late(_)) => {
                let mut other = Beat::default();
                other.push(self.place, at);
                self.settle(other, 1);
                Came::Late(by)
            }
            (Fit::Fits, Fit::Fits) => {
                if self.undecided < UNDECIDED {
                    self.other = Some((other, hits));
                }
                self.keep(at, even)
            }
            _ => {
                self.settle(other, hits);
                Came::OnTime
            }
        }
    }

    /// Goes on with both beats, or with the new one.
    fn settle(&mut self, other: Beat, hits: u32) {
        if hits >= NEW_BEAT || (self.undecided >= UNDECIDED && !other.0.is_empty()) {
            self.on_time = other;
        } else if self.undecided >= UNDECIDED {
            self.on_time = Beat::default();
        } else {
            self.other = Some((other, hits));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;
    const EVEN: Even = Even { period: 50 * MS, jitter: 3 * MS, settled: true };

    fn steady(frames: i64) -> Schedule {
        let mut schedule = Schedule::default();
        for place in 0..frames {
            assert_eq!(schedule.take(near(place * 50), 1, true, EVEN), Came::OnTime);
        }
        schedule
    }

    fn near(ms: i64) -> Interval {
        Interval::new(ms * MS - 100_000, ms * MS + 100_000)
    }

    fn lates(schedule: &mut Schedule, times: &[i64], counted: bool) -> usize {
        times.iter().filter(|ms| matches!(schedule.take(near(**ms), 1, counted, EVEN), Came::Late(_))).count()
    }

    #[test]
    fn one_late_frame_is_one_late_frame() {
        let mut schedule = steady(100);
        assert_eq!(lates(&mut schedule, &[5_030, 5_050, 5_100, 5_150, 5_230, 5_250], true), 2);
    }

    #[test]
    fn a_new_beat_is_believed_after_three() {
        let mut schedule = steady(100);
        let moved: Vec<i64> = (0..20).map(|n| 5_030 + n * 50).collect();
        assert_eq!(lates(&mut schedule, &moved, true), 3);
    }

    #[test]
    fn a_sender_that_was_held_up_and_goes_on_is_late_once() {
        for begins in [5_210, 5_300, 6_587, 15_000] {
            let mut schedule = steady(100);
            let moved: Vec<i64> = (0..20).map(|n| begins + n * 50).collect();
            assert_eq!(lates(&mut schedule, &moved, true), 1, "{begins}");
        }
    }

    #[test]
    fn frames_that_waited_are_late_once() {
        for counted in [true, false] {
            let mut schedule = steady(100);
            let burst = [5_200, 5_203, 5_206, 5_209, 5_212, 5_250, 5_300, 5_350];
            assert_eq!(lates(&mut schedule, &burst, counted), 1, "counted: {counted}");
        }
    }

    #[test]
    fn a_frame_never_sent_makes_the_next_one_late_and_no_more() {
        let mut schedule = steady(100);
        assert_eq!(lates(&mut schedule, &[5_050, 5_100, 5_150, 5_200], false), 1);
    }
}
