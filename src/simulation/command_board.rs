//! The command board: start-up text, the panel's messages turned into frames, its cadence, its resets.

use wheeltap_parsers::Nanos;

use super::chance::Chance;
use super::panel::{Message, What};
use super::script::Way;
use super::timetable::Timetable;
use super::{Fault, MS, Settings, Style, wire};

mod start_up;
mod writer;

use start_up::{Said, StartUp};
use writer::Writer;

/// Cadence of the builds that send all the time.
const CADENCE: Nanos = 50 * MS;
/// How long a sending board believes a panel that has gone silent while something is held.
const PANEL_SILENCE: Nanos = 500 * MS;
/// From the dip of its supply to the earliest reset.
const HOLDS: Nanos = 5 * MS;
/// From the dip to the latest reset: one that finds no frame to cut.
const FALLS: Nanos = 150 * MS;

/// The regular sending of some builds.
#[derive(Clone, Copy, Debug)]
struct Beat {
    /// When the next frame should go out.
    wanted: Nanos,
    /// When it will.
    due: Nanos,
}

/// The command board.
#[derive(Clone, Debug)]
pub(super) struct CommandBoard {
    style: Style,
    on_change: bool,
    late: bool,
    chance: Chance,
    start_up: StartUp,
    writer: Writer,
    inbox: Timetable<Message>,
    beat: Option<Beat>,
    /// When the panel was last heard.
    heard: Nanos,
    order: What,
    panel: u8,
    dip: Option<Nanos>,
    came_up: bool,
}

impl CommandBoard {
    pub(super) fn new(settings: &Settings) -> Self {
        Self {
            style: settings.style,
            on_change: settings.has(Fault::SendOnChange),
            late: settings.has(Fault::LateSender),
            chance: Chance::new(settings.seed, 3),
            start_up: StartUp::new(settings),
            writer: Writer::new(settings),
            inbox: Timetable::new(),
            beat: None,
            heard: 0,
            order: What::Halt(1),
            panel: 0,
            dip: None,
            came_up: false,
        }
    }

    /// When it does something next.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        let falls = self.dip.map(|dip| dip + FALLS);
        [self.start_up.next_at(), self.inbox.next_at(), self.beat.map(|beat| beat.due), falls]
            .into_iter()
            .flatten()
            .min()
    }

    /// A message from the panel arrives. While the board starts nobody is listening.
    pub(super) fn hear(&mut self, now: Nanos, message: Message) {
        if self.start_up.is_up() {
            let due = now + self.chance.span(400_000, 900_000) + self.slip();
            self.inbox.add(due, message);
        }
    }

    /// The supply has dipped at `now`: the board resets within the next frames.
    pub(super) fn dip(&mut self, now: Nanos) {
        if self.start_up.is_up() && self.dip.is_none() {
            self.dip = Some(now);
        }
    }

    /// Somebody presses its reset button at `now`.
    pub(super) fn press_reset(&mut self, now: Nanos) {
        self.start_up.by_button(now);
        self.forget();
    }

    /// The gear it came up with, if it has come up since this was last asked.
    pub(super) fn came_up(&mut self) -> Option<u8> {
        std::mem::take(&mut self.came_up).then_some(self.start_up.gear())
    }

    /// Does what is due at `now`; the bytes it puts on the wire, in order.
    pub(super) fn act(&mut self, now: Nanos) -> Vec<Vec<u8>> {
        if self.dip.is_some_and(|dip| dip + FALLS <= now) {
            self.reset(now);
        }
        let mut sent = Vec::new();
        match self.start_up.act(now, &mut self.chance) {
            Some(Said::Text(text)) => sent.push(text),
            Some(Said::Up(text)) => sent.push(self.come_up(now, text)),
            None => {}
        }
        while let Some(message) = self.inbox.take(now) {
            sent.extend(self.take(now, message));
        }
        if let Some(beat) = self.beat.filter(|beat| beat.due <= now) {
            sent.extend(self.keep(now, beat));
        }
        sent
    }

    /// The application's line and the first order, which is to rest.
    fn come_up(&mut self, now: Nanos, mut text: Vec<u8>) -> Vec<u8> {
        self.writer.restart();
        self.panel = 0;
        self.heard = now;
        self.came_up = true;
        self.order = self.rest();
        let regular = matches!(self.style, Style::Stave | Style::Bead | Style::Ladder) && !self.on_change;
        self.beat = regular.then_some(Beat { wanted: now + CADENCE, due: now + CADENCE });
        text.extend(self.writer.frame(self.order, self.panel));
        text
    }

    /// The order to rest, in the gear the board comes up with.
    const fn rest(&self) -> What {
        if matches!(self.style, Style::PlainLine) {
            What::Way(Way::Rest)
        } else {
            What::Stick([0; 3], self.start_up.gear())
        }
    }

    fn reset(&mut self, now: Nanos) {
        self.start_up.again(now);
        self.forget();
    }

    /// What a reset takes from the board's memory.
    fn forget(&mut self) {
        self.inbox.clear();
        self.beat = None;
        self.dip = None;
    }

    /// Acts on a message: the builds with a regular beat keep it for the next one.
    fn take(&mut self, now: Nanos, message: Message) -> Option<Vec<u8>> {
        self.heard = now;
        self.panel = message.counter;
        let before = std::mem::replace(&mut self.order, message.what);
        let nothing_new = self.on_change && before == self.order && self.style != Style::PlainLine;
        if self.beat.is_some() || nothing_new { None } else { self.put(now) }
    }

    /// Sends the newest order on the board's own cadence.
    fn keep(&mut self, now: Nanos, beat: Beat) -> Option<Vec<u8>> {
        if self.order.is_move() && now - self.heard > PANEL_SILENCE {
            self.order = self.rest();
        }
        let wanted = beat.wanted + CADENCE;
        let late = self.chance.span(0, 400_000) + self.slip();
        self.beat = Some(Beat { wanted, due: (wanted + late).max(now + MS) });
        self.put(now)
    }

    /// How much the loop is held up this time.
    fn slip(&mut self) -> Nanos {
        if self.late && self.chance.one_in(25) { self.chance.span(30 * MS, 90 * MS) } else { 0 }
    }

    /// The order in force, for the wire; a board whose supply has dipped gets no further than the middle of the frame.
    fn put(&mut self, now: Nanos) -> Option<Vec<u8>> {
        let mut frame = self.writer.frame(self.order, self.panel);
        if self.dip.is_some_and(|dip| now >= dip + HOLDS) && frame.len() > 4 {
            frame.truncate(3 + self.chance.below(frame.len() as u64 - 4) as usize);
            self.reset(now + wire::duration(frame.len()));
        }
        (!frame.is_empty()).then_some(frame)
    }
}
