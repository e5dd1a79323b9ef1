//! What frames mean for this rover: plain data, made by the rover file's loader.

use wheeltap_parsers::Nanos;

use crate::rover::mecanum::{Motion, Signs};
use crate::rover::wheels::{Duty, Wheel};

/// Everything the rover's state needs to follow the orders.
#[derive(Clone, Debug, PartialEq)]
pub struct Meaning {
    /// By wire, then as the profile's kinds.
    pub kinds: [Vec<KindMeaning>; 2],
    /// The move table.
    pub moves: Vec<MoveRow>,
    /// How a duty value becomes a duty.
    pub duty: DutyRule,
    /// How a twist becomes wheel duties.
    pub mixer: Mixer,
    /// The drive board's reader.
    pub reader: ReaderModel,
    /// Words of the verb field.
    pub verbs: Vec<(String, Verb)>,
    /// Words of an answer that mean *obeyed*, and those that mean *refused*.
    pub answers: [Vec<String>; 2],
    /// How far the sequence counts before it begins again at 0.
    pub sequence_counts: i64,
    /// How far the panel's counter counts.
    pub panel_counts: i64,
}

impl Meaning {
    /// Whether an order can drive one wheel alone, past the move table.
    pub fn orders_one_wheel(&self) -> bool {
        let verb = self.verbs.iter().any(|(_, verb)| *verb == Verb::OneWheel);
        let stated = |kind: &KindMeaning| Wheel::ALL.iter().all(|wheel| kind.field(Means::WheelDuty(*wheel)).is_some());
        verb || self.kinds[0].iter().any(|kind| kind.role == Role::Order && stated(kind))
    }
}

/// What one kind of frame is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindMeaning {
    /// Its part in the talk.
    pub role: Role,
    /// What each field means, in the kind's order.
    pub fields: Vec<Means>,
}

impl KindMeaning {
    /// Which field means this.
    pub fn field(&self, means: Means) -> Option<usize> {
        self.fields.iter().position(|field| *field == means)
    }
}

/// A frame's part in the talk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// An order to the drive board.
    Order,
    /// The drive board's answer to an order.
    Answer,
    /// What the drive board says of its own state.
    Report,
    /// The drive board says that a deadline ran out.
    Lapse,
    /// A board says that it is up.
    Hello,
    /// Known, and no wheel moves for it.
    Ignored,
}

impl Role {
    /// Words of a rover file.
    pub const WORDS: [(&'static str, Self); 6] = [
        ("order", Self::Order),
        ("answer", Self::Answer),
        ("report", Self::Report),
        ("lapse", Self::Lapse),
        ("hello", Self::Hello),
        ("ignored", Self::Ignored),
    ];
}

/// What a field means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Means {
    /// Nothing for the wheels; shown as it is.
    Nothing,
    /// A code of the move table.
    Move,
    /// A duty for all wheels.
    Duty,
    /// Twist, forward.
    Ahead,
    /// Twist, left.
    Left,
    /// Twist, counter-clockwise.
    Turn,
    /// Which gear of the mixer.
    Gear,
    /// How long the order may be obeyed, milliseconds after scaling.
    Deadline,
    /// The sender's sequence number.
    Sequence,
    /// The control panel's own counter.
    PanelCounter,
    /// What is to be done.
    Verb,
    /// The duty of one wheel.
    WheelDuty(Wheel),
    /// The sequence number that this answers.
    AnswersSequence,
    /// Obeyed or refused.
    Answer,
    /// The pack's volts after scaling.
    Volts,
    /// An error code.
    Error,
    /// A firmware version.
    Firmware,
    /// A reset reason.
    Reason,
}

