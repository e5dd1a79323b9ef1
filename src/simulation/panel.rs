//! The control panel and the person at it: what is pressed, held and released, and when.

use wheeltap_parsers::Nanos;

use super::chance::Chance;
use super::mixer::rounded;
use super::{Fault, MS, Settings, Style};
use crate::rover::wheels::Wheel;

/// How often the panel repeats what is held, where its build repeats.
const REPEAT: Nanos = 100 * MS;
/// Share of the turn seen that the operator steers against, thousandths.
const STEERING: i32 = 857;
/// The smallest turn an operator notices, thousandths of full speed.
const NOTICED: i32 = 40;

/// A move of the rover, in the words of the plain line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Way {
    /// To the nose.
    Ahead,
    /// To the tail.
    Astern,
    /// Sliding to the left.
    Port,
    /// Sliding to the right.
    Starboard,
    /// Between ahead and port.
    AheadPort,
    /// Between ahead and starboard.
    AheadStarboard,
    /// Between astern and port.
    AsternPort,
    /// Between astern and starboard.
    AsternStarboard,
    /// Turning on the spot, counter-clockwise from above.
    SpinPort,
    /// Turning on the spot, clockwise from above.
    SpinStarboard,
    /// Standing.
    Rest,
}

impl Way {
    /// All eleven.
    pub const ALL: [Self; 11] = [
        Self::Ahead,
        Self::Astern,
        Self::Port,
        Self::Starboard,
        Self::AheadPort,
        Self::AheadStarboard,
        Self::AsternPort,
        Self::AsternStarboard,
        Self::SpinPort,
        Self::SpinStarboard,
        Self::Rest,
    ];

    /// Its word on the plain line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ahead => "ahead",
            Self::Astern => "astern",
            Self::Port => "port",
            Self::Starboard => "starboard",
            Self::AheadPort => "ahead-port",
            Self::AheadStarboard => "ahead-starboard",
            Self::AsternPort => "astern-port",
            Self::AsternStarboard => "astern-starboard",
            Self::SpinPort => "spin-port",
            Self::SpinStarboard => "spin-starboard",
            Self::Rest => "rest",
        }
    }

    /// The move of this word.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|way| way.name() == name)
    }

    /// Signs of forward, slide left and turn counter-clockwise.
    pub const fn signs(self) -> [i32; 3] {
        match self {
            Self::Ahead => [1, 0, 0],
            Self::Astern => [-1, 0, 0],
            Self::Port => [0, 1, 0],
            Self::Starboard => [0, -1, 0],
            Self::AheadPort => [1, 1, 0],
            Self::AheadStarboard => [1, -1, 0],
            Self::AsternPort => [-1, 1, 0],
            Self::AsternStarboard => [-1, -1, 0],
            Self::SpinPort => [0, 0, 1],
            Self::SpinStarboard => [0, 0, -1],
            Self::Rest => [0, 0, 0],
        }
    }

    /// The move with these signs; a turn counts only where nothing else is asked for.
    fn nearest(stick: [i32; 3]) -> Self {
        let [f, s, t] = stick.map(i32::signum);
        let turn = if f == 0 && s == 0 { t } else { 0 };
        Self::ALL.into_iter().find(|way| way.signs() == [f, s, turn]).unwrap_or(Self::Rest)
    }
}

/// One thing the operator does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Nothing for this long, nanoseconds.
    Wait(Nanos),
    /// Presses a move and keeps the finger on it.
    Press(Way),
    /// Pushes the stick: forward, slide left, turn counter-clockwise, per cent, -100 to 100. The plain line has no
    /// stick: there the nearest of its moves is sent.
    Stick(i32, i32, i32),
    /// One wheel alone at this duty, per cent, -100 to 100. Only the cue line, the stave and the ladder can say it;
    /// other builds send nothing.
    Alone(Wheel, i32),
    /// Lifts the finger.
    Release,
    /// Presses stop: `hlt` on the cue line and the stop stave; a release elsewhere.
    Halt,
    /// How fast this and later moves are, 0 to 255.
    Pace(u8),
    /// The gear, 1 to 3. The plain line and the bead have none.
    Gear(u8),
    /// The lamp, 0 to 255. Only the plain line has one.
    Lamp(u8),
}

/// What an operator does, from the first touch on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Script {
    steps: Vec<Step>,
    repeats: bool,
    human: bool,
}

impl Script {
    /// These steps once, at exactly these times, without any steering against what the wagon does.
    pub const fn from_list(steps: Vec<Step>) -> Self {
        Self { steps, repeats: false, human: false }
    }

