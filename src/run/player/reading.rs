//! A reading: a file and an engine that has been given everything of it up to an instant.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::Arc;

use wheeltap_parsers::{Chunk, Input, Nanos};

use crate::engine::Engine;
use crate::engine::event::Event;
use crate::rover::file::RoverFile;
use crate::run::Failure;
use crate::run::signals::Asked as Ended;
use crate::run::signals_choice::again;
use crate::source::open::Opened;
use crate::source::{Asked, PinsSource, Source};

/// Microseconds before a place at which a session is entered, so that a read that began before it is met whole.
const BEFORE_US: i64 = 1_000_000;

/// A file, the engine, and the input between them.
pub(super) struct Reading {
    source: Opened,
    /// Inputs that were read but not given yet, in order of time.
    ahead: VecDeque<Held>,
    /// Notes made at this desk: the engine has them from the beginning on, and what the file says of them is passed over.
    desk: Vec<(Nanos, String)>,
    pub(super) engine: Engine,
    /// The latest instant that the engine has been given.
    pub(super) given: Nanos,
    pub(super) ended: bool,
}

/// An input that owns its bytes.
enum Held {
    Chunk { chunk: Chunk<'static>, bytes: Vec<u8>, from: usize },
    Note { at: Nanos, text: String },
    Other(Input<'static>),
}

impl Held {
    fn of(input: &Input<'_>) -> Self {
        match *input {
            Input::Chunk(chunk) => {
                Self::Chunk { chunk: Chunk { bytes: &[], ..chunk }, bytes: chunk.bytes.to_vec(), from: 0 }
            }
            Input::Note { at, text } => Self::Note { at, text: text.to_owned() },
            Input::Tick(at) => Self::Other(Input::Tick(at)),
            Input::PortGone { at, wire } => Self::Other(Input::PortGone { at, wire }),
            Input::PortBack { at, wire } => Self::Other(Input::PortBack { at, wire }),
            Input::Lost { at, since, wire, bytes, damaged } => {
                Self::Other(Input::Lost { at, since, wire, bytes, damaged })
            }
            Input::Pins(pins) => Self::Other(Input::Pins(pins)),
            Input::Clock(clock) => Self::Other(Input::Clock(clock)),
        }
    }

    /// The part of it that is dated up to `limit`, one byte at most when `bite`, and how many bytes of a chunk that is.
    fn part(&self, limit: Nanos, bite: bool) -> Option<(Input<'_>, usize)> {
        let Self::Chunk { chunk, bytes, from } = self else {
            let input = self.whole();
            return (input.at() <= limit).then_some((input, 0));
        };
        let left = bytes.get(*from..).unwrap_or_default();
        let rest = Chunk { bytes: left, offset: chunk.offset + *from as u64, ..*chunk };
        let due = |count: usize| rest.byte_interval(count.saturating_sub(1), None).hi <= limit;
        let most = if bite { left.len().min(1) } else { left.len() };
        let count = if due(most) { most } else { (1..most).rev().find(|count| due(*count))? };
        Some((Input::Chunk(rest.split_at(count).0), count))
    }

    fn whole(&self) -> Input<'_> {
        match self {
            Self::Chunk { chunk, bytes, .. } => Input::Chunk(Chunk { bytes, ..*chunk }),
            Self::Note { at, text } => Input::Note { at: *at, text },
            Self::Other(input) => *input,
        }
    }
}

/// What a reading is made of: the file and its rover file.
#[derive(Clone)]
pub(super) struct Script {
    pub(super) path: PathBuf,
    /// Which signals of a value-change dump are used.
    pub(super) asked: Asked,
    /// Notes made at this desk since the file was opened.
    pub(super) desk: Vec<(Nanos, String)>,
    pub(super) rover: Option<Arc<RoverFile>>,
}

impl Script {
    fn source(&self) -> Result<Opened, Failure> {
        again(&self.path.display().to_string(), &self.asked, self.rover.as_deref())
    }

    /// From the beginning of the file.
    pub(super) fn begin(&self) -> Result<Reading, Failure> {
        let source = self.source()?;
        let engine = Engine::new(source.link().clone(), self.rover.clone());
        Ok(self.reading(source, engine, Nanos::MIN))
    }

    /// From `given` on, with an engine that has had everything up to there.
    pub(super) fn go_on(&self, given: Nanos, engine: Engine) -> Result<Reading, Failure> {
        let mut reading = self.reading(self.source()?, engine, given);
        if given > Nanos::MIN {
            reading.enter(given)?;
        }
        Ok(reading)
    }