impl Means {
    /// Words of a rover file.
    pub const WORDS: [(&'static str, Self); 20] = [
        ("move", Self::Move),
        ("duty", Self::Duty),
        ("ahead", Self::Ahead),
        ("left", Self::Left),
        ("turn", Self::Turn),
        ("gear", Self::Gear),
        ("deadline", Self::Deadline),
        ("sequence", Self::Sequence),
        ("panel counter", Self::PanelCounter),
        ("verb", Self::Verb),
        ("duty FL", Self::WheelDuty(Wheel::FL)),
        ("duty FR", Self::WheelDuty(Wheel::FR)),
        ("duty RL", Self::WheelDuty(Wheel::RL)),
        ("duty RR", Self::WheelDuty(Wheel::RR)),
        ("answers sequence", Self::AnswersSequence),
        ("answer", Self::Answer),
        ("volts", Self::Volts),
        ("error", Self::Error),
        ("firmware", Self::Firmware),
        ("reason", Self::Reason),
    ];
}

/// One row of the move table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MoveRow {
    /// The code on the wire: a word, or a number in decimal.
    pub code: String,
    /// The person's own name for it.
    pub name: String,
    /// What the body does; `None` for a row with its own wheel signs.
    pub motion: Option<Motion>,
    /// Which way each wheel turns.
    pub signs: Signs,
}

/// How a duty value becomes a duty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DutyRule {
    /// The value that means 100 %, in thousandths.
    pub full: i64,
    /// True when it stays for later moves until changed.
    pub persists: bool,
    /// Duty in force at power-up.
    pub at_power_up: Option<Duty>,
}

impl DutyRule {
    /// A field's value in thousandths as a duty, kept within -100 % to +100 %.
    pub fn duty(&self, thousandths: i64) -> Duty {
        divide(thousandths.saturating_mul(1000), self.full).clamp(-1000, 1000) as Duty
    }
}

/// How a twist becomes wheel duties.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mixer {
    /// The field value that means full, in thousandths.
    pub full: i64,
    /// True: too large a sum scales all four by the largest. False: each is clipped at full.
    pub scales: bool,
    /// Gear 1, 2, ... in thousandths; empty for none.
    pub gears: Vec<i64>,
    /// True: the drive board rounds to whole per cent.
    pub rounds: bool,
}

impl Mixer {
    /// Duties of the wheels for their sums (in the field's thousandths) in this gear (from 1).
    pub fn duties(&self, sums: [i64; 4], gear: Option<i64>) -> [Duty; 4] {
        let full = self.full.max(1);
        let gear = match gear {
            Some(gear) if !self.gears.is_empty() => {
                let place = usize::try_from(gear - 1).unwrap_or(0).min(self.gears.len() - 1);
                self.gears.get(place).copied().unwrap_or(1000)
            }
            _ => 1000,
        };
        let peak = sums.iter().map(|sum| sum.abs()).max().unwrap_or(0).max(full);
        let (over, step) = if self.rounds { (10, 10) } else { (1, 1) };
        sums.map(|sum| {
            let share = if self.scales { sum } else { sum.clamp(-full, full) };
            let by = if self.scales { peak } else { full };
            (divide(share.saturating_mul(gear), by * over) * step).clamp(-1000, 1000) as Duty
        })
    }
}

/// Division rounded half away from zero; `by` is positive.
pub const fn divide(number: i64, by: i64) -> i64 {
    let half = by / 2;
    if number < 0 { (number - half) / by } else { (number + half) / by }
}

/// The drive board's reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReaderModel {
    /// Takes leading digits, else 0, where a number is broken.
    pub lenient: bool,
    /// Ignores words it does not know (else it refuses the frame); either way no wheel changes.
    pub ignores_unknown: bool,
    /// How long an order is obeyed.
    pub obeys: Obeys,
    /// How many bytes its receive buffer holds.
    pub buffer: u32,
}

/// What the receive buffer of an 8-bit controller's usual serial library holds, bytes (common practice, no source).
pub const USUAL_BUFFER: u32 = 64;

/// How long an order is obeyed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obeys {
    /// The rover file does not say.
    Unknown,
    /// Until the next order.
    ForEver,
    /// This long, nanoseconds.
    For(Nanos),
    /// As the order's own deadline field says.
    DeadlineField,
}

/// What a verb asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verb {
    /// Drive as the twist says.
    Drive,
    /// Stop all wheels.
    Rest,
    /// Drive one wheel: the *ahead* field is its number (1 to 4: FL FR RL RR), the *left* field its duty.
    OneWheel,
    /// A question or a setting; no wheel changes.
    Ask,
}

impl Verb {
    /// Words of a rover file.
    pub const WORDS: [(&'static str, Self); 4] =
        [("drive", Self::Drive), ("rest", Self::Rest), ("one wheel", Self::OneWheel), ("ask", Self::Ask)];
}
