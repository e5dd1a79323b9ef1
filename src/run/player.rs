//! The player of a replay: plays at a speed, steps by frame, goes to any time and from place to place.
//!
//! A place is an instant T: everything dated up to T by the file has been given to the engine. Where a place is a frame
//! or another event, the engine has had what lets that event out, which may be a little more, and the screen is dated by
//! the event. A pass on its own thread reads the whole file meanwhile ([`pass`]). Where it has left no copy of the engine
//! close by, a place is shown at once from a new engine that began 30 s earlier, and the screen says so; behind it
//! the exact engine runs up to the same instant and then takes its place.

mod pass;
mod places;
mod reading;
mod reread;

use std::collections::VecDeque;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use wheeltap_parsers::{Input, Nanos};

use crate::console::status::{Mode, Replay, Status};
use crate::console::wish::Wish;
use crate::engine::event::{Event, Happening};
use crate::engine::snapshot::survey::Sort;
use crate::rover::file::RoverFile;
use crate::run::Failure;
use crate::run::publish::View;
use crate::run::screen::Desk;
use crate::run::signals::Asked as Ended;
use crate::session::append_note;
use crate::source::Asked;
use pass::Pass;
use reading::{Reading, Script};

/// Speeds in hundredths; `None` is as fast as possible.
const SPEEDS: [Option<u32>; 8] = [Some(10), Some(25), Some(50), Some(100), Some(200), Some(500), Some(2000), None];
/// The place of the usual speed in [`SPEEDS`].
const USUAL: usize = 3;
/// How far before a place a new engine begins where no copy is near, nanoseconds.
const COLD: Nanos = 30_000_000_000;
/// How long one stretch of running forward may take before keys are looked at again.
const STRETCH: Duration = Duration::from_millis(25);
/// Shortest and longest time between two views.
const VIEW: (Duration, Duration) = (Duration::from_millis(33), Duration::from_millis(500));

/// What is said of a note in a session.
const KEPT: &str = "The note is kept in the session.";
/// What is said of a note in a log, which holds none.
const IN_VIEW_ONLY: [&str; 2] = [
    "In view until you quit: a log keeps no notes. A session does; this makes one: wheeltap bundle LOG --rover FILE \
     --out NAME",
    "In view until you quit: this file keeps no notes.",
];

/// Where running forward ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Until {
    /// Past this instant.
    Time(Nanos),
    /// At the next record.
    Record,
    /// At the first event that is not earlier than this instant.
    Event(Nanos),
}

/// A file being played.
pub struct Player {
    script: Script,
    pass: Pass,
    now: Reading,
    /// The exact engine on its way to where a cold one stands.
    warm: Option<Reading>,
    cold_from: Option<Nanos>,
    place: Nanos,
    span: (Nanos, Nanos),
    /// Records that are out already but lie after the place.
    out: VecDeque<Nanos>,
    speed: usize,
    playing: bool,
    goal: Option<Until>,
    /// The date of the event at which running forward to an event ended.
    met: Option<Nanos>,
    sort: Sort,
    round: Option<(Nanos, Nanos)>,
    message: Option<String>,
    /// Damaged lines of the file were spoken of.
    damage_told: bool,
}

/// A record that a step stops at.
fn is_record(event: &Event) -> bool {
    event.len > 0 || matches!(event.what, Happening::Note(_))
}

impl Player {
    /// Opens a file at its beginning, playing at the usual speed. `inside` is the rover file of the session when
    /// another one is used.
    pub fn open(
        path: &Path,
        asked: Asked,
        rover: Option<Arc<RoverFile>>,
        inside: Option<Arc<RoverFile>>,
        ended: &Ended,
    ) -> Result<Self, Failure> {
        let script = Script { path: path.to_owned(), asked, rover, desk: Vec::new() };
        let (span, remark) = script.span(ended)?;
        let now = script.begin()?;
        let pass = Pass::begin(script.clone(), span, inside)?;
        Ok(Self {
            script,
            pass,
            now,
            warm: None,
            cold_from: None,
            place: span.0,
            span,
            out: VecDeque::new(),
            speed: USUAL,
            playing: true,
            goal: None,
            met: None,
            sort: Sort::default(),
            round: None,
            message: remark,
            damage_told: false,
        })
    }

