//! What the console sees: plain data, made at one instant, never changed after.

pub mod survey;
pub mod times;
pub mod wheel_check;

use wheeltap_parsers::{LineClock, Nanos, Place, Wire};

use crate::findings::attribution::verdict::Verdict;
use crate::findings::{Finding, NotJudged};
use crate::rover::wheels::{Duty, Leg, Level, RollerHand, Twist, Wheel};

/// The state of everything at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Snapshot {
    /// The instant, nanoseconds since the session began.
    pub now: Nanos,
    /// The rover's name, or `no rover file`.
    pub rover: String,
    /// The link style in words, such as `text lines ended by LF, no check`.
    pub link: String,
    /// By wire; `None` when that wire is not tapped.
    pub wires: [Option<WireHealth>; 2],
    /// FL, FR, RL, RR.
    pub wheels: [WheelState; 4],
    /// The order in force.
    pub order: OrderState,
    /// Body motion that the meant duties would give; `None` before any order.
    pub twist: Option<Twist>,
    /// Wheels fighting each other as meant, thousandths: `(FL + FR - RL - RR) / 2`; 0 for any sound order.
    pub scrub: i32,
    /// How long an order may be obeyed.
    pub deadline: DeadlineState,
    /// Pack volts from answers, thousandths of a volt.
    pub pack_millivolts: Option<i64>,
    /// What the motors bear, and how far the rover would run on.
    pub motors: MotorLimits,
    /// Legs, oldest first, the last ones only.
    pub legs: Vec<Leg>,
    /// How many legs there were in all.
    pub leg_count: u64,
    /// What stood on the wires, oldest first, the last ones only.
    pub lines: Vec<Line>,
    /// Worst first.
    pub findings: Vec<Finding>,
    /// Where to look: what each layer explains of all trouble.
    pub verdict: Verdict,
    /// Rules that cannot judge on this link.
    pub not_judged: Vec<NotJudged>,
    /// Remarks, oldest first.
    pub notes: Vec<(Nanos, String)>,
    /// Words of lines that no rover file explains, most frequent first; empty with a rover file.
    pub words: Vec<WordCount>,
    /// How long a press takes to reach the wire; `None` until it was tried.
    pub reaction: Option<Reaction>,
    /// Nothing shorter than this is flagged as late, nanoseconds; `None` until it has been measured.
    pub resolution: Option<Nanos>,
    /// Gaps, answer delays, loads.
    pub times: times::Times,
    /// The wheel check.
    pub check: wheel_check::Check,
}

/// What the motors bear with this pack, and how far the rover would run on if the wire fell silent now. Worked out from
/// the rover file, never measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MotorLimits {
    /// The motors' rated volts, thousandths.
    pub rated: Option<i64>,
    /// The pack volts that were reckoned with, thousandths, and whether the drive board told them (else: full pack).
    pub pack: Option<(i64, bool)>,
    /// Highest duty at which the mean volts stay inside the rating, thousandths; `None` where figures are missing.
    pub duty_cap: Option<Duty>,
    /// The strongest wheel is meant to get more than that now.
    pub over: bool,
    /// What a stalled motor draws and what its driver bears for long, milliamperes, where the first is more.
    pub stall_beyond: Option<(i64, i64)>,
    /// How far it would run on.
    pub run_on: RunOn,
}

/// How far the rover would run on if the wire fell silent now.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RunOn {
    /// The rover file does not say how long an order is obeyed, or nothing was heard yet.
    #[default]
    Unknown,
    /// It rests.
    Resting,
    /// It would not stop: the drive board obeys for ever.
    Never,
    /// It would go on for this long, then coast or brake.
    Until {
        /// Length of the deadline, nanoseconds.
        length: Nanos,
        /// At most so far until then, millimetres; `None` where the rover file says no full speed.
        millimetres: Option<i64>,
    },
}

/// A word heard on the wire before anybody has said what it means.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WordCount {
    /// The word.
    pub word: String,
    /// How often.
    pub count: u64,
    /// Smallest and largest number that followed it.
    pub range: Option<(i64, i64)>,
    /// Words that followed it, in the order they came.
    pub values: Vec<String>,
    /// More followed than are kept.
    pub more_values: bool,
}

/// How long a press takes to reach the wire: line less tap, nanoseconds. Negative when the laptop's key came second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reaction {
    /// How many taps had their line.
    pub taps: usize,
    /// Half are below.
    pub median: Nanos,
    /// One in ten is below.
    pub low: Nanos,
    /// One in ten is above.
    pub high: Nanos,
}

