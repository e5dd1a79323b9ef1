//! The player of a replay: plays at a speed, pauses, steps, seeks, and goes from finding to finding.
//!
//! A place is an instant T: everything dated up to T by the file has been given to the engine, nothing after. Going
//! back starts from a copy of the engine made on the way, then runs forward, so that every place looks the same
//! however it was reached.

mod held;

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use wheeltap_parsers::{Input, Nanos};

use crate::console::status::{Mode, Replay, Status};
use crate::console::wish::Wish;
use crate::engine::Engine;
use crate::engine::event::{Event, Happening};
use crate::rover::file::RoverFile;
use crate::run::Failure;
use crate::run::publish::View;
use crate::run::screen::Desk;
use crate::run::signals_choice::again;
use crate::session::append_note;
use crate::source::open::Opened;
use crate::source::{Asked, Source};

/// Speeds in hundredths; `None` is as fast as possible.
const SPEEDS: [Option<u32>; 8] = [Some(10), Some(25), Some(50), Some(100), Some(200), Some(500), Some(2000), None];
/// The place of the usual speed in [`SPEEDS`].
const USUAL: usize = 3;
/// The most copies of the engine kept; beyond it every other one goes and the distance doubles.
const COPIES: usize = 64;
/// First distance of copies, nanoseconds.
const FIRST_DISTANCE: Nanos = 1_000_000_000;
/// How long one stretch of running forward may take before keys are looked at again.
const STRETCH: Duration = Duration::from_millis(25);
/// Shortest and longest time between two views.
const VIEW: (Duration, Duration) = (Duration::from_millis(33), Duration::from_millis(500));

/// Where running forward ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Until {
    /// Past this instant.
    Time(Nanos),
    /// At the next record.
    Record,
    /// At the next place of any finding.
    Finding,
}

/// A file being played.
pub struct Player {
    path: PathBuf,
    /// Which signals of a value-change dump are used.
    asked: Asked,
    source: Opened,
    /// Inputs read from the source but dated after the place, in order of time.
    ahead: VecDeque<Held>,
    engine: Engine,
    copies: Vec<Copy>,
    /// Notes made at this desk: the engine has them wherever the replay stands.
    desk: Vec<(Nanos, String)>,
    distance: Nanos,
    place: Nanos,
    length: Nanos,
    read_to: Nanos,
    at_end: bool,
    speed: usize,
    playing: bool,
    goal: Option<Until>,
    message: Option<String>,
}

/// A copy of the engine made on the way.
struct Copy {
    /// Everything dated up to here was given to it.
    at: Nanos,
    /// How many notes of this desk it has.
    notes: usize,
    engine: Engine,
}

/// A record that a step stops at.
fn is_record(event: &Event) -> bool {
    event.len > 0 || matches!(event.what, Happening::Note(_))
}

/// Something that a rule may have counted.
fn may_be_found(event: &Event) -> bool {
    match &event.what {
        Happening::Frame(frame) => frame.flags.iter().next().is_some(),
        Happening::Note(_) => false,
        _ => true,
    }
}

