//! Following a source as it happens: a real port, or the simulated rover paced by the wall clock.

use std::sync::Arc;
use std::sync::mpsc::Receiver;
use std::time::{Duration, Instant};

use wheeltap_parsers::{Input, Nanos};

use crate::console::status::Status;
use crate::console::wish::Wish;
use crate::engine::Engine;
use crate::engine::reaction::TAP;
use crate::rover::file::RoverFile;
use crate::run::headless::Printer;
use crate::run::lesson_desk::LessonDesk;
use crate::run::publish::{Publisher, View};
use crate::run::read_again::{Had, Recorded};
use crate::run::signals::Asked;
use crate::run::{Failure, Outcome};
use crate::source::Source;

/// Shortest time between two views.
const VIEW: Duration = Duration::from_millis(33);
/// Longest time between two views, so that ages go on.
const STILL: Duration = Duration::from_millis(250);
/// Longest sleep at once while waiting for the next input's time.
const NAP: Duration = Duration::from_millis(10);

/// Where a followed source is shown.
pub struct Show {
    /// Views, for the console.
    pub publisher: Option<Publisher>,
    /// Lines, without a console.
    pub printer: Option<Printer>,
    /// The loop's own state, asked for at each view.
    pub status: Box<dyn Fn() -> Status + Send>,
}

/// Takes a remark on its way to the recorder and the engine.
pub type TakesNote = Box<dyn Fn(&str) + Send>;

/// Takes name and text of a rover file on its way to the recorder.
pub type KeepsRover = Box<dyn Fn(&str, &str) + Send>;

/// How a source is followed.
pub struct Follow {
    /// The beginning on the wall clock; inputs are held back until their time when `paced`.
    pub begun: Instant,
    /// True for the simulated rover, which gives everything at once.
    pub paced: bool,
    /// When to end by itself.
    pub ends: Option<Duration>,
    /// Whether to end.
    pub asked: Asked,
    /// What the person asks for; `None` without a console.
    pub wishes: Option<Receiver<Wish>>,
    /// Takes a remark; `None` when it goes straight into the engine.
    pub note: Option<TakesNote>,
    /// The teach page; `None` where nothing can be taught.
    pub teach: Option<Teaching>,
}

/// The teach page beside a live engine.
pub struct Teaching {
    /// The talk.
    pub desk: LessonDesk,
    /// What is being recorded.
    pub recorded: Option<Recorded>,
    /// Keeps a rover file that is put in force.
    pub keep: KeepsRover,
    /// What the engine has had.
    pub had: Had,
    /// The rover file that was taught and is used.
    pub used: Option<Arc<RoverFile>>,
}

impl Teaching {
    /// At a link of this rate, baud.
    pub fn new(recorded: Option<Recorded>, rate: u32, keep: KeepsRover) -> Self {
        let session = recorded.as_ref().map(|recorded| recorded.first.clone());
        Self { desk: LessonDesk::new(session, rate), recorded, keep, had: Had::default(), used: None }
    }

    /// The recording has ended: the rover file that was taught goes into each of its files.
    pub fn into_files(self) -> Result<(), Failure> {
        if let (Some(recorded), Some(rover)) = (&self.recorded, &self.used) {
            recorded.keep(rover)?;
        }
        Ok(())
    }

    /// Makes the engine anew with this rover file, from the session recorded so far.
    fn use_now(&mut self, rover: &Arc<RoverFile>, engine: &mut Engine) -> Option<String> {
        let made = match &self.recorded {
            Some(recorded) => recorded.read(rover, self.had),
            None => {
                Err(format!("nothing is recorded to be read again. Next: wheeltap listen PORT --rover {}", rover.file))
            }
        };
        let how = made.map(|made| *engine = made);
        self.desk.say_used(&how);
        if how.is_ok() {
            (self.keep)(&rover.file, &rover.text);
            self.used = Some(Arc::clone(rover));
        }
        how.is_ok().then(|| format!("rover file from here on: {}", rover.file))
    }
}

