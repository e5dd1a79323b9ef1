//! The pages of the console, one key each.

/// What fills the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Page {
    /// The rover from above and what matters around it.
    #[default]
    Overview,
    /// All findings, and one of them whole.
    Findings,
    /// What stood on the wires, with scroll back.
    Lines,
    /// The moves from press to release.
    Legs,
    /// Each wheel's details.
    Wheels,
    /// The whole session of a replay.
    Session,
    /// The guided wheel check.
    Check,
    /// A rover file from pressing buttons.
    Teach,
    /// Which lead of the tap goes where, and whether it is right.
    Leads,
    /// Gaps, answer delays, loads and tries.
    Times,
    /// Rules that cannot judge on this link.
    CannotShow,
    /// The keys, and what is in view.
    Help,
}

impl Page {
    /// All of them, in the order of the hints.
    pub const ALL: [Self; 12] = [
        Self::Overview,
        Self::Findings,
        Self::Lines,
        Self::Legs,
        Self::Wheels,
        Self::Session,
        Self::Check,
        Self::Teach,
        Self::Leads,
        Self::Times,
        Self::CannotShow,
        Self::Help,
    ];

    /// Its name on screen.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Overview => "overview",
            Self::Findings => "findings",
            Self::Lines => "lines",
            Self::Legs => "legs",
            Self::Wheels => "wheel details",
            Self::Session => "session",
            Self::Check => "wheel check",
            Self::Teach => "teach a rover file",
            Self::Leads => "adapter leads",
            Self::Times => "times and loads",
            Self::CannotShow => "what this link cannot show",
            Self::Help => "help",
        }
    }

    /// Whether it holds a list or a long text to move in.
    pub const fn moves(self) -> bool {
        !matches!(self, Self::Overview | Self::Check | Self::Teach)
    }

    /// What is to be seen on it, for the help.
    pub const fn explains(self) -> &'static [&'static str] {
        match self {
            Self::Overview => &OVERVIEW,
            Self::Findings => &FINDINGS,
            Self::Lines => &LINES,
            Self::Legs => &LEGS,
            Self::Wheels => &WHEELS,
            Self::Session => &SESSION,
            Self::Check => &CHECK,
            Self::Teach => &TEACH,
            Self::Leads => &LEADS,
            Self::Times => &TIMES,
            Self::CannotShow => &CANNOT_SHOW,
            Self::Help => &[],
        }
    }
}

const OVERVIEW: [&str; 9] = [
    "The rover is drawn from above, nose up: FL front left, FR front right, RL rear left, RR rear right.",
    "The arrow on a tyre is the way the top of the tyre goes: to the nose is forward. Its length follows the duty.",
    "Duty is the share of full drive, -100 % to +100 %; plus is forward.",
    "The slanted strokes are the rollers as they should run, seen from above. The tap cannot see how they do run.",
    "Ordered, with a solid border: stood on the wire for this very wheel.",
    "Meant, with a dashed border: what the rover file says the drive board makes of the order. The border turns solid, with the word seen, once a person saw that wheel obey that move.",
    "Seen, with a heavy border: what the pins told that wheel (seen at the pins), only in a recording of levels. The motor behind the driver was not recorded. Seen open: an input of its driver floats.",
    "Scrub: the wheels' duties fight each other. 0 for every sound order.",
    "Nothing here says that a wheel turned: the wire carries orders only.",
];

const FINDINGS: [&str; 3] = [
    "Worst first. Each has a word: danger (someone or something can be hurt), fault (broken or set wrongly), doubt (it may be; look), note (good to know).",
    "Certain: the bytes and their times allow nothing else. Possible: they allow it.",
    "The one at the cursor stands below or beside the list whole, with the places that support it.",
];