    /// One move at this pace, pressed at 1.2 s and never released.
    pub fn held(way: Way, pace: u8) -> Self {
        Self::from_list(vec![Step::Wait(1000 * MS), Step::Pace(pace), Step::Wait(200 * MS), Step::Press(way)])
    }

    /// Every move of the rover within a minute, again and again, each time a little different. The operator looks at
    /// the wagon and steers against a turn that was not asked for.
    pub fn demo() -> Self {
        Self { steps: demo_steps(), repeats: true, human: true }
    }
}

/// A press, held and released, then rest.
fn leg(steps: &mut Vec<Step>, way: Way, held_ms: Nanos, rest_ms: Nanos) {
    steps.extend([Step::Press(way), Step::Wait(held_ms * MS), Step::Release, Step::Wait(rest_ms * MS)]);
}

/// A setting and the moment it takes.
fn setting(steps: &mut Vec<Step>, list: &[Step]) {
    for step in list {
        steps.extend([*step, Step::Wait(350 * MS)]);
    }
}

/// A hard start, with the pace eased by the other hand just after it.
fn dash(steps: &mut Vec<Step>, way: Way) {
    steps.extend([Step::Press(way), Step::Wait(70 * MS), Step::Pace(244), Step::Wait(60 * MS), Step::Pace(230)]);
    steps.extend([Step::Wait(820 * MS), Step::Release, Step::Wait(1400 * MS), Step::Pace(255), Step::Wait(500 * MS)]);
}

fn demo_steps() -> Vec<Step> {
    let mut steps = vec![Step::Wait(1200 * MS)];
    for (way, held) in [(Way::Ahead, 1600), (Way::Port, 1500), (Way::Starboard, 1500), (Way::Astern, 1400)] {
        leg(&mut steps, way, held, 700);
    }
    setting(&mut steps, &[Step::Lamp(40), Step::Pace(180)]);
    for way in [Way::AheadPort, Way::AsternStarboard, Way::AheadStarboard, Way::AsternPort] {
        leg(&mut steps, way, 1200, 650);
    }
    leg(&mut steps, Way::SpinPort, 1500, 700);
    steps.extend([Step::Press(Way::SpinStarboard), Step::Wait(1500 * MS), Step::Halt, Step::Wait(900 * MS)]);
    setting(&mut steps, &[Step::Lamp(0), Step::Gear(3), Step::Pace(255)]);
    dash(&mut steps, Way::Ahead);
    dash(&mut steps, Way::Astern);
    setting(&mut steps, &[Step::Gear(1), Step::Pace(100)]);
    leg(&mut steps, Way::Port, 2400, 600);
    leg(&mut steps, Way::Starboard, 2400, 900);
    setting(&mut steps, &[Step::Gear(2), Step::Pace(140)]);
    steps.push(Step::Wait(2500 * MS));
    steps
}

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
    pub(super) fn new(settings: &Settings) -> Self {
        Self {
            style: settings.style,
            script: settings.script.clone(),
            repeating: settings.style != Style::PlainLine && !settings.has(Fault::SendOnChange),
            release_lost: settings.has(Fault::ReleaseLost),
            chance: Chance::new(settings.seed, 1),
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
        if self.place >= self.script.steps.len() && self.script.repeats {
            self.place = 0;
        }
        let Some(step) = self.script.steps.get(self.place).copied() else {
            self.due = None;
            return None;
        };
        self.place += 1;
        match step {
            Step::Wait(time) => {
                self.due = Some(now + self.human(time).max(0));
                None
            }
            Step::Press(way) => self.touch(now, Finger::Way(way)),
            Step::Stick(f, s, t) => self.touch(now, Finger::Stick([f, s, t])),
            Step::Alone(wheel, duty) => self.touch(now, Finger::Alone(wheel, duty)),
            Step::Release => self.release(),
            Step::Halt => self.halt(),
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
        if self.script.human { self.chance.span(time - time / 8, time + time / 8 + 1) } else { time }
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
        self.script.human && self.style != Style::PlainLine && straight
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

    fn halt(&mut self) -> Option<What> {
        self.lift();
        match self.style {
            Style::PlainLine => Some(What::Way(Way::Rest)),
            _ => Some(What::Halt(self.gear)),
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
            (Finger::Lifted, _) => None,
            (Finger::Way(way), Style::PlainLine) => Some(What::Way(way)),
            (Finger::Stick(stick), Style::PlainLine) => Some(What::Way(Way::nearest(stick))),
            (Finger::Alone(..), Style::PlainLine | Style::Bead) => None,
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
