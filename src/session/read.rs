//! Sessions read back: the same inputs that were heard, and every line that could not be taken named.

use std::collections::VecDeque;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use wheeltap_parsers::{Input, Nanos, Wire};

use super::ahead::{Ahead, Next};
use super::desk_notes::DeskNotes;
use super::header::Header;
use super::line::{Line, parse};
use super::line_reader::{LineReader, Place, Text};
use super::offsets::{Offsets, Step};
use super::opening;
use super::taught::{self, Piece};
use super::torn::{TornLine, TornLines};
use super::whole_check::{AFTER_END, no_link};
use crate::source::{Source, SourceError};
use crate::timing::link::{self, LinkFacts, WireFacts};

/// Adapter latency assumed where the line that stated it was lost: the longest common timer and one USB frame.
const LATENCY_UNKNOWN: Nanos = 17_000_000;

/// A session as a source. Reads in constant memory.
pub struct SessionSource {
    pub(super) name: String,
    pub(super) path: Option<PathBuf>,
    pub(super) lines: LineReader,
    pub(super) header: Header,
    rover_hurt: Option<String>,
    pub(super) torn: TornLines,
    /// Where the first line after the head begins.
    pub(super) body: Place,
    /// Time of the last line given.
    pub(super) last_us: i64,
    pub(super) offsets: Offsets,
    /// When each wire was heard last, by [`Wire::index`]: a read of it, or a tick.
    pub(super) heard_us: [i64; 2],
    /// Whole lines read since the beginning; `None` after a jump.
    pub(super) whole: Option<u64>,
    /// The closing line was met since the beginning or the last jump.
    pub(super) closed: bool,
    /// The lines of a taught rover file that goes by.
    pub(super) taught: taught::Count,
    /// Events that wait behind a report of missing bytes.
    pub(super) after_lost: VecDeque<Event>,
    /// Looks ahead on each wire, by [`Wire::index`].
    ahead: [Ahead; 2],
    /// An event that waits behind a remark made at the desk.
    pub(super) waiting: Option<Event>,
    desk_note: String,
    /// Remarks made at the desk, which stand behind everything else and are given at their times.
    pub(super) desk_notes: DeskNotes,
    bytes: Vec<u8>,
    text: String,
}

/// One input without what it borrows.
#[derive(Clone, Copy, Debug)]
pub(super) enum Event {
    Read {
        wire: Wire,
        t_us: i64,
        since_us: i64,
        offset: u64,
    },
    Tick {
        t_us: i64,
    },
    Note {
        t_us: i64,
    },
    DeskNote {
        t_us: i64,
    },
    Gone {
        t_us: i64,
        wire: Wire,
    },
    Back {
        t_us: i64,
        wire: Wire,
    },
    /// At `heard_us` something of the wire last stood in the file: what was lost came after that.
    Lost {
        t_us: i64,
        heard_us: i64,
        wire: Wire,
        count: u64,
        damaged: bool,
    },
}

impl Event {
    /// It says that nothing came on a wire just before it, or up to it.
    const fn vouches(self) -> bool {
        matches!(self, Self::Tick { .. } | Self::Gone { .. } | Self::Back { .. })
    }

    /// Of which wires it says that nothing came up to it.
    fn heard(self, heard_us: &mut [i64; 2]) {
        match self {
            Self::Tick { t_us } => *heard_us = [t_us; 2],
            Self::Gone { t_us, wire } | Self::Back { t_us, wire } => heard_us[wire.index()] = t_us,
            _ => {}
        }
    }

    const fn t_us(self) -> i64 {
        match self {
            Self::Read { t_us, .. }
            | Self::Tick { t_us }
            | Self::Note { t_us }
            | Self::DeskNote { t_us }
            | Self::Gone { t_us, .. }
            | Self::Back { t_us, .. }
            | Self::Lost { t_us, .. } => t_us,
        }
    }
}

