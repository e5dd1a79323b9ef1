//! The control panel and the person at it: what is pressed, held and released, and when.

use wheeltap_parsers::Nanos;

use super::chance::Chance;
use super::mixer::rounded;
use super::script::{Script, Step, Way};
use super::{Fault, MS, Settings, Style};
use crate::rover::wheels::Wheel;

/// How often the panel repeats what is held, where its build repeats.
const REPEAT: Nanos = 100 * MS;
/// Share of the turn seen that the operator steers against, thousandths.
const STEERING: i32 = 857;
/// The smallest turn an operator notices, thousandths of full speed.
const NOTICED: i32 = 40;

/// What the panel tells the command board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Message {
    /// 0 to 99, then 0 again: one more for each message.
    pub(super) counter: u8,
    /// What it says.
    pub(super) what: What,
}

/// The content of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// A button of the plain panel.
    Way(Way),
    /// The plain panel's slider.
    Pace(u8),
    /// The plain panel's lamp.
    Lamp(u8),
    /// The stick of the later panels: forward, slide, turn in per cent, and the gear.
    Stick([i32; 3], u8),
    /// One wheel, per cent, and the gear.
    Alone(Wheel, i32, u8),
    /// The stop button, and the gear.
    Halt(u8),
}

/// What is under the finger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Finger {
    Lifted,
    Way(Way),
    Stick([i32; 3]),
    Alone(Wheel, i32),
}

impl What {
    /// Whether a stick or a wheel is asked to move.
    pub(super) fn is_move(self) -> bool {
        match self {
            Self::Stick(stick, _) => stick != [0; 3],
            Self::Alone(_, duty, _) => duty != 0,
            Self::Way(_) | Self::Pace(_) | Self::Lamp(_) | Self::Halt(_) => false,
        }
    }
}

/// The panel with its operator.
#[derive(Clone, Debug)]
pub(super) struct Panel {
    style: Style,
    script: Script,
    repeating: bool,
    release_lost: bool,
    chance: Chance,
    place: usize,
    due: Option<Nanos>,
    repeat_due: Option<Nanos>,
    look_due: Option<Nanos>,
    finger: Finger,
    steering: i32,
    pace: u8,
    gear: u8,
    counter: u8,
}

impl Panel {
    /// The operator's panel.
    pub(super) fn new(settings: &Settings) -> Self {
        Self::with(settings, settings.script.clone(), 1)
    }

    /// The panel of somebody who drives as well, from the sixth second on, and whose counter stands elsewhere.
    pub(super) fn second(settings: &Settings) -> Self {
        let panel = Self::with(settings, Script::demo(), 4);
        Self { due: Some(6_000 * MS), counter: 50, ..panel }
    }

    fn with(settings: &Settings, script: Script, stream: u64) -> Self {
        Self {
            style: settings.style,
            script,
            repeating: settings.style != Style::PlainLine && !settings.has(Fault::SendOnChange),
            release_lost: settings.has(Fault::ReleaseLost),
            chance: Chance::new(settings.seed, stream),
            place: 0,
            due: Some(0),
            repeat_due: None,
            look_due: None,
            finger: Finger::Lifted,
            steering: 0,
            pace: 140,
            gear: 2,
            counter: 0,
        }
    }