/// How one wire does.
#[derive(Clone, Debug, PartialEq)]
pub struct WireHealth {
    /// Which.
    pub wire: Wire,
    /// The port, for a person.
    pub port: String,
    /// Line rate in baud.
    pub rate: Option<u32>,
    /// False while the port is gone.
    pub open: bool,
    /// All bytes.
    pub bytes: u64,
    /// Good frames.
    pub frames: u64,
    /// Damaged frames.
    pub damaged: u64,
    /// Pieces of foreign text.
    pub texts: u64,
    /// Runs of noise.
    pub noises: u64,
    /// Bytes received but not kept.
    pub lost: u64,
    /// Frames in the last whole second.
    pub per_second: u32,
    /// Share of the line in use in the last whole second, thousandths; `None` without a rate.
    pub load: Option<u32>,
    /// The link's rhythm in words, such as `every 50 ms` or `only when something changes`.
    pub cadence: String,
    /// When its last byte was complete.
    pub last_byte: Option<Nanos>,
    /// Its sender's clock; only from a recording of levels.
    pub clock: Option<LineClock>,
}

/// One wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct WheelState {
    /// Which.
    pub wheel: Wheel,
    /// The duty that stood on the wire for this very wheel; `None` where the link does not state wheels.
    pub ordered: Option<Duty>,
    /// The duty the rover file says the drive board makes of the orders; `None` before the first order.
    pub meant: Option<Duty>,
    /// The duty that the drive board itself says it set: its own report, or its answer that it obeys.
    pub confirmed: Option<Duty>,
    /// What the pins told this wheel; only from a recording of levels.
    pub seen: Option<SeenAtPins>,
    /// A person saw this wheel obey this move: `meant` may be drawn solid.
    pub proven: bool,
    /// How its rollers should run, seen from above.
    pub rollers: RollerHand,
    /// Direction inputs, as meant: IN1, IN2; `None` when the rover file has no driver or nothing is meant yet.
    pub inputs: Option<[Level; 2]>,
    /// Volts across the motor while driven, thousandths, lowest and highest; `None` without pack or driver figures.
    pub motor_millivolts: Option<[i64; 2]>,
    /// Driver, terminal and pins in this rover's own words; empty when not in the rover file.
    pub wiring: String,
}

/// What the pins told a wheel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeenAtPins {
    /// The duty; `None` while an input is open.
    pub duty: Option<Duty>,
    /// Where it was recorded.
    pub place: Place,
}

/// The order in force.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OrderState {
    /// As it stood on the wire, in words; empty before the first.
    pub ordered: String,
    /// What the drive board should make of it, in words; empty before the first.
    pub meant: String,
    /// When it came.
    pub at: Option<Nanos>,
    /// The drive board's answer to it: true obeyed, false refused.
    pub answered: Option<bool>,
    /// All four wheels are meant to rest.
    pub rest: bool,
    /// Whether the duty in force was heard on this wire; `Some(false)` means the power-up value is assumed.
    pub duty_heard: Option<bool>,
}

/// How long an order may be obeyed, and where that stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DeadlineState {
    /// The rover file does not say.
    #[default]
    Unknown,
    /// The drive board obeys for ever: nothing on the wire would stop it.
    Never,
    /// No move is in force.
    Resting {
        /// Length, nanoseconds.
        length: Nanos,
    },
    /// A move is in force until this instant.
    Running {
        /// Length, nanoseconds.
        length: Nanos,
        /// When it runs out.
        until: Nanos,
    },
    /// It ran out with a move in force.
    Lapsed {
        /// Length, nanoseconds.
        length: Nanos,
        /// When it ran out.
        at: Nanos,
    },
}

/// One record of a wire, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// When its last byte was complete, at the latest.
    pub at: Nanos,
    /// How much earlier that can have been.
    pub uncertain: Nanos,
    /// The wire; `None` for a remark or an event of no wire.
    pub wire: Option<Wire>,
    /// Place of its first byte.
    pub offset: u64,
    /// How many bytes.
    pub len: u64,
    /// What sort it is.
    pub sort: LineSort,
    /// As it stood on the wire, made harmless for a terminal.
    pub raw: String,
    /// What it means, in words.
    pub words: String,
    /// Flags such as `late` or `sequence gap`, in words.
    pub flags: Vec<&'static str>,
}

/// The sort of a [`Line`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LineSort {
    /// A frame that arrived intact.
    Frame,
    /// A damaged frame.
    Damage,
    /// Foreign text.
    Text,
    /// Noise.
    Noise,
    /// Something that happened between bytes (a lapse, a silence, a port that went away).
    Event,
    /// A person's remark.
    Note,
}
