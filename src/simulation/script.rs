//! What an operator does at the panel: moves, steps and whole scripts.

use wheeltap_parsers::Nanos;

use super::MS;
use crate::rover::wheels::Wheel;

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
    pub(super) fn nearest(stick: [i32; 3]) -> Self {
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

    /// Nothing: what is done at the panel is given from outside, by [`super::Moonwagon::hand`].
    pub const fn by_hand() -> Self {
        Self::from_list(Vec::new())
    }

    /// One move at this pace, pressed at 1.2 s and never released.
    pub fn held(way: Way, pace: u8) -> Self {
        Self::from_list(vec![Step::Wait(1000 * MS), Step::Pace(pace), Step::Wait(200 * MS), Step::Press(way)])
    }

    /// Step number `place`; a script that repeats begins again where it ends.
    pub(super) fn step(&self, place: usize) -> Option<Step> {
        let place = if self.repeats { place.checked_rem(self.steps.len())? } else { place };
        self.steps.get(place).copied()
    }

    /// Whether times vary and the operator steers.
    pub(super) const fn is_human(&self) -> bool {
        self.human
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