impl Player {
    /// Opens a file at its beginning, paused at the usual speed.
    pub fn open(path: &Path, asked: Asked, rover: Option<Arc<RoverFile>>) -> Result<Self, Failure> {
        let source = again(&path.display().to_string(), &asked, rover.as_deref())?;
        let length = length_of(path, &source, &asked)?;
        let engine = Engine::new(source.link().clone(), rover);
        let copies = vec![Copy { at: Nanos::MIN, notes: 0, engine: engine.clone() }];
        Ok(Self {
            path: path.to_owned(),
            asked,
            source,
            ahead: VecDeque::new(),
            engine,
            copies,
            desk: Vec::new(),
            distance: FIRST_DISTANCE,
            place: 0,
            length,
            read_to: 0,
            at_end: false,
            speed: USUAL,
            playing: true,
            goal: None,
            message: None,
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
            let since = viewed.map(|at| at.elapsed());
            if since.is_none_or(|since| since >= VIEW.1 || (changed && since >= VIEW.0)) {
                viewed = Some(Instant::now());
                changed = false;
                let snapshot = self.engine.snapshot(self.place);
                desk.publisher.publish(View { snapshot, status: self.status() });
            }
            if self.goal.is_none() {
                self.rest(desk)?;
            }
        }
        Ok(())
    }

    /// Sleeps a little, or until a wish comes.
    fn rest(&mut self, desk: &Desk) -> Result<(), Failure> {
        let nap = if self.playing { Duration::from_millis(10) } else { Duration::from_millis(100) };
        match desk.wishes.recv_timeout(nap) {
            Ok(wish) => self.grant(wish, &desk.asked),
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => Ok(()),
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => {
                desk.asked.end();
                Ok(())
            }
        }
    }

    fn status(&self) -> Status {
        let replay = Replay {
            position: self.place.clamp(0, self.length),
            length: self.length,
            speed: SPEEDS.get(self.speed).copied().flatten(),
            playing: self.playing,
            read_to: self.read_to.clamp(0, self.length),
        };
        Status { mode: Mode::Replay, replay: Some(replay), message: self.message.clone(), ..Status::default() }
    }

    fn grant(&mut self, wish: Wish, asked: &crate::run::signals::Asked) -> Result<(), Failure> {
        self.message = None;
        match wish {
            Wish::Quit => asked.end(),
            Wish::Note(text) => self.note(&text),
            // The page itself says where a lesson can be had.
            Wish::Teach | Wish::Answer(_) => {}
            Wish::Tapped => self.message = Some("Taps are measured while listening, not in a replay.".to_owned()),
            Wish::PlayPause => {
                self.playing = !self.playing;
                self.goal = None;
            }
            Wish::Faster => self.speed = (self.speed + 1).min(SPEEDS.len() - 1),
            Wish::Slower => self.speed = self.speed.saturating_sub(1),
            Wish::StepOn => self.stop_at(Until::Record),
            Wish::NextFinding => self.stop_at(Until::Finding),
            Wish::StepBack => self.step_back()?,
            Wish::SeekBy(by) => self.seek(self.place.saturating_add(by).clamp(0, self.length))?,
            Wish::ToStart => self.seek(0)?,
            Wish::ToEnd => self.seek(self.length)?,
            Wish::PreviousFinding => self.previous_finding()?,
        }
        Ok(())
    }

    fn stop_at(&mut self, until: Until) {
        self.playing = false;
        self.goal = Some(until);
    }

    /// Goes on with a goal, or plays for the time that has passed. True when the place changed.
    fn go_on(&mut self, passed: Duration) -> Result<bool, Failure> {
        if let Some(goal) = self.goal {
            if self.forward(goal)? || self.at_end {
                self.reached(goal);
            }
            return Ok(true);
        }
        if !self.playing || self.at_end {
            return Ok(false);
        }
        let to = match SPEEDS.get(self.speed).copied().flatten() {
            Some(speed) => self.place + i64::try_from(passed.as_nanos()).unwrap_or(0) / 100 * i64::from(speed),
            None => Nanos::MAX,
        };
        if self.forward(Until::Time(to))? && to != Nanos::MAX {
            self.place = to;
        }
        if self.at_end || self.place >= self.length {
            self.place = self.place.min(self.length);
            self.playing = !self.at_end;
        }
        Ok(true)
    }

    fn reached(&mut self, goal: Until) {
        self.goal = None;
        match goal {
            Until::Time(at) => self.place = at.min(self.length),
            Until::Finding if self.at_end => self.message = Some("No finding has another place after this.".to_owned()),
            Until::Record if self.at_end => self.message = Some("This is the end of the session.".to_owned()),
            Until::Finding | Until::Record => {}
        }
    }

    /// Runs forward for a short stretch; true once `until` is reached.
    fn forward(&mut self, until: Until) -> Result<bool, Failure> {
        let began = Instant::now();
        let mut count = 0_u32;
        let before = if until == Until::Finding { self.found() } else { 0 };
        loop {
            let limit = if let Until::Time(at) = until { at } else { Nanos::MAX };
            let Some(stop) = self.one(limit, until)? else { return Ok(true) };
            let reached = match until {
                Until::Record => stop,
                Until::Finding => stop && self.found() > before,
                Until::Time(_) => false,
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

    /// How many places all findings have together.
    fn found(&self) -> u64 {
        self.engine.findings().iter().map(|finding| finding.count).sum()
    }

    /// Gives the engine one input dated up to `limit`; `None` when there is none. True when what came out is of the
    /// sort that `until` stops at.
    fn one(&mut self, limit: Nanos, until: Until) -> Result<Option<bool>, Failure> {
        while self.ahead.is_empty() {
            let Some(held) = self.source.next()?.as_ref().map(Held::of) else { return Ok(self.end(until)) };
            if !self.is_of_desk(&held) {
                self.ahead.push_back(held);
            }
        }
        let Some(held) = self.ahead.front() else { return Ok(self.end(until)) };
        let at = held.input().at();
        // A remark made at the desk may be dated earlier than what was read before it; it comes as it stands.
        if at > limit {
            return Ok(None);
        }
        if at > self.place {
            self.keep_copy();
        }
        let Some(held) = self.ahead.pop_front() else { return Ok(None) };
        let stop = self.engine.push(held.input()).iter().any(|event| stops(event, until));
        self.place = self.place.max(at);
        self.read_to = self.read_to.max(self.place);
        Ok(Some(stop))
    }

    /// Whether this is a note of this desk, met again in the file: the engine has it already.
    fn is_of_desk(&self, held: &Held) -> bool {
        matches!(held, Held::Note { at, text } if self.desk.iter().any(|(when, said)| when == at && said == text))
    }

    /// The file has ended: the engine lets the rest out, once.
    fn end(&mut self, until: Until) -> Option<bool> {
        if self.at_end {
            return None;
        }
        self.at_end = true;
        self.place = self.place.max(self.length);
        self.read_to = self.length;
        Some(self.engine.finish().iter().any(|event| stops(event, until)))
    }

    /// Keeps a copy of the engine when the last one is far enough back.
    fn keep_copy(&mut self) {
        let last = self.copies.last().map_or(Nanos::MIN, |copy| copy.at);
        if self.place < last.saturating_add(self.distance) && last != Nanos::MIN {
            return;
        }
        if self.copies.len() >= COPIES {
            let mut index = 0;
            self.copies.retain(|_| {
                index += 1;
                index % 2 == 1
            });
            self.distance *= 2;
        }
        if self.copies.last().is_none_or(|copy| copy.at < self.place) {
            let (at, notes) = (self.place, self.desk.len());
            self.copies.push(Copy { at, notes, engine: self.engine.clone() });
        }
    }

    fn seek(&mut self, to: Nanos) -> Result<(), Failure> {
        if to < self.place {
            self.back_to(to)?;
        }
        self.goal = Some(Until::Time(to));
        Ok(())
    }

    /// Takes the last copy not after `to` and puts the source behind what that copy has had.
    fn back_to(&mut self, to: Nanos) -> Result<(), Failure> {
        let index = self.copies.iter().rposition(|copy| copy.at <= to).unwrap_or(0);
        self.copies.truncate(index + 1);
        let Some(copy) = self.copies.last() else { return Ok(()) };
        let at = copy.at;
        self.engine = copy.engine.clone();
        for (at, text) in self.desk.iter().skip(copy.notes) {
            self.engine.push(Input::Note { at: *at, text });
        }
        self.place = at.max(0);
        self.at_end = false;
        self.rewind(at)
    }

    /// Opens the file again, or moves about in the session, so that the next input is the first dated after `at`.
    fn rewind(&mut self, at: Nanos) -> Result<(), Failure> {
        self.ahead.clear();
        self.source = again(&self.path.display().to_string(), &self.asked, None)?;
        if at == Nanos::MIN {
            return Ok(());
        }
        if let Some(session) = self.source.session_mut() {
            session.seek(at / 1000 - 1_000_000)?;
        }
        // A note may stand before or behind the lines of its time: it alone does not end the skipping.
        while let Some(input) = self.source.next()? {
            if input.at() <= at {
                continue;
            }
            let (held, is_note) = (Held::of(&input), matches!(input, Input::Note { .. }));
            if !self.is_of_desk(&held) {
                self.ahead.push_back(held);
            }
            if !is_note {
                break;
            }
        }
        self.ahead.make_contiguous().sort_by_key(|held| held.input().at());
        Ok(())
    }

    fn step_back(&mut self) -> Result<(), Failure> {
        self.playing = false;
        let here = self.place;
        let mut from = here - 1;
        loop {
            self.back_to(from)?;
            let begin = self.place;
            let mut last = None;
            while let Some(stop) = self.one(here - 1, Until::Record)? {
                if stop {
                    last = Some(self.place);
                }
            }
            if let Some(at) = last {
                // The end of the file lets records out that no input before it did; stand before them.
                return self.seek(at);
            }
            if begin <= 0 {
                self.message = Some("This is the beginning of the session.".to_owned());
                return self.seek(0);
            }
            from = begin - 1;
        }
    }

    fn previous_finding(&mut self) -> Result<(), Failure> {
        self.playing = false;
        let here = self.place;
        let findings = self.engine.findings();
        let places = findings.iter().flat_map(|finding| {
            let ends = [finding.first, finding.last];
            finding.evidence.iter().map(|place| place.at).chain(ends)
        });
        if let Some(at) = places.filter(|at| *at < here).max() {
            self.seek(at)
        } else {
            self.message = Some("No finding has a place before this.".to_owned());
            Ok(())
        }
    }

    /// A remark made at the desk goes into the session, and into view.
    fn note(&mut self, text: &str) {
        if self.source.session().is_none() {
            self.message = Some("Notes can be kept in a session only; this is a log.".to_owned());
            return;
        }
        let t_us = self.place / 1000;
        match append_note(&self.path, t_us, text) {
            Ok(()) => {
                self.engine.push(Input::Note { at: t_us * 1000, text });
                self.desk.push((t_us * 1000, text.to_owned()));
                self.message = Some("The note is kept in the session.".to_owned());
            }
            Err(error) => self.message = Some(error.to_string()),
        }
    }
}

fn stops(event: &Event, until: Until) -> bool {
    match until {
        Until::Record => is_record(event),
        Until::Finding => may_be_found(event),
        Until::Time(_) => false,
    }
}

/// When the file ends: from its last line where it is a session, else by reading it through.
fn length_of(path: &Path, source: &Opened, asked: &Asked) -> Result<Nanos, Failure> {
    if let Some(session) = source.session() {
        return Ok(session.length()? * 1000);
    }
    let mut whole = again(&path.display().to_string(), asked, None)?;
    let mut last = 0;
    while let Some(input) = whole.next()? {
        last = last.max(input.at());
    }
    Ok(last)
}

#[cfg(test)]
mod tests;
