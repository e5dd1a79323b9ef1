//! The rhythm of one sort of frame on one wire, and whether each frame kept it.
//!
//! Three sorts of sender: one that sends all the time, one that repeats its last order while a move is in force and is
//! silent at rest, and one that sends only when something changes. Of the last, silence says nothing.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

use super::learner::{ALLOWED_JITTER, Even, Learned, Learner};
pub use super::schedule::Came;
use super::schedule::Schedule;

/// The rhythm as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rhythm {
    /// Too little was heard.
    Learning,
    /// Only when something changes: silence says nothing.
    OnChange,
    /// Every so many nanoseconds while it is due.
    Every(Nanos),
    /// Every so many nanoseconds while a move is in force; silent at rest.
    WhileMoving(Nanos),
}

impl Rhythm {
    /// How long until the next frame is due while a move is in force; `None` where none is.
    pub const fn period(self) -> Option<Nanos> {
        match self {
            Self::Every(period) | Self::WhileMoving(period) => Some(period),
            Self::Learning | Self::OnChange => None,
        }
    }

    /// In words.
    pub fn words(self) -> String {
        let ms = |period: Nanos| period as f64 / 1e6;
        match self {
            Self::Learning => "rhythm not known yet".to_owned(),
            Self::OnChange => "only when something changes".to_owned(),
            Self::Every(period) => format!("every {:.1} ms", ms(period)),
            Self::WhileMoving(period) => format!("every {:.1} ms in a move", ms(period)),
        }
    }
}

/// How a frame follows on the one before.
// Each is a fact of its own: none follows from another.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// How many places: 1, or more where frames are known to be missing.
    pub places: i64,
    /// A sequence number says so.
    pub counted: bool,
    /// A move was in force until it came.
    pub moving: bool,
    /// It asks for the same as the one before.
    pub same: bool,
    /// The frames before it say nothing of when it was due: the sender began anew, or nobody listened.
    pub anew: bool,
    /// Whether the frames that are missing before it took their time is not known: they were hit, or never sent.
    pub unsure: bool,
}

impl Step {
    /// A frame of a sort that orders nothing.
    pub const PLAIN: Self = Self { places: 1, counted: false, moving: true, same: true, anew: false, unsure: false };
}

/// Silence at rest longer than this ends a run while the rhythm is not known, nanoseconds.
const REST: Nanos = 1_000_000_000;

/// From one repeat in so many frames on a sender repeats what is in force.
const REPEATS: u64 = 4;
/// So many rests say whether the sender is silent at rest.
const RESTS: usize = 32;
/// Fewest silent ones.
const ENOUGH_RESTS: usize = 3;

/// Learns the rhythm of one sort of frame and judges each frame.
#[derive(Clone, Debug)]
pub struct Cadence {
    stated: Option<Rhythm>,
    learned: Rhythm,
    /// All frames.
    all: Learner,
    /// Those that repeat an order while a move is in force.
    repeats: Option<Learner>,
    schedule: Schedule,
    last: Option<Interval>,
    /// Frames, and those of them that repeat an order while a move is in force.
    heard: u64,
    repeated: u64,
    /// Whether the sender was silent at the last rests, or went on.
    rests: VecDeque<bool>,
}

impl Cadence {
    /// A cadence; `stated` is what the rover file says, if it does.
    pub fn new(stated: Option<Rhythm>) -> Self {
        Self {
            stated,
            learned: Rhythm::Learning,
            all: Learner::default(),
            repeats: Some(Learner::default()),
            schedule: Schedule::default(),
            last: None,
            heard: 0,
            repeated: 0,
            rests: VecDeque::new(),
        }
    }

    /// A cadence of frames that order nothing: they know no move and no rest.
    pub fn plain() -> Self {
        Self { repeats: None, ..Self::new(None) }
    }

    /// The rhythm, stated or learned.
    pub fn rhythm(&self) -> Rhythm {
        self.stated.unwrap_or(self.learned)
    }

    /// In words. A sender that repeats its orders unevenly does not send only when something changes.
    pub fn words(&self) -> String {
        let uneven = self.stated.is_none() && self.learned == Rhythm::OnChange && self.repeated * REPEATS > self.heard;
        if uneven { "repeated, at no steady rate".to_owned() } else { self.rhythm().words() }
    }

    /// Begins a new run: the next frame was not due at a known time (a reset, a port back).
    pub fn interrupt(&mut self) {
        self.all.interrupt();
        self.schedule.interrupt();
        self.last = None;
        if let Some(repeats) = &mut self.repeats {
            repeats.interrupt();
        }
    }

