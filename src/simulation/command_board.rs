//! The command board: start-up text, the panel's messages turned into frames, its cadence, its resets.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use super::chance::Chance;
use super::frames::{self, Cue, stave_type};
use super::mixer::mix;
use super::panel::{Message, Way, What};
use super::{Fault, MS, Settings, Style, wire};
use crate::rover::wheels::Wheel;

/// Cadence of the builds that send all the time.
const CADENCE: Nanos = 50 * MS;
/// How long a sending board believes a panel that has gone silent while something is held.
const PANEL_SILENCE: Nanos = 500 * MS;
/// Deadline written in frames, 10 ms units.
const DEADLINE: u8 = 30;

/// Where the board is on its way up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// Its ROM speaks next.
    Dark,
    /// The loader speaks next.
    Rom,
    /// The application speaks next.
    Loaded,
    /// Working.
    Up,
}

/// What the board has been told to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Order {
    Way(Way),
    Pace(u8),
    Lamp(u8),
    Stick([i32; 3]),
    Alone(Wheel, i32),
    Halt,
}

impl Order {
    fn is_move(self) -> bool {
        match self {
            Self::Stick(stick) => stick != [0; 3],
            Self::Alone(_, duty) => duty != 0,
            Self::Way(_) | Self::Pace(_) | Self::Lamp(_) | Self::Halt => false,
        }
    }
}

/// The command board.
#[derive(Clone, Debug)]
pub(super) struct CommandBoard {
    style: Style,
    on_change: bool,
    late: bool,
    end_mark: bool,
    glued: bool,
    chance: Chance,
    phase: Phase,
    phase_due: Nanos,
    reason: &'static str,
    gear_at_start: u8,
    inbox: VecDeque<(Nanos, Message)>,
    beat: Nanos,
    beat_due: Option<Nanos>,
    heard: Nanos,
    order: Order,
    gear: u8,
    panel: u8,
    sequence: u16,
    dip: Option<Nanos>,
    came_up: bool,
}

impl CommandBoard {
    pub(super) fn new(settings: &Settings) -> Self {
        let sags = settings.has(Fault::SupplySag);
        Self {
            style: settings.style,
            on_change: settings.has(Fault::SendOnChange),
            late: settings.has(Fault::LateSender),
            end_mark: !settings.has(Fault::NoEndMark),
            glued: sags || settings.has(Fault::BootGlued),
            chance: Chance::new(settings.seed, 3),
            phase: Phase::Dark,
            phase_due: 300 * MS,
            reason: "0x01(power)",
            gear_at_start: 2,
            inbox: VecDeque::new(),
            beat: 0,
            beat_due: None,
            heard: 0,
            order: Order::Stick([0; 3]),
            gear: 2,
            panel: 0,
            sequence: 0,
            dip: None,
            came_up: false,
        }
    }

