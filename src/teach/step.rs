//! The steps of a lesson: what the person is asked to do at the control panel, in order.

use crate::rover::mecanum::Motion;

/// One step; each is one prompt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// The command board's reset: proves the lead, and shows what the board prints by itself.
    StartUp,
    /// Press this move, keep it pressed, let go.
    Move(Motion),
    /// Press stop. Asked only where no rest was heard when the moves were let go.
    Stop,
    /// The duty control to both ends.
    Duty,
    /// Everything else on the panel.
    Other,
    /// The rover's name.
    Name,
    /// Corners, drivers, terminals and pins.
    Wiring,
}

impl Step {
    /// All of them, in the order they are asked.
    pub fn all() -> Vec<Self> {
        let moves = Motion::ALL.into_iter().filter(|motion| *motion != Motion::Rest).map(Self::Move);
        std::iter::once(Self::StartUp)
            .chain(moves)
            .chain([Self::Stop, Self::Duty, Self::Other, Self::Name, Self::Wiring])
            .collect()
    }

    /// A short id, as it stands in a session's note.
    pub const fn id(self) -> &'static str {
        match self {
            Self::StartUp => "start-up",
            Self::Move(motion) => motion.id(),
            Self::Stop => "stop",
            Self::Duty => "duty",
            Self::Other => "other",
            Self::Name => "name",
            Self::Wiring => "wiring",
        }
    }

    /// The step of this id.
    pub fn from_id(id: &str) -> Option<Self> {
        Self::all().into_iter().find(|step| step.id() == id)
    }

    /// Whether what is heard during it is learned from.
    pub const fn listens(self) -> bool {
        !matches!(self, Self::Name | Self::Wiring)
    }

    /// What is asked, as a heading.
    pub fn heading(self) -> String {
        match self {
            Self::StartUp => "RESET (is the lead right?)".to_owned(),
            Self::Move(motion) => motion.id().replace('-', " ").to_uppercase(),
            Self::Stop => "STOP".to_owned(),
            Self::Duty => "DUTY CONTROL (speed)".to_owned(),
            Self::Other => "EVERYTHING ELSE".to_owned(),
            Self::Name => "NAME".to_owned(),
            Self::Wiring => "WIRING (may be skipped)".to_owned(),
        }
    }

    /// What to do, one sentence a line.
    pub const fn tells(self) -> &'static [&'static str] {
        match self {
            Self::StartUp => &[
                "Touch nothing on the panel. Press the reset button of the command board,",
                "or switch the rover off and on. The text that it prints should appear here.",
                "Wait until the rover is ready again, then press Enter.",
                "No text, although the rover is ready? Type skip: some boards print none here.",
            ],
            Self::Move(motion) => move_tells(motion),
            Self::Stop => &[
                "No order to rest was heard when you let go.",
                "If the panel has a stop button, press it once, then press Enter. Else type skip.",
            ],
            Self::Duty => &[
                "Move the panel's speed control to its lowest end, then tap FORWARD once.",
                "Move it to its highest end, then tap FORWARD once more. Set it to a third. Press Enter.",
                "No such control? Type skip.",
            ],
            Self::Other => &[
                "Use everything else on the panel: lamp, horn, gripper, each to both ends, off last.",
                "No moves now. Press Enter when done, or at once if there is nothing else.",
            ],
            Self::Name => &["Type a name for the rover, then Enter. Enter alone calls it \"My rover\"."],
            Self::Wiring => &[
                "One line a wheel: corner, driver, motor terminal, the two pins of the drive board.",
                "Such as:  FL L298-front M1 3 4",
                "Add the word inverted where your program turns the sign for that motor.",
                "Enter on an empty line ends it. You can add them to the file later.",
            ],
        }
    }
}

const fn move_tells(motion: Motion) -> &'static [&'static str] {
    match motion {
        Motion::Forward => &[
            "On the panel, press the button that drives towards the nose.",
            "Keep it down for two seconds, then let go. Then press Enter.",
            "Go by the button's label, even if the rover does something else.",
        ],
        Motion::Backward => &["Press the button that drives backward, two seconds. Let go."],
        Motion::Left => &[
            "Press the button that slides the rover to its own left, two seconds. Let go.",
            "(It slides sideways: the nose goes on pointing the same way.)",
        ],
        Motion::Right => &["Press the button that slides it to its own right, two seconds. Let go."],
        Motion::ForwardLeft => &["The diagonal between forward and left, two seconds. Let go."],
        Motion::ForwardRight => &["The diagonal between forward and right, two seconds. Let go."],
        Motion::BackwardLeft => &["The diagonal between backward and left, two seconds. Let go."],
        Motion::BackwardRight => &["The diagonal between backward and right, two seconds. Let go."],
        Motion::TurnLeft => {
            &["Turn on the spot to the left (counter-clockwise seen from above),", "two seconds. Let go."]
        }
        Motion::TurnRight => &["Turn on the spot to the right (clockwise seen from above),", "two seconds. Let go."],
        Motion::Rest => &["Let go of everything."],
    }
}