    /// Takes the next frame.
    pub fn take(&mut self, at: Interval, step: Step) -> Came {
        if step.anew {
            self.interrupt();
        }
        if step.unsure { self.take_unsure(at, step) } else { self.take_sure(at, step) }
    }

    /// A frame before which others are missing. It is late only where all of them together do not account for the time,
    /// and only where their number is certain.
    fn take_unsure(&mut self, at: Interval, step: Step) -> Came {
        let over = self.due_by().filter(|_| step.counted).and_then(|even| self.schedule.overdue(at, step.places, even));
        let places = self.by_time(at);
        if places.is_none() {
            self.interrupt();
        }
        self.take_sure(at, Step { places: places.unwrap_or(1), ..step });
        over.map_or(Came::OnTime, Came::Late)
    }

    /// How many places after the last frame this one came, where its time alone tells.
    fn by_time(&self, at: Interval) -> Option<i64> {
        let (last, even) = self.last.zip(self.even())?;
        let gap = at.since(last);
        let places = (i64::midpoint(gap.lo, gap.hi) + even.period / 2) / even.period;
        let alone = 2 * gap.lo > (2 * places - 1) * even.period && 2 * gap.hi < (2 * places + 1) * even.period;
        (places > 0 && alone).then_some(places)
    }

    fn take_sure(&mut self, at: Interval, step: Step) -> Came {
        if !step.moving {
            self.note_rest(at);
        }
        if !step.moving && self.rests(at) {
            self.all.interrupt();
            self.schedule.interrupt();
        }
        self.all.take(step.places, at);
        self.heard += 1;
        self.repeated += u64::from(step.moving && step.same);
        if let Some(repeats) = &mut self.repeats {
            if !(step.moving && step.same) {
                repeats.interrupt();
            }
            repeats.take(step.places, at);
        }
        let came = self.judge(at, step);
        self.last = Some(at);
        self.learned = self.believe();
        came
    }

    /// At rest a sender may fall silent; while it goes on at its rhythm the run goes on too.
    fn rests(&self, at: Interval) -> bool {
        let Some(last) = self.last else { return true };
        match self.rhythm() {
            Rhythm::Every(period) => at.lo - last.hi >= 2 * period,
            Rhythm::WhileMoving(_) => true,
            Rhythm::Learning | Rhythm::OnChange => at.lo - last.hi >= REST,
        }
    }

    /// Whether the sender went on at rest, where the gap tells.
    fn note_rest(&mut self, at: Interval) {
        let Some((last, even)) = self.last.zip(self.even()) else { return };
        let gap = at.since(last);
        let silent = gap.lo > 2 * even.period;
        if silent || gap.hi * 2 < 3 * even.period + 2 * even.jitter {
            if self.rests.len() == RESTS {
                self.rests.pop_front();
            }
            self.rests.push_back(silent);
        }
    }

    /// What repeats evenly: orders in a move, else all.
    fn even(&self) -> Option<Even> {
        [Some(&self.all), self.repeats.as_ref()].into_iter().flatten().find_map(|learner| match learner.learned() {
            Learned::Even(even) => Some(even),
            Learned::Little | Learned::Uneven => None,
        })
    }

    fn silent_at_rest(&self) -> bool {
        let silent = self.rests.iter().filter(|silent| **silent).count();
        silent >= ENOUGH_RESTS && silent * 2 > self.rests.len()
    }

    fn judge(&mut self, at: Interval, step: Step) -> Came {
        let Some(even) = self.due_by() else {
            // The schedule must not go on later from a frame that was long ago by then.
            self.schedule.interrupt();
            return Came::OnTime;
        };
        self.schedule.take(at, step.places, step.counted, even)
    }

    /// The rhythm that frames are judged by.
    fn due_by(&self) -> Option<Even> {
        let period = self.rhythm().period()?;
        // What is learned is nearer to the sender's own clock than what is stated. Where both disagree, what is stated
        // is judged by, and only gap by gap.
        let stated = Even { period, jitter: ALLOWED_JITTER, settled: false };
        let near = |even: &Even| (even.period - period).abs() <= period / 50;
        let even = self.even().filter(near).unwrap_or(stated);
        let beat = matches!(self.rhythm(), Rhythm::Every(_));
        Some(Even { settled: even.settled && beat, ..even })
    }