    /// When it does something next.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        let start = (self.phase != Phase::Up).then_some(self.phase_due);
        let message = self.inbox.front().map(|(due, _)| *due);
        let dip = self.dip.map(|dip| dip + 150 * MS);
        [start, message, self.beat_due, dip].into_iter().flatten().min()
    }

    /// A message from the panel arrives. While the board starts nobody is listening.
    pub(super) fn hear(&mut self, now: Nanos, message: Message) {
        if self.phase != Phase::Up {
            return;
        }
        let last = self.inbox.back().map_or(0, |(due, _)| *due);
        let due = now + self.chance.span(400_000, 900_000) + self.slip();
        self.inbox.push_back((due.max(last), message));
    }

    /// The supply has dipped at `now`: the board resets within the next frames.
    pub(super) fn dip(&mut self, now: Nanos) {
        if self.phase == Phase::Up && self.dip.is_none() {
            self.dip = Some(now);
        }
    }

    /// The gear it came up with, if it has come up since this was last asked.
    pub(super) fn came_up(&mut self) -> Option<u8> {
        std::mem::take(&mut self.came_up).then_some(self.gear_at_start)
    }

    /// Does what is due at `now`; the bytes it puts on the wire, in order.
    pub(super) fn act(&mut self, now: Nanos) -> Vec<Vec<u8>> {
        let mut sent = Vec::new();
        if self.phase != Phase::Up {
            sent.extend(self.start(now));
        } else if self.dip.is_some_and(|dip| dip + 150 * MS <= now) {
            self.reset(now);
        } else {
            while let Some((_, message)) = self.inbox.pop_front_if(|(due, _)| *due <= now) {
                sent.extend(self.take(now, message));
            }
            if self.beat_due.is_some_and(|due| due <= now) {
                sent.extend(self.keep_beat(now));
            }
        }
        sent
    }

    /// One step of the way up.
    fn start(&mut self, now: Nanos) -> Option<Vec<u8>> {
        if self.phase_due > now {
            return None;
        }
        match self.phase {
            Phase::Dark => {
                (self.phase, self.phase_due) = (Phase::Rom, now + 9 * MS);
                let mut text = vec![0x00, 0xF8];
                text.extend(format!("GC2 rom 1.4 rst={} strap=0b10110\r\n", self.reason).bytes());
                Some(text)
            }
            Phase::Rom => {
                // At power-up the network is still there from before; after a reset it has to be joined again.
                let join = if self.gear_at_start == 2 { 291 * MS } else { self.chance.span(2_350 * MS, 2_600 * MS) };
                (self.phase, self.phase_due) = (Phase::Loaded, now + join);
                Some(b"load @3F40 len 6144 ok\r\n".to_vec())
            }
            Phase::Loaded => Some(self.come_up(now)),
            Phase::Up => None,
        }
    }

    /// The application's line and the first order, which is to rest.
    fn come_up(&mut self, now: Nanos) -> Vec<u8> {
        self.phase = Phase::Up;
        self.gear = self.gear_at_start;
        self.panel = 0;
        self.sequence = 0;
        self.heard = now;
        self.came_up = true;
        let continuous = matches!(self.style, Style::Stave | Style::Bead | Style::Ladder) && !self.on_change;
        self.beat = now;
        self.beat_due = continuous.then_some(now + CADENCE);
        self.order = if self.style == Style::PlainLine { Order::Way(Way::Rest) } else { Order::Stick([0; 3]) };
        let mut bytes = b"eye ok heap 91k net up".to_vec();
        bytes.extend_from_slice(if self.glued { b" " } else { b"\r\n" });
        bytes.extend(self.frame());
        bytes
    }

    fn reset(&mut self, now: Nanos) {
        (self.phase, self.phase_due) = (Phase::Dark, now + 12 * MS);
        self.reason = "0x0F(sag)";
        self.gear_at_start = 3;
        self.inbox.clear();
        self.beat_due = None;
        self.dip = None;
    }

    /// Acts on a message.
    fn take(&mut self, now: Nanos, message: Message) -> Option<Vec<u8>> {
        self.heard = now;
        self.panel = message.counter;
        let before = (self.order, self.gear);
        self.order = match message.what {
            What::Way(way) => Order::Way(way),
            What::Pace(pace) => Order::Pace(pace),
            What::Lamp(lamp) => Order::Lamp(lamp),
            What::Stick(stick, gear) => self.geared(gear, Order::Stick(stick)),
            What::Alone(wheel, duty, gear) => self.geared(gear, Order::Alone(wheel, duty)),
            What::Halt(gear) => self.geared(gear, Order::Halt),
        };
        let changed = (self.order, self.gear) != before || self.style == Style::PlainLine;
        if self.beat_due.is_some() || (self.on_change && !changed) {
            return None;
        }
        let frame = self.frame();
        self.put(now, frame)
    }

    fn geared(&mut self, gear: u8, order: Order) -> Order {
        self.gear = gear;
        order
    }

    /// Sends the newest order on the board's own cadence.
    fn keep_beat(&mut self, now: Nanos) -> Option<Vec<u8>> {
        if self.order.is_move() && now - self.heard > PANEL_SILENCE {
            self.order = Order::Stick([0; 3]);
        }
        self.beat += CADENCE;
        let late = self.chance.span(0, 400_000) + self.slip();
        self.beat_due = Some((self.beat + CADENCE + late).max(now + MS));
        let frame = self.frame();
        self.put(now, frame)
    }

    /// How much the loop is held up this time.
    fn slip(&mut self) -> Nanos {
        if self.late && self.chance.one_in(25) { self.chance.span(30 * MS, 90 * MS) } else { 0 }
    }

    /// Hands bytes to the wire; a board whose supply has dipped gets no further than the middle of the frame.
    fn put(&mut self, now: Nanos, mut frame: Vec<u8>) -> Option<Vec<u8>> {
        if self.dip.is_some_and(|dip| now >= dip + 5 * MS) && frame.len() > 4 {
            frame.truncate(3 + self.chance.below(frame.len() as u64 - 4) as usize);
            self.reset(now + wire::duration(frame.len()));
        }
        (!frame.is_empty()).then_some(frame)
    }

    /// The order in force as a frame of this build; empty where the build has no words for it.
    fn frame(&mut self) -> Vec<u8> {
        let mut frame = match self.style {
            Style::PlainLine => self.plain_line(),
            Style::CueLine => self.cue_line(),
            Style::Stave => self.stave(),
            Style::Bead => self.bead(),
            Style::Ladder => self.ladder(),
        };
        if !self.end_mark && self.style != Style::Ladder {
            frame.pop();
        }
        frame
    }

    fn plain_line(&self) -> Vec<u8> {
        match self.order {
            Order::Way(way) => format!("way,{}\n", way.name()).into_bytes(),
            Order::Pace(pace) => format!("pace,{pace}\n").into_bytes(),
            Order::Lamp(lamp) => format!("lamp,{lamp}\n").into_bytes(),
            Order::Stick(_) | Order::Alone(..) | Order::Halt => Vec::new(),
        }
    }

    /// The number of this frame; the next one gets one more, from 0 again after `last`.
    fn number(&mut self, last: u16) -> u16 {
        let number = self.sequence;
        self.sequence = if number >= last { 0 } else { number + 1 };
        number
    }

    fn cue_line(&mut self) -> Vec<u8> {
        let (verb, [f, s, t]) = match self.order {
            Order::Stick(stick) => ("drv", stick),
            Order::Alone(wheel, duty) => ("one", [wheel.index() as i32 + 1, duty, 0]),
            Order::Halt => ("hlt", [0; 3]),
            Order::Way(_) | Order::Pace(_) | Order::Lamp(_) => return Vec::new(),
        };
        let cue = Cue { verb, f, s, t, gear: self.gear, deadline: DEADLINE };
        frames::cue(self.number(999), self.panel, cue)
    }

    /// What the wheels should do, for the builds that mix on the command board.
    fn duties(&self) -> [i32; 4] {
        match self.order {
            Order::Stick([f, s, t]) => mix(f, s, t, self.gear).duties,
            Order::Alone(wheel, duty) => Wheel::ALL.map(|one| if one == wheel { duty * 10 } else { 0 }),
            Order::Way(_) | Order::Pace(_) | Order::Lamp(_) | Order::Halt => [0; 4],
        }
    }

    fn stave(&mut self) -> Vec<u8> {
        let (kind, deadline) = if self.order == Order::Halt { (stave_type::STOP, 0) } else { (stave_type::DRIVE, DEADLINE * 2) };
        let duties = self.duties();
        let gear = self.gear;
        frames::stave(kind, self.number(0xDF) as u8, duties, deadline, gear)
    }

    fn bead(&mut self) -> Vec<u8> {
        let stick = if let Order::Stick(stick) = self.order { stick } else { [0; 3] };
        frames::bead(self.number(0xFF) as u8, stick, DEADLINE)
    }

    fn ladder(&self) -> Vec<u8> {
        frames::ladder(self.duties())
    }
}
