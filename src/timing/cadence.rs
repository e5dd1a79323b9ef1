//! The rhythm of orders: learned from intervals, never from the distance of two reads.
//!
//! The period is the median of slopes over long baselines; it is believed only when the intervals of single and of
//! eightfold steps can contain it. A frame is *certainly* late when even its earliest instant lies after the latest
//! instant at which the frames before it allow it.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

/// The rhythm as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rhythm {
    /// Too little was heard.
    Learning,
    /// Only when something changes: silence says nothing.
    OnChange,
    /// Every so many nanoseconds while it is due.
    Every(Nanos),
}

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

/// Jitter of a sound sender that is never called late, nanoseconds.
const ALLOWED_JITTER: Nanos = 3_000_000;
/// How many frames on time are kept to bound the next.
const ON_TIME: usize = 12;
/// How many gaps are kept to judge the rhythm.
const GAPS: usize = 64;
/// Fewest single gaps before a rhythm is believed.
const ENOUGH: usize = 16;
/// The two baselines of slopes, in frames.
const BASELINES: [usize; 2] = [8, 32];
/// So many frames in a row, none of them certainly early, before frames are judged by their common beat. A sender that
/// repeats its last order and sends changes in between has no common beat: there only the single gap counts.
const STEADY: u32 = 256;

/// Learns the rhythm of one sort of frame on one wire and judges each frame.
#[derive(Clone, Debug)]
pub struct Cadence {
    stated: Option<Rhythm>,
    learned: Rhythm,
    /// This run of frames, each due after the one before: (place in the run, interval).
    run: VecDeque<(i64, Interval)>,
    on_time: VecDeque<(i64, Interval)>,
    slopes: [VecDeque<Nanos>; 2],
    single: VecDeque<Interval>,
    eightfold: VecDeque<Interval>,
    heard: u64,
    /// Frames since the last one that came certainly early.
    steady: u32,
}

impl Cadence {
    /// A cadence; `stated` is what the rover file says, if it does.
    pub fn new(stated: Option<Rhythm>) -> Self {
        Self {
            stated,
            learned: Rhythm::Learning,
            run: VecDeque::new(),
            on_time: VecDeque::new(),
            slopes: [VecDeque::new(), VecDeque::new()],
            single: VecDeque::new(),
            eightfold: VecDeque::new(),
            heard: 0,
            steady: 0,
        }
    }

    /// The rhythm, stated or learned.
    pub fn rhythm(&self) -> Rhythm {
        self.stated.unwrap_or(self.learned)
    }

    /// In words.
    pub fn words(&self) -> String {
        match self.rhythm() {
            Rhythm::Learning => "rhythm not known yet".to_owned(),
            Rhythm::OnChange => "only when something changes".to_owned(),
            Rhythm::Every(period) => format!("every {:.1} ms", period as f64 / 1e6),
        }
    }

    /// Begins a new run: the next frame was not due at a known time (a press after rest, a reset, a port back).
    pub fn interrupt(&mut self) {
        self.run.clear();
        self.on_time.clear();
    }

    /// Takes a frame that came `steps` places after the one before (1, or more where frames are known to be missing).
    pub fn take(&mut self, at: Interval, steps: i64) -> Came {
        self.heard += 1;
        let place = self.run.back().map_or(0, |(place, _)| place + steps.max(1));
        let came = match self.rhythm() {
            Rhythm::Every(period) => self.judge(place, at, period),
            Rhythm::Learning | Rhythm::OnChange => Came::OnTime,
        };
        if self.early(place, at) {
            self.steady = 0;
            self.on_time.clear();
        } else {
            self.steady = self.steady.saturating_add(1);
        }
        self.learn(place, at);
        if matches!(came, Came::Late(_)) {
            self.on_time.clear();
        }
        push(&mut self.on_time, (place, at), ON_TIME);
        came
    }

    /// Jitter allowed before a frame is called late: 3 ms, or six times the learned spread.
    fn allowance(&self, period: Nanos) -> Nanos {
        let mut off: Vec<Nanos> = self
            .single
            .iter()
            .map(|gap| (i64::midpoint(gap.lo, gap.hi) - period).abs() - gap.width() / 2)
            .map(|off| off.max(0))
            .collect();
        off.sort_unstable();
        let spread = off.get(off.len() / 2).copied().unwrap_or(0);
        (6 * spread).max(ALLOWED_JITTER)
    }

    fn judge(&self, place: i64, at: Interval, period: Nanos) -> Came {
        let beat = if self.steady >= STEADY { self.on_time.len() } else { 1 };
        let kept = || self.on_time.iter().rev().take(beat);
        let Some(latest) = kept().map(|(before, was)| (place - before) * period + was.hi).min() else {
            return Came::OnTime;
        };
        let gap = self.on_time.back().map_or(0, |(before, was)| at.lo - was.hi - (place - before - 1) * period);
        let bound = if beat == 1 { latest + period * 15 / 100 } else { latest } + self.allowance(period);
        if at.lo > bound {
            return Came::Late(gap.max(at.lo - latest));
        }
        let earliest = kept().map(|(before, was)| (place - before) * period + was.lo).max();
        match earliest {
            Some(earliest) if at.hi > earliest + period / 2 => Came::PossiblyLate,
            _ => Came::OnTime,
        }
    }