const LINES: [&str; 4] = [
    "One record of a wire a row: when its last byte was complete, which wire, as it stood, what it means.",
    "Wire > runs to the drive board, wire < comes back.",
    "A damaged frame, foreign text (such as start-up text), noise, an event or a note says so in words.",
    "The record at the cursor stands whole at the top, with how uncertain its time is.",
];

const LEGS: [&str; 2] = [
    "A leg is one move from press to release, with its strongest duty and its length.",
    "The four numbers are what was meant for FL FR RL RR, in per cent.",
];

const WHEELS: [&str; 5] = [
    "The large number is the duty meant, readable from across the bench.",
    "IN1 and IN2 are the two direction inputs of the wheel's motor driver, as meant: low, high, or pulsed with the duty.",
    "Motor volts are worked out from the pack and the driver; they are not measured.",
    "The last line: the duty up to which the mean volts stay inside the motors' rating, and how far the rover would run on if the wire fell silent now.",
    "Wheels off the ground before you look closely: they can start at any moment.",
];

const SESSION: [&str; 5] = [
    "The whole session, a stretch of time a row: the bar is how much stood on the wires, against the busiest row.",
    "Beside it in words: moves begun, damaged frames and noise, silences of a second or more, places of findings, notes.",
    "The row of the replay is marked with a triangle (>), the cursor with » (*). Move it and go to its row; rows not read yet say so.",
    "One finding may have many places: each time its rule counted something. Damaged lines of the file stand below the rows; PageUp and PageDown move there.",
    "With another rover file than the session's own, the last rows say what that changed.",
];

const CHECK: [&str; 10] = [
    "One question at a time: order a move on the panel, look at the wheels, press one key for each wheel. Nothing is sent.",
    "The large arrow is what the wheel should do as meant: up is forward, the top of the tyre goes to the nose.",
    "Each answer goes into the session as a note that begins with the word seen; a replay shows the sheet again.",
    "What fits: everything that cannot be told apart so far stands in one row, with its share. The shares are guesses made sharper by your answers.",
    "About n more: how many answers a diagnosis still takes, reckoned from what still speaks against the likeliest row; not a promise.",
    "Half an answer waits: order the same move again to go on with it. What you leave out with s stays left out after a repair; b brings it back.",
    "Diagnosed: one row is as good as sure, or no test on hand tells more. Then the one change, its proof, and what may show up next.",
    "Accepted: every move was seen once and each wheel turned as meant. One slide on the floor is its last proof.",
    "Outside the model: your answers contradict each other more than slips explain. Look at the named one again.",
    "An exchange of plugs or leads tells the motor's side from the driver's. Pack unplugged first; put it back afterwards.",
];

const TEACH: [&str; 3] = [
    "Each button of the control panel is asked for, one after the other; what comes on the wire meanwhile is learned.",
    "What you type goes into the line at the bottom. Esc leaves the page and comes back to the same place later.",
    "At the end a rover file is written beside the session, never over another, and may be used at once.",
];

const LEADS: [&str; 2] = [
    "Which lead of the adapter goes where, drawn; + is a joint, at : the leads only cross.",
    "Below it: how to be sure that the leads are right before any order comes, and what to conclude when they are not.",
];

const TIMES: [&str; 5] = [
    "From one frame to the next, by kind; orders are timed while a wheel is meant to turn. p95 ms: 95 in a hundred took no longer; p99.9: 999 in a thousand.",
    "Every time is known only between two ends, so every figure has two. A certain fault lies outside both.",
    "Possibly late: the adapter's own latency may explain it. It is counted and never alarms.",
    "Bytes lost: what a receive buffer that nobody read for so long would have dropped at the worst moment of this session. Its size stands in the rover file: buffer, under [reader].",
    "A try is a note such as \"try wire pull: good\". No failure in 20 tries still allows up to 14 %; in 60, up to 5 %.",
];

const CANNOT_SHOW: [&str; 2] = [
    "Some rules need a field that this link does not carry. They neither accuse nor clear anything.",
    "Each is listed with what it looks for and what would allow it.",
];