impl SessionSource {
    /// Opens a session file and reads its head.
    pub fn open(path: &Path) -> Result<Self, SourceError> {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|error| {
            SourceError::Device(format!("{name}: cannot be opened ({error}). Check its name and rights."))
        })?;
        let mut session = Self::begin(name, LineReader::file(file))?;
        session.path = Some(path.to_owned());
        session.desk_notes = session.behind_all().map_err(|error| session.failed(&error))?;
        let counted = session.header.counts_taught();
        let taught = match session.desk_notes.take_taught() {
            None => File::open(path).and_then(|file| taught::near_the_end(file, session.body.byte, counted)),
            found => Ok(found),
        };
        if let Some(taught) = taught.map_err(|error| session.failed(&error))? {
            session.header.rover = Some(taught);
        }
        Ok(session)
    }

    /// Reads a session from a stream, which cannot be jumped about in. `name` is for messages.
    pub fn stream(name: &str, stream: Box<dyn io::Read + Send>) -> Result<Self, SourceError> {
        Self::begin(name.to_owned(), LineReader::stream(stream))
    }

    fn begin(name: String, mut lines: LineReader) -> Result<Self, SourceError> {
        let mut torn = TornLines::default();
        let head = opening::read_head(&name, &mut lines, &mut torn)?;
        let mut offsets = Offsets::from_start(head.header.offsets());
        if !torn.listed().is_empty() {
            offsets.doubt();
        }
        Ok(Self {
            name,
            path: None,
            lines,
            last_us: head.header.begins_us(),
            heard_us: [head.header.begins_us(); 2],
            header: head.header,
            rover_hurt: head.rover_hurt,
            torn,
            body: head.body,
            offsets,
            whole: Some(head.whole),
            closed: false,
            taught: taught::Count::default(),
            after_lost: VecDeque::new(),
            ahead: Wire::BOTH.map(Ahead::new),
            waiting: None,
            desk_note: String::new(),
            desk_notes: DeskNotes::default(),
            bytes: Vec::new(),
            text: String::new(),
        })
    }

    /// The head: version, wall clock, line settings, rover file.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Name and full text of the rover file it was recorded with.
    pub fn rover(&self) -> Option<(&str, &str)> {
        self.header.rover.as_ref().map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// The first damaged line among those of that rover file, in words: what is left of it may mean something else.
    pub fn rover_hurt(&self) -> Option<&str> {
        self.rover_hurt.as_deref()
    }

    /// Lines met so far that could not be taken, in the order of the file.
    pub fn torn(&self) -> &[TornLine] {
        self.torn.listed()
    }

    /// How many more there were than [`SessionSource::torn`] lists.
    pub fn torn_not_listed(&self) -> u64 {
        self.torn.more()
    }

    /// Whether the closing line was met since the beginning, or since the last jump.
    pub fn closed(&self) -> bool {
        self.closed
    }

    /// Time of the last line given, microseconds since the session began.
    pub fn position(&self) -> i64 {
        self.last_us
    }

    /// The next event; bytes and text are left in the fields beside it.
    fn next_event(&mut self) -> Result<Option<Event>, SourceError> {
        let next = match self.waiting.take() {
            Some(event) => Some(event),
            None => self.next_in_file()?,
        };
        let Some((t_us, text)) = self.desk_notes.due(next.map(Event::t_us)) else { return Ok(next) };
        self.waiting = next;
        self.desk_note = text;
        Ok(Some(Event::DeskNote { t_us }))
    }

    /// The next event in the order of the file, remarks made at the desk left out.
    fn next_in_file(&mut self) -> Result<Option<Event>, SourceError> {
        if let Some(event) = self.after_lost.pop_front() {
            return Ok(Some(event));
        }
        loop {
            let next = self.lines.next_line().map_err(|error| {
                SourceError::Device(format!(
                    "{}: cannot be read further ({error}). Copy it to a sound disk.",
                    self.name
                ))
            })?;
            let Some((place, text)) = next else {
                self.taught.close(self.header.counts_taught(), &mut self.torn);
                return Ok(None);
            };
            let line = match text {
                Text::Line(text) | Text::Unended(text) => parse(text).map_err(|fault| fault.to_string()),
                Text::TooLong(length) => Err(format!("a line of {length} bytes is too long to be one")),
            };
            if self.desk_notes.holds(place.byte) && matches!(line, Ok(Line::Note { .. })) {
                continue;
            }
            let mut body = Body {
                header: &mut self.header,
                torn: &mut self.torn,
                offsets: &mut self.offsets,
                last_us: &mut self.last_us,
                heard_us: &mut self.heard_us,
                whole: &mut self.whole,
                closed: &mut self.closed,
                taught: &mut self.taught,
                waiting: &mut self.after_lost,
                bytes: &mut self.bytes,
                text: &mut self.text,
            };
            match body.take(place, line) {
                Some(event) if event.vouches() => {
                    self.holes(event.t_us()).map_err(|error| self.failed(&error))?;
                    event.heard(&mut self.heard_us);
                    self.after_lost.push_back(event);
                    return Ok(self.after_lost.pop_front());
                }
                Some(event) => return Ok(Some(event)),
                None => {}
            }
        }
    }

    /// Where bytes are missing between a wire's last read and its next, what stands between vouches for no silence: the
    /// hole is told before that.
    fn holes(&mut self, t_us: i64) -> io::Result<()> {
        for wire in Wire::BOTH {
            if self.header.link.wire(wire).is_none() || self.offsets.has_told(wire) {
                continue;
            }
            let next = match &self.path {
                Some(path) => {
                    let (place, waiting) = self.lines.waiting();
                    self.ahead[wire.index()].next(path, place.byte, waiting)?
                }
                // A stream is read once, and what it will bring cannot be waited for.
                None => Next::OutOfSight,
            };
            if let Some(count) = self.offsets.hole(wire, next) {
                let heard_us = self.heard_us[wire.index()];
                self.after_lost.push_back(Event::Lost { t_us, heard_us, wire, count, damaged: true });
            }
        }
        Ok(())
    }
}