    /// Whether even its latest instant lies before what the frames before it allow.
    fn early(&self, place: i64, at: Interval) -> bool {
        let Rhythm::Every(period) = self.rhythm() else { return false };
        let soonest = self.on_time.iter().map(|(before, was)| (place - before) * period + was.lo).max();
        soonest.is_some_and(|soonest| at.hi < soonest - ALLOWED_JITTER)
    }

    fn learn(&mut self, place: i64, at: Interval) {
        if let Some((before, was)) = self.run.back()
            && place - before == 1
        {
            push(&mut self.single, at.since(*was), GAPS);
        }
        push(&mut self.run, (place, at), BASELINES[1] + 1);
        for (slopes, baseline) in self.slopes.iter_mut().zip(BASELINES) {
            let Some(index) = self.run.len().checked_sub(baseline + 1) else { continue };
            let Some((before, was)) = self.run.get(index) else { continue };
            let over = at.since(*was);
            push(slopes, i64::midpoint(over.lo, over.hi) / (place - before).max(1), GAPS);
            if baseline == BASELINES[0] && place - before == baseline as i64 {
                push(&mut self.eightfold, over, GAPS);
            }
        }
        if self.heard.is_multiple_of(8) && self.stated.is_none() {
            self.learned = self.believe();
        }
    }

    fn believe(&self) -> Rhythm {
        if self.single.len() < ENOUGH {
            return self.learned;
        }
        let [short, long] = &self.slopes;
        let Some(period) = median(if long.len() >= 8 { long } else { short }) else { return Rhythm::OnChange };
        let share = |gaps: &VecDeque<Interval>, times: i64| {
            let due = period * times;
            let slack = due / 50;
            let fits = gaps.iter().filter(|gap| gap.lo - slack <= due && due <= gap.hi + slack).count();
            fits * 100 / gaps.len().max(1)
        };
        let jitter = |gaps: &VecDeque<Interval>| -> VecDeque<Interval> {
            gaps.iter().map(|gap| Interval::new(gap.lo - ALLOWED_JITTER, gap.hi + ALLOWED_JITTER)).collect()
        };
        let periodic = period > 0
            && share(&jitter(&self.single), 1) >= 90
            && !self.eightfold.is_empty()
            && share(&jitter(&self.eightfold), 8) >= 80
            && period > 2 * ALLOWED_JITTER;
        if periodic { Rhythm::Every(period) } else { Rhythm::OnChange }
    }
}

fn push<T>(list: &mut VecDeque<T>, item: T, most: usize) {
    if list.len() == most {
        list.pop_front();
    }
    list.push_back(item);
}

fn median(list: &VecDeque<Nanos>) -> Option<Nanos> {
    let mut sorted: Vec<Nanos> = list.iter().copied().collect();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    fn interval(at: Nanos, width: Nanos) -> Interval {
        Interval::new(at - width / 2, at + width / 2)
    }

    #[test]
    fn a_steady_sender_is_learned_and_a_late_frame_is_certain() {
        let mut cadence = Cadence::new(None);
        for place in 0..300 {
            assert_eq!(cadence.take(interval(place * 50 * MS, 200_000), 1), Came::OnTime);
        }
        assert_eq!(cadence.rhythm(), Rhythm::Every(50 * MS));
        let came = cadence.take(interval(300 * 50 * MS + 30 * MS, 200_000), 1);
        assert!(matches!(came, Came::Late(by) if by > 29 * MS), "{came:?}");
    }

    #[test]
    fn lateness_below_the_taps_resolution_is_never_certain() {
        let mut cadence = Cadence::new(None);
        for place in 0..200_i64 {
            let grid = (place * 20 * MS + 16 * MS - 1) / (16 * MS) * 16 * MS;
            let came = cadence.take(Interval::new(grid - 17 * MS, grid), 1);
            assert!(!matches!(came, Came::Late(_)), "frame {place}: {came:?}");
        }
        let learned = cadence.rhythm();
        assert!(matches!(learned, Rhythm::Every(period) if (period - 20 * MS).abs() < MS / 2), "{learned:?}");
    }

    #[test]
    fn presses_of_a_finger_are_on_change() {
        let mut cadence = Cadence::new(None);
        let mut at = 0;
        for place in 0..60_i64 {
            at += (place * 7919 % 900 + 80) * MS;
            cadence.take(interval(at, 200_000), 1);
        }
        assert_eq!(cadence.rhythm(), Rhythm::OnChange);
    }
}