    /// A message for the person.
    pub fn say(&mut self, message: String) {
        self.message = Some(message);
    }

    /// Plays until the person quits.
    pub fn run(&mut self, desk: &Desk) -> Result<(), Failure> {
        let mut before = Instant::now();
        let mut viewed: Option<Instant> = None;
        let mut changed = true;
        while !desk.asked.to_end() {
            while let Ok(wish) = desk.wishes.try_recv() {
                self.grant(wish, &desk.asked)?;
                changed = true;
            }
            let now = Instant::now();
            let passed = now - before;
            before = now;
            changed |= self.go_on(passed)?;
            changed |= self.warm_up()?;
            let since = viewed.map(|at| at.elapsed());
            if since.is_none_or(|since| since >= VIEW.1 || (changed && since >= VIEW.0)) {
                viewed = Some(Instant::now());
                changed = false;
                let status = self.status()?;
                desk.publisher.publish(View { snapshot: self.snapshot(), status });
            }
            if self.goal.is_none() && self.warm.is_none() {
                self.rest(desk)?;
            }
        }
        Ok(())
    }

    /// Sleeps a little, or until a wish comes.
    fn rest(&mut self, desk: &Desk) -> Result<(), Failure> {
        let nap = if self.playing { Duration::from_millis(10) } else { Duration::from_millis(50) };
        match desk.wishes.recv_timeout(nap) {
            Ok(wish) => self.grant(wish, &desk.asked),
            Err(RecvTimeoutError::Timeout) => Ok(()),
            Err(RecvTimeoutError::Disconnected) => {
                desk.asked.end();
                Ok(())
            }
        }
    }

    fn status(&mut self) -> Result<Status, Failure> {
        let mut found = self.pass.found();
        if let Some(trouble) = found.trouble.take() {
            return Err(trouble);
        }
        let survey = Arc::clone(&found.survey);
        drop(found);
        if !survey.damaged_lines.is_empty() && !std::mem::replace(&mut self.damage_told, true) {
            let count = survey.damaged_lines.len();
            self.say(format!("This session has damaged lines ({count} named): d shows them below its rows."));
        }
        let replay = Replay {
            position: self.place.clamp(self.span.0, self.span.1),
            length: self.span.1,
            speed: SPEEDS.get(self.speed).copied().flatten(),
            playing: self.playing,
            read_to: survey.read_to.clamp(self.span.0, self.span.1),
            sort: self.sort,
            round: self.round,
            cold_from: self.cold_from,
            survey,
        };
        Ok(Status { mode: Mode::Replay, replay: Some(replay), message: self.message.clone(), ..Status::default() })
    }

    fn grant(&mut self, wish: Wish, asked: &Ended) -> Result<(), Failure> {
        if matches!(self.goal, Some(Until::Record | Until::Event(_))) && wish != Wish::Quit {
            self.settle()?;
        }
        self.message = None;
        match wish {
            Wish::Quit => asked.end(),
            Wish::Note(text) => self.note(&text),
            // The page itself says where a lesson can be had.
            Wish::Teach | Wish::Answer(_) => {}
            Wish::Tapped => self.message = Some("Taps are measured while listening, not in a replay.".to_owned()),
            Wish::RunOrStand => {
                self.playing = !self.playing;
                self.goal = None;
            }
            Wish::Faster => self.speed = (self.speed + 1).min(SPEEDS.len() - 1),
            Wish::Slower => self.speed = self.speed.saturating_sub(1),
            Wish::OtherSort => self.sort = self.sort.next(),
            Wish::Round => self.go_round(),
            Wish::StepOn => self.step_on(),
            Wish::StepBack => self.step_back()?,
            Wish::SeekBy(by) => self.seek(self.place.saturating_add(by))?,
            Wish::GoTo(at) => self.seek(at)?,
            Wish::ToStart => self.seek(self.span.0)?,
            Wish::ToEnd => self.seek(self.span.1)?,
            Wish::NextPlace => self.go_to_place(true)?,
            Wish::PreviousPlace => self.go_to_place(false)?,
        }
        Ok(())
    }