    /// When something happens next at the panel; `None` when nothing ever will.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        [self.due, self.repeat_due, self.look_due].into_iter().flatten().min()
    }

    /// Does what is due at `now`. `turning` is how fast the wagon is seen to turn, thousandths, counter-clockwise.
    pub(super) fn act(&mut self, now: Nanos, turning: i32) -> Vec<Message> {
        let mut said = Vec::new();
        while self.due.is_some_and(|due| due <= now) {
            said.extend(self.step(now));
        }
        if self.look_due.is_some_and(|due| due <= now) {
            said.extend(self.look(now, turning));
        }
        if self.repeat_due.is_some_and(|due| due <= now) {
            said.extend(self.hold());
            self.repeat_due = Some(now + REPEAT);
        }
        said.into_iter().map(|what| self.numbered(what)).collect()
    }

    /// The command board has started and the panel has joined it: its counter begins again, and it shows the gear the
    /// board came up with.
    pub(super) fn rejoin(&mut self, gear: u8) {
        self.counter = 0;
        self.gear = gear;
    }

    fn numbered(&mut self, what: What) -> Message {
        self.counter = (self.counter + 1) % 100;
        Message { counter: self.counter, what }
    }

    /// Takes the next step of the script.
    fn step(&mut self, now: Nanos) -> Option<What> {
        let Some(step) = self.script.step(self.place) else {
            self.due = None;
            return None;
        };
        self.place += 1;
        if let Step::Wait(time) = step {
            self.due = Some(now.saturating_add(self.human(time).max(0)));
            return None;
        }
        self.take(now, step)
    }

    /// What somebody does at the panel at `now`, beside the script.
    pub(super) fn hand(&mut self, now: Nanos, step: Step) -> Option<Message> {
        let what = self.take(now, step)?;
        Some(self.numbered(what))
    }

    fn take(&mut self, now: Nanos, step: Step) -> Option<What> {
        match step {
            Step::Wait(_) => None,
            Step::Press(way) => self.touch(now, Finger::Way(way)),
            Step::Stick(f, s, t) => self.touch(now, Finger::Stick([f, s, t])),
            Step::Alone(wheel, duty) => self.touch(now, Finger::Alone(wheel, duty)),
            Step::Release => self.release(),
            Step::Halt => Some(self.halt()),
            Step::Pace(pace) => self.set_pace(now, pace),
            Step::Gear(gear) => {
                self.gear = gear.clamp(1, 3);
                None
            }
            Step::Lamp(lamp) => (self.style == Style::PlainLine).then_some(What::Lamp(lamp)),
        }
    }

    /// A person is never twice the same: up to an eighth shorter or longer.
    fn human(&mut self, time: Nanos) -> Nanos {
        if self.script.is_human() { self.chance.span(time - time / 8, time + time / 8 + 1) } else { time }
    }

    fn touch(&mut self, now: Nanos, finger: Finger) -> Option<What> {
        self.finger = finger;
        self.steering = 0;
        self.repeat_due = self.repeating.then_some(now + REPEAT);
        self.look_due = self.steers().then(|| now + self.chance.span(250 * MS, 400 * MS));
        self.hold()
    }

    /// Whether this operator can and would steer against a turn: there is a stick, and no turn is asked for.
    fn steers(&self) -> bool {
        let straight = matches!(self.finger, Finger::Way(way) if way != Way::Rest && way.signs()[2] == 0);
        self.script.is_human() && self.style != Style::PlainLine && straight
    }

    fn release(&mut self) -> Option<What> {
        if self.release_lost && self.chance.one_in(3) {
            // The panel goes on as if the finger were still there.
            return None;
        }
        self.lift();
        match self.style {
            Style::PlainLine => Some(What::Way(Way::Rest)),
            _ => Some(What::Stick([0; 3], self.gear)),
        }
    }

    fn halt(&mut self) -> What {
        self.lift();
        match self.style {
            Style::PlainLine => What::Way(Way::Rest),
            _ => What::Halt(self.gear),
        }
    }

    fn lift(&mut self) {
        self.finger = Finger::Lifted;
        self.repeat_due = None;
        self.look_due = None;
    }

    fn set_pace(&mut self, now: Nanos, pace: u8) -> Option<What> {
        self.pace = pace;
        if self.style == Style::PlainLine {
            return Some(What::Pace(pace));
        }
        self.repeat_due = self.repeat_due.map(|_| now + REPEAT);
        self.hold()
    }

    /// Looks at the wagon and steers, with a hand that is never steady.
    fn look(&mut self, now: Nanos, turning: i32) -> Option<What> {
        self.look_due = Some(now + self.chance.span(120 * MS, 260 * MS));
        if turning.abs() < NOTICED && self.steering == 0 {
            return None;
        }
        let wanted = rounded(-turning * STEERING, 10_000) + self.chance.bell(4);
        let before = self.steering;
        self.steering = wanted.clamp(-100, 100);
        if self.steering == before {
            return None;
        }
        self.repeat_due = self.repeat_due.map(|_| now + REPEAT);
        self.hold()
    }

    /// What is under the finger now, as the panel says it; nothing while it is lifted.
    fn hold(&self) -> Option<What> {
        match (self.finger, self.style) {
            (Finger::Way(way), Style::PlainLine) => Some(What::Way(way)),
            (Finger::Stick(stick), Style::PlainLine) => Some(What::Way(Way::nearest(stick))),
            (Finger::Lifted, _) | (Finger::Alone(..), Style::PlainLine | Style::Bead) => None,
            (Finger::Way(way), _) => Some(What::Stick(self.stick(way), self.gear)),
            (Finger::Stick(stick), _) => Some(What::Stick(stick.map(|value| value.clamp(-100, 100)), self.gear)),
            (Finger::Alone(wheel, duty), _) => Some(What::Alone(wheel, duty.clamp(-100, 100), self.gear)),
        }
    }

    fn stick(&self, way: Way) -> [i32; 3] {
        let amount = rounded(i32::from(self.pace) * 100, 255);
        let [f, s, t] = way.signs().map(|sign| sign * amount);
        [f, s, t + self.steering]
    }
}