impl Source for SessionSource {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        let Some(event) = self.next_event()? else { return Ok(None) };
        Ok(Some(match event {
            Event::Read { wire, t_us, since_us, offset } => {
                let facts = self.header.link.wires[wire.index()].get_or_insert_with(not_stated);
                let (read_at, empty_at) = (t_us * 1_000, (t_us - since_us) * 1_000);
                Input::Chunk(link::chunk(facts, wire, offset, read_at, empty_at, &self.bytes))
            }
            Event::Tick { t_us } => Input::Tick(self.header.link.tick(t_us * 1_000)),
            Event::Note { t_us } => Input::Note { at: t_us * 1_000, text: &self.text },
            Event::DeskNote { t_us } => Input::Note { at: t_us * 1_000, text: &self.desk_note },
            Event::Gone { t_us, wire } => Input::PortGone { at: t_us * 1_000, wire },
            Event::Back { t_us, wire } => Input::PortBack { at: t_us * 1_000, wire },
            Event::Lost { t_us, heard_us, wire, count, damaged } => {
                let latency = self.header.link.wire(wire).map_or(0, |facts| facts.latency);
                Input::Lost { at: t_us * 1_000, since: heard_us * 1_000 - latency, wire, bytes: count, damaged }
            }
        }))
    }

    fn link(&self) -> &LinkFacts {
        &self.header.link
    }
}

fn not_stated() -> WireFacts {
    let [settings, port] = ["-", "not stated"].map(str::to_owned);
    WireFacts { rate: None, settings, latency: LATENCY_UNKNOWN, port }
}

/// The parts of a source that a line changes.
struct Body<'s> {
    header: &'s mut Header,
    torn: &'s mut TornLines,
    offsets: &'s mut Offsets,
    last_us: &'s mut i64,
    heard_us: &'s mut [i64; 2],
    whole: &'s mut Option<u64>,
    closed: &'s mut bool,
    taught: &'s mut taught::Count,
    waiting: &'s mut VecDeque<Event>,
    bytes: &'s mut Vec<u8>,
    text: &'s mut String,
}