    /// Goes on with a goal, or plays for the time that has passed. True when the place changed.
    fn go_on(&mut self, passed: Duration) -> Result<bool, Failure> {
        if let Some(goal) = self.goal {
            if self.forward(goal)? {
                self.reached(goal)?;
            }
            return Ok(true);
        }
        if !self.playing {
            return Ok(false);
        }
        if let Some((from, to)) = self.round.filter(|(_, to)| self.place >= *to) {
            self.seek(from.min(to))?;
            return Ok(true);
        }
        if self.now.ended {
            self.playing = false;
            return Ok(true);
        }
        let to = match SPEEDS.get(self.speed).copied().flatten() {
            Some(speed) => self.place + i64::try_from(passed.as_nanos()).unwrap_or(0) / 100 * i64::from(speed),
            None => self.span.1,
        };
        let to = self.round.map_or(to, |(_, end)| to.min(end));
        self.out.clear();
        if self.forward(Until::Time(to))? {
            self.place = to;
        } else {
            self.place = self.place.max(self.now.given);
        }
        self.place = self.place.min(self.span.1);
        Ok(true)
    }

    /// Keys pressed in quick succession: each begins where the one before was to end.
    fn settle(&mut self) -> Result<(), Failure> {
        while let Some(goal) = self.goal {
            if self.forward(goal)? {
                self.reached(goal)?;
            }
        }
        Ok(())
    }

    fn reached(&mut self, goal: Until) -> Result<(), Failure> {
        self.goal = None;
        match goal {
            Until::Time(at) => self.place = at.clamp(self.span.0, self.span.1),
            Until::Event(at) if self.met == Some(at) => self.place = at,
            Until::Event(at) => self.seek(at)?,
            Until::Record => {
                if let Some(at) = self.out.pop_front() {
                    self.place = at;
                } else {
                    self.place = self.span.1.max(self.place);
                    self.message = Some("This is the end of the session.".to_owned());
                }
            }
        }
        Ok(())
    }

    /// Runs forward for a short stretch; true once `until` is reached or the file has ended.
    fn forward(&mut self, until: Until) -> Result<bool, Failure> {
        let began = Instant::now();
        let mut count = 0_u32;
        let limit = match until {
            Until::Time(at) => at.max(self.now.given),
            Until::Record | Until::Event(_) => Nanos::MAX,
        };
        loop {
            let place = self.place;
            let Some(events) = self.now.one(limit, until == Until::Record)? else { return Ok(true) };
            let reached = match until {
                Until::Time(_) => false,
                Until::Event(at) => {
                    self.met = events.iter().map(|event| event.at).find(|met| *met >= at);
                    self.met.is_some()
                }
                Until::Record => {
                    let records = events.iter().filter(|event| is_record(event) && event.at > place);
                    self.out.extend(records.map(|event| event.at));
                    !self.out.is_empty()
                }
            };
            if reached {
                return Ok(true);
            }
            count += 1;
            if count.is_multiple_of(64) && began.elapsed() > STRETCH {
                return Ok(false);
            }
        }
    }

    /// The exact engine runs for a short stretch; true when it has taken its place.
    fn warm_up(&mut self) -> Result<bool, Failure> {
        let Some(warm) = &mut self.warm else { return Ok(false) };
        let began = Instant::now();
        let mut count = 0_u32;
        while warm.one(self.now.given, false)?.is_some() {
            count += 1;
            if count.is_multiple_of(64) && began.elapsed() > STRETCH {
                return Ok(false);
            }
        }
        if self.goal.is_some() {
            return Ok(false);
        }
        if let Some(warm) = self.warm.take() {
            self.now = warm;
            self.cold_from = None;
        }
        Ok(true)
    }