    fn believe(&self) -> Rhythm {
        let repeats = self.repeats.as_ref().map_or(Learned::Little, Learner::learned);
        match (self.all.learned(), repeats) {
            (Learned::Even(even), _) if !self.silent_at_rest() => Rhythm::Every(even.period),
            (Learned::Even(even), _) | (_, Learned::Even(even)) => Rhythm::WhileMoving(even.period),
            (Learned::Little, _) => Rhythm::Learning,
            (Learned::Uneven, Learned::Little | Learned::Uneven) => Rhythm::OnChange,
        }
    }
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
            assert_eq!(cadence.take(interval(place * 50 * MS, 200_000), Step::PLAIN), Came::OnTime);
        }
        assert_eq!(cadence.rhythm(), Rhythm::Every(50 * MS));
        let came = cadence.take(interval(300 * 50 * MS + 30 * MS, 200_000), Step::PLAIN);
        assert!(matches!(came, Came::Late(by) if by > 29 * MS), "{came:?}");
    }

    /// A silence of some seconds is not part of the rhythm, whether the sender, the wire or the tap was silent.
    #[test]
    fn a_silence_changes_no_rhythm() {
        let mut cadence = Cadence::new(None);
        for place in 0..800_i64 {
            let grid = (place * 50 * MS + 16 * MS - 1) / (16 * MS) * 16 * MS + place / 200 * 3_317 * MS;
            cadence.take(Interval::new(grid - 17 * MS, grid), Step::PLAIN);
            let learned = cadence.rhythm();
            let right = matches!(learned, Rhythm::Every(period) if (period - 50 * MS).abs() < MS / 10);
            assert!(place < 100 || right, "frame {place}: {learned:?}");
        }
    }

    #[test]
    fn lateness_below_the_taps_resolution_is_never_certain() {
        let mut cadence = Cadence::new(None);
        for place in 0..200_i64 {
            let grid = (place * 20 * MS + 16 * MS - 1) / (16 * MS) * 16 * MS;
            let came = cadence.take(Interval::new(grid - 17 * MS, grid), Step::PLAIN);
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
            cadence.take(interval(at, 200_000), Step { same: false, moving: place % 2 == 1, ..Step::PLAIN });
        }
        assert_eq!((cadence.rhythm(), cadence.words()), (Rhythm::OnChange, "only when something changes".to_owned()));
    }

    /// Repeats that a crowded radio brings come now after 40, now after 200 ms.
    #[test]
    fn uneven_repeats_are_not_on_change() {
        let mut cadence = Cadence::new(None);
        let mut at = 0;
        for place in 0..200_i64 {
            at += (40 + place * 7919 % 160) * MS;
            cadence.take(interval(at, 200_000), Step { same: place % 20 != 0, ..Step::PLAIN });
        }
        assert_eq!((cadence.rhythm(), cadence.words()), (Rhythm::OnChange, "repeated, at no steady rate".to_owned()));
    }

    /// Legs of two seconds, each order repeated every 100 ms, one change within, and rests of a finger's length.
    fn legs(cadence: &mut Cadence, count: i64) -> Vec<Came> {
        let mut came = Vec::new();
        let mut at = 0;
        for leg in 0..count {
            for place in 0..20 {
                let changed = place == 0 || place == 7;
                at += if place == 7 { 40 } else { 100 } * MS;
                let step = Step { same: !changed, moving: place > 0, ..Step::PLAIN };
                came.push(cadence.take(interval(at, 200_000), step));
            }
            at += (30 + leg * 7 % 50) * MS;
            came.push(cadence.take(interval(at, 200_000), Step { same: false, ..Step::PLAIN }));
            at += (300 + leg * 317 % 1500) * MS;
        }
        came
    }

    #[test]
    fn repeats_while_moving_are_a_rhythm_of_their_own() {
        let mut cadence = Cadence::new(None);
        let came = legs(&mut cadence, 12);
        assert!(came.iter().all(|came| *came == Came::OnTime), "{came:?}");
        assert_eq!(cadence.rhythm(), Rhythm::WhileMoving(100 * MS));
        let press = Step { moving: false, same: false, ..Step::PLAIN };
        assert_eq!(cadence.take(interval(100_000 * MS, 200_000), press), Came::OnTime, "a press is never late");
        let late = cadence.take(interval(100_160 * MS, 200_000), Step::PLAIN);
        assert!(matches!(late, Came::Late(by) if by > 59 * MS), "{late:?}");
    }

    #[test]
    fn what_is_stated_counts_from_the_first_frame() {
        let mut cadence = Cadence::new(Some(Rhythm::Every(50 * MS)));
        cadence.take(interval(0, 200_000), Step::PLAIN);
        assert_eq!(cadence.take(interval(50 * MS, 200_000), Step::PLAIN), Came::OnTime);
        assert!(matches!(cadence.take(interval(130 * MS, 200_000), Step::PLAIN), Came::Late(_)));
        assert_eq!(cadence.take(interval(900 * MS, 200_000), Step { anew: true, ..Step::PLAIN }), Came::OnTime);
    }
}