impl Follow {
    /// Follows `source` until it ends or the program is asked to end.
    pub fn run(&mut self, source: &mut dyn Source, engine: &mut Engine, show: &mut Show) -> Result<Outcome, Failure> {
        let rover = engine.rover().cloned();
        let mut viewed: Option<Instant> = None;
        let mut changed = true;
        while !self.over() {
            let Some(input) = source.next()? else { break };
            if self.paced && !self.wait_for(&input) {
                break;
            }
            let quiet = matches!(input, Input::Tick(_));
            if let Some(teaching) = &mut self.teach {
                teaching.had.take(&input);
                changed |= teaching.desk.take(&input);
            }
            let events = engine.push(input);
            changed |= !events.is_empty() || !quiet;
            if let Some(printer) = &mut show.printer {
                let there = printer.events(events, rover.as_ref())? && (!quiet || printer.flush()?);
                if !there {
                    return Ok(Outcome::Fine);
                }
            }
            changed |= self.grant(engine);
            let since = viewed.map(|at| at.elapsed());
            if since.is_none_or(|since| since >= STILL || (changed && since >= VIEW)) {
                viewed = Some(Instant::now());
                changed = false;
                self.view(engine, show);
            }
        }
        Ok(Outcome::Fine)
    }

    /// Takes what is still on its way, ends the session in the engine, and prints the rest.
    pub fn finish(source: &mut dyn Source, engine: &mut Engine, show: &mut Show) -> Result<Outcome, Failure> {
        let rover = engine.rover().cloned();
        while let Some(input) = source.next()? {
            let events = engine.push(input);
            if let Some(printer) = &mut show.printer {
                printer.events(events, rover.as_ref())?;
            }
        }
        Self::end(engine, show)
    }

    /// Ends the session in the engine and prints the rest.
    pub fn end(engine: &mut Engine, show: &mut Show) -> Result<Outcome, Failure> {
        let rover = engine.rover().cloned();
        let Some(printer) = &mut show.printer else { return Ok(Outcome::Fine) };
        printer.events(engine.finish(), rover.as_ref())?;
        printer.end(engine)
    }

    fn over(&self) -> bool {
        self.asked.to_end() || self.ends.is_some_and(|ends| self.begun.elapsed() >= ends)
    }

    fn now(&self) -> Nanos {
        i64::try_from(self.begun.elapsed().as_nanos()).unwrap_or(Nanos::MAX)
    }

    /// Holds an input back until its time; false when asked to end meanwhile.
    fn wait_for(&self, input: &Input<'_>) -> bool {
        let due = input.at();
        loop {
            if self.over() {
                return false;
            }
            let left = due - self.now();
            if left <= 0 {
                return true;
            }
            std::thread::sleep(NAP.min(Duration::from_nanos(left.unsigned_abs())));
        }
    }

    /// Does what was wished for; true when the view may have changed.
    fn grant(&mut self, engine: &mut Engine) -> bool {
        let wishes: Vec<Wish> = self.wishes.iter().flat_map(Receiver::try_iter).collect();
        let any = !wishes.is_empty();
        for wish in wishes {
            match wish {
                Wish::Teach | Wish::Answer(_) => self.teach(wish, engine),
                Wish::Note(text) => self.keep(&text, engine),
                Wish::Tapped => self.keep(TAP, engine),
                Wish::Quit => self.asked.end(),
                // The rest is for a replay; the console does not offer it here.
                _ => {}
            }
        }
        let asked = self.teach.as_mut().and_then(|teaching| teaching.desk.ask());
        if let Some(note) = &asked {
            self.keep(note, engine);
        }
        any || asked.is_some()
    }

    /// What is wished for at the teach page.
    fn teach(&mut self, wish: Wish, engine: &mut Engine) {
        let Some(teaching) = &mut self.teach else { return };
        let used = if let Wish::Answer(line) = wish {
            teaching.desk.type_line(&line)
        } else {
            teaching.desk.begin();
            None
        };
        let note = used.and_then(|rover| teaching.use_now(&rover, engine));
        if let Some(note) = note {
            self.keep(&note, engine);
        }
    }

    /// Keeps a remark, made now.
    fn keep(&self, text: &str, engine: &mut Engine) {
        if let Some(note) = &self.note {
            note(text);
        } else {
            let at = engine.now().max(self.now());
            engine.push(Input::Note { at, text });
        }
    }

    fn view(&self, engine: &Engine, show: &Show) {
        if let Some(publisher) = &show.publisher {
            let lesson = self.teach.as_ref().map(|teaching| teaching.desk.view());
            let status = Status { lesson, ..(show.status)() };
            publisher.publish(View { snapshot: engine.snapshot(self.now()), status });
        }
    }
}