impl Body<'_> {
    /// Takes in one line; `None` when it gives nothing to pass on.
    fn take(&mut self, place: Place, line: Result<Line<'_>, String>) -> Option<Event> {
        match line.and_then(|line| self.in_order(line)) {
            Ok(line) => {
                let piece = Piece::of(&line);
                let of_desk = piece.is_some() || matches!(line, Line::Note { .. });
                if let Some(piece) = piece {
                    self.taught.take(place, piece, self.header.counts_taught(), self.torn);
                }
                if *self.closed && !of_desk {
                    self.torn.add(place, AFTER_END.to_owned());
                }
                let event = self.event(place, line);
                *self.whole = self.whole.map(|count| count + 1);
                event
            }
            Err(why) => {
                self.torn.add(place, why);
                self.offsets.doubt();
                None
            }
        }
    }

    fn in_order<'a>(&mut self, line: Line<'a>) -> Result<Line<'a>, String> {
        if matches!(line, Line::Session { .. }) {
            return Err("a second session begins here: cut the file before this line and read both parts".to_owned());
        }
        if let Some(t_us) = line.ordered_us() {
            if t_us < *self.last_us {
                return Err(format!("its time, {t_us} us, lies before the line before it, {} us", self.last_us));
            }
            *self.last_us = t_us;
        }
        Ok(line)
    }

    fn event(&mut self, place: Place, line: Line<'_>) -> Option<Event> {
        match line {
            Line::Read { wire, t_us, since_us, offset, bytes } => {
                self.bytes.clear();
                self.bytes.extend_from_slice(&bytes);
                return self.read(place, Event::Read { wire, t_us, since_us, offset });
            }
            Line::Note { t_us, text } => {
                self.text.clear();
                self.text.push_str(&text);
                return Some(Event::Note { t_us });
            }
            Line::Tick { t_us } => return Some(Event::Tick { t_us }),
            Line::Gone { t_us, wire, .. } => return Some(Event::Gone { t_us, wire }),
            Line::Back { t_us, wire } => return Some(Event::Back { t_us, wire }),
            Line::Lost { t_us, wire, count } => {
                self.offsets.pass(wire, count);
                // A recorder that dated it at its end, as before 1.3, wrote nothing meanwhile.
                let heard_us = t_us.min(self.heard_us[wire.index()]);
                return Some(Event::Lost { t_us, heard_us, wire, count, damaged: false });
            }
            Line::End { records, .. } => {
                *self.closed = true;
                self.check_count(place, records);
            }
            line @ Line::Link { .. } => {
                self.header.take(&line);
            }
            _ => {}
        }
        None
    }

    fn read(&mut self, place: Place, event: Event) -> Option<Event> {
        let Event::Read { wire, t_us, offset, .. } = event else { return None };
        let heard_us = std::mem::replace(&mut self.heard_us[wire.index()], t_us);
        if self.header.link.wire(wire).is_none() {
            self.torn.add(place, no_link(wire));
        }
        let symbol = wire.symbol();
        match self.offsets.step(wire, offset, self.bytes.len() as u64) {
            Step::Follows => Some(event),
            Step::Missing { count, told, named } => {
                if !named {
                    self.torn.add(place, format!("{count} bytes of wire {symbol} are missing before this line"));
                }
                if count <= told {
                    return Some(event);
                }
                self.waiting.push_back(event);
                Some(Event::Lost { t_us, heard_us, wire, count: count - told, damaged: true })
            }
            Step::Back { expected } => {
                self.torn.add(place, format!("its offset on wire {symbol} is {offset} where {expected} was due"));
                None
            }
        }
    }

    /// A file from which whole lines were taken out must not look complete.
    fn check_count(&mut self, place: Place, records: u64) {
        let Some(whole) = *self.whole else { return };
        if whole != records && self.torn.listed().is_empty() {
            self.torn.add(place, format!("the closing line speaks of {records} lines before it, {whole} were read"));
        }
    }
}