    /// From `from` on with a new engine, as if nothing had been before; `None` where the file cannot be entered in its
    /// middle.
    pub(super) fn cold(&self, from: Nanos) -> Result<Option<Reading>, Failure> {
        let mut source = self.source()?;
        let Some(session) = source.session_mut() else { return Ok(None) };
        session.seek(from / 1000)?;
        let engine = Engine::new(source.link().clone(), self.rover.clone());
        Ok(Some(self.reading(source, engine, from)))
    }

    fn reading(&self, source: Opened, mut engine: Engine, given: Nanos) -> Reading {
        for (at, text) in &self.desk {
            engine.push(Input::Note { at: *at, text });
        }
        Reading { source, ahead: VecDeque::new(), desk: self.desk.clone(), engine, given, ended: false }
    }

    /// Where the file begins and ends: from its first and last lines where it is a session, else by reading it through,
    /// until the person `asked` to end. With it what is to be said of a dump that was cut, or has no wire.
    pub(super) fn span(&self, asked: &Ended) -> Result<((Nanos, Nanos), Option<String>), Failure> {
        let mut source = self.source()?;
        if let Some(session) = source.session() {
            return Ok(((session.header().begins_us() * 1000, session.length()? * 1000), None));
        }
        let mut last = 0;
        while let Some(input) = source.next()? {
            last = last.max(input.at());
            if asked.to_end() {
                break;
            }
        }
        let pins = source.pins();
        let lost = pins.and_then(PinsSource::loss).map(|(why, _)| why);
        Ok(((0, last), lost.or_else(|| pins?.lacks_wire())))
    }
}

impl Reading {
    /// Passes over what the engine has had: everything dated up to `given`.
    fn enter(&mut self, given: Nanos) -> Result<(), Failure> {
        if let Some(session) = self.source.session_mut() {
            session.seek(given / 1000 - BEFORE_US)?;
        }
        // A note may stand before or behind the lines of its time: it alone does not end the passing over.
        while let Some(input) = self.source.next()? {
            let mut held = Held::of(&input);
            let had = held.part(given, false).map_or(0, |(_, count)| count);
            held.pass(had);
            if !held.is_left(given) || self.is_of_desk(&held) {
                continue;
            }
            let is_note = matches!(held, Held::Note { .. });
            self.ahead.push_back(held);
            if !is_note {
                break;
            }
        }
        self.ahead.make_contiguous().sort_by_key(|held| held.whole().at());
        Ok(())
    }

    /// Whether this is a note of this desk, met again in the file.
    fn is_of_desk(&self, held: &Held) -> bool {
        matches!(held, Held::Note { at, text } if self.desk.iter().any(|(when, said)| when == at && said == text))
    }

    /// Gives the engine one input, or the part of it, that is dated up to `limit`: one byte when `bite`. `None` when
    /// there is none.
    pub(super) fn one(&mut self, limit: Nanos, bite: bool) -> Result<Option<&[Event]>, Failure> {
        while self.ahead.is_empty() {
            let Some(held) = self.source.next()?.as_ref().map(Held::of) else { return Ok(self.end()) };
            if !self.is_of_desk(&held) {
                self.ahead.push_back(held);
            }
        }
        let Some(held) = self.ahead.front_mut() else { return Ok(None) };
        let Some((part, count)) = held.part(limit, bite) else { return Ok(None) };
        self.given = self.given.max(part.at());
        let events = self.engine.push(part);
        if held.pass(count) {
            self.ahead.pop_front();
        }
        Ok(Some(events))
    }

    /// The file has ended: the engine lets the rest out, once.
    fn end(&mut self) -> Option<&[Event]> {
        if self.ended {
            return None;
        }
        self.ended = true;
        Some(self.engine.finish())
    }

    /// Whether the file is a value-change dump.
    pub(super) fn is_dump(&self) -> bool {
        self.source.pins().is_some()
    }

    /// Whether the file is a session, which can be entered at any place and takes notes.
    pub(super) fn is_session(&self) -> bool {
        self.source.session().is_some()
    }
}

impl Held {
    /// Whether something of it is dated after `given`.
    fn is_left(&self, given: Nanos) -> bool {
        match self {
            Self::Chunk { bytes, from, .. } => *from < bytes.len(),
            Self::Note { at, .. } => *at > given,
            Self::Other(input) => input.at() > given,
        }
    }

    /// Takes `count` bytes of a chunk off; true when nothing is left.
    fn pass(&mut self, count: usize) -> bool {
        let Self::Chunk { bytes, from, .. } = self else { return true };
        *from += count;
        *from >= bytes.len()
    }
}