    fn seek(&mut self, to: Nanos) -> Result<(), Failure> {
        let to = to.clamp(self.span.0, self.span.1);
        self.enter(to)?;
        self.goal = Some(Until::Time(to));
        Ok(())
    }

    /// Makes the reading stand before `to`, near enough to run there.
    fn enter(&mut self, to: Nanos) -> Result<(), Failure> {
        self.out.clear();
        let ahead = to.saturating_sub(self.now.given.max(self.span.0));
        if !self.now.ended && self.place <= to && self.now.given <= to && ahead <= COLD {
            return Ok(());
        }
        let copy = self.pass.found().copy_before(to);
        let (given, engine) = copy.unwrap_or_else(|| (Nanos::MIN, self.now.engine.afresh()));
        self.warm = None;
        self.cold_from = None;
        let exact = self.script.go_on(given, engine)?;
        let far = to.saturating_sub(given.max(self.span.0)) > COLD;
        let cold = if far { self.script.cold(to - COLD)? } else { None };
        if let Some(cold) = cold {
            self.cold_from = Some(to - COLD);
            self.warm = Some(exact);
            self.now = cold;
        } else {
            self.now = exact;
        }
        self.place = self.place.min(to);
        Ok(())
    }

    fn step_on(&mut self) {
        self.playing = false;
        while self.out.front().is_some_and(|at| *at <= self.place) {
            self.out.pop_front();
        }
        match self.out.pop_front() {
            Some(at) => self.place = at,
            None => self.goal = Some(Until::Record),
        }
    }

    /// To the last record before the place. Looks ever further back until there is one.
    fn step_back(&mut self) -> Result<(), Failure> {
        self.playing = false;
        self.goal = None;
        let (here, given) = (self.place, self.now.given);
        let mut span = COLD / 8;
        loop {
            let from = here.saturating_sub(span).max(self.span.0 - 1);
            let mut reading = match self.script.cold(from)? {
                Some(cold) => cold,
                None => self.script.begin()?,
            };
            // Entered in its middle, a file may begin with the rest of a frame: the first record is not believed.
            let mut doubted = from > self.span.0 && reading.is_session();
            let mut last = None;
            while let Some(events) = reading.one(given, false)? {
                for event in events.iter().filter(|event| is_record(event) && event.at < here) {
                    last = if std::mem::take(&mut doubted) { last } else { last.max(Some(event.at)) };
                }
            }
            if let Some(at) = last {
                return self.go_to_event(at);
            }
            if from < self.span.0 || !reading.is_session() {
                self.message = Some("This is the beginning of the session.".to_owned());
                return self.seek(self.span.0);
            }
            span = span.saturating_mul(4);
        }
    }

    /// A remark made at the desk goes into the session, and into view.
    fn note(&mut self, text: &str) {
        // The file holds whole microseconds.
        let at = self.place / 1000 * 1000;
        let kept = self.now.is_session();
        match if kept { append_note(&self.script.path, at / 1000, text) } else { Ok(()) } {
            Ok(()) => {
                self.now.engine.push(Input::Note { at, text });
                if let Some(warm) = &mut self.warm {
                    warm.engine.push(Input::Note { at, text });
                }
                self.script.desk.push((at, text.to_owned()));
                self.pass.found().add_note(at, text);
                let only = usize::from(self.script.desk.len() > 1 || self.now.is_dump());
                self.message = Some(if kept { KEPT } else { IN_VIEW_ONLY[only] }.to_owned());
            }
            Err(error) => self.message = Some(error.to_string()),
        }
    }
}

#[cfg(test)]
mod tests;
