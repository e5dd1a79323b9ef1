//! Findings: what is wrong, how sure, what it is not, what to do, and how to check the fix.
//!
//! One file for each rule. A rule watches events and the rover's state, and keeps a small ledger that clones with the
//! engine. Each says what it needs of the link; where the link lacks it the rule is *not judged*, and says which field
//! would allow it.

pub mod adapter_grid;
pub mod alternating_orders;
pub mod answer_growing;
pub mod answer_late;
pub mod answer_missing;
pub mod answer_one_second;
pub mod attribution;
pub mod behind;
pub mod bunched;
pub mod catalogue;
pub mod clock_beyond;
pub mod clock_off;
pub mod creep;
pub mod damaged_frames;
pub mod double_sends;
pub mod duty_flood;
pub mod gap_inside;
pub mod gear_after_restart;
pub mod glued_at_start;
pub mod lapse;
pub mod late_frames;
pub mod ledger;
pub mod low_duty;
pub mod moves_at_start;
pub mod nearly_an_order;
pub mod no_end_mark;
pub mod no_rest_between;
pub mod noise_runs;
pub mod noise_with_duty;
pub mod nothing_fits;
pub mod nothing_would_stop_it;
pub mod panel_gap;
pub mod pins_apart;
pub mod refused_intact;
pub mod reports_stopped;
pub mod reset;
pub mod sends_on_change;
pub mod sequence_gap;
pub mod silent_while_moving;
pub mod silent_wire;
pub mod sorts;
pub mod tap_clock;
pub mod tap_lost;
pub mod text_between;
pub mod turn_correction;
pub mod volts_low;
pub mod wrong_rate;

use wheeltap_parsers::check::Sum;
use wheeltap_parsers::{Framing, Nanos, Value, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::sorts::Sort;
use crate::rover::file::RoverFile;
use crate::rover::meaning::{KindMeaning, Means, Obeys, Role};
use crate::rover::state::RoverState;
use crate::rover::wheels::Wheel;
use crate::timing::cadence::Rhythm;
use crate::timing::link::DutyKnown;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Someone or something can be hurt.
    Danger,
    /// Something is broken or set wrongly.
    Fault,
    /// It may be; look.
    Doubt,
    /// Good to know.
    Note,
}

impl Severity {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Fault => "fault",
            Self::Doubt => "doubt",
            Self::Note => "note",
        }
    }
}

/// Where the cause sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The control panel or the radio.
    Panel,
    /// The command board.
    CommandBoard,
    /// The wire.
    Wire,
    /// The drive board's reader.
    Reader,
    /// The power.
    Power,
    /// A motor driver.
    Driver,
    /// A wheel or its rollers.
    Wheel,
    /// The tap itself.
    Tap,
    /// What is known allows more than one.
    Untold,
}

impl Layer {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Panel => "panel or radio",
            Self::CommandBoard => "command board",
            Self::Wire => "wire",
            Self::Reader => "drive board's reader",
            Self::Power => "power",
            Self::Driver => "driver",
            Self::Wheel => "wheel or rollers",
            Self::Tap => "tap",
            Self::Untold => "cannot be told",
        }
    }
}

/// What a rule needs of the link before it may judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Need {
    /// Frames carry a check.
    Check,
    /// Frames carry a sequence number.
    Sequence,
    /// Frames carry a second counter from the control panel.
    SecondCounter,
    /// The drive board answers, on a tapped wire.
    Answers,
    /// Answers carry the pack's volts.
    Volts,
    /// A board's start-up text reaches a tapped wire.
    StartUpText,
    /// Orders repeat at a known cadence.
    Cadence,
    /// Orders carry, or the drive board's reader keeps, a deadline.
    Deadline,
    /// The rover file says what orders mean.
    Meaning,
    /// Answers carry the number of the order they answer, on a tapped wire.
    NumberedAnswers,
    /// The line rate of a tapped wire is known.
    LineRate,
    /// The wire was recorded as levels over time.
    Levels,
    /// A recording of levels has the inputs of the wheels' half bridges.
    Pins,
    /// Orders ask for a twist: forward, left and turn.
    Twist,
    /// Answers say whether an order was obeyed.
    Refusals,
    /// Orders name a move.
    Moves,
    /// Orders carry a gear.
    Gear,
    /// The rover file states the volts at which the pack must rest.
    StopVolts,
    /// Orders are lines of text: only there can text before an order be taken for a part of it.
    Lines,
}

impl Need {
    /// What would allow the judgement, in words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Check => "a check at the end of each frame",
            Self::Sequence => "a sequence number in each frame",
            Self::SecondCounter => "a counter of the control panel's own messages",
            Self::Answers => "answers from the drive board, and a second tap on that wire",
            Self::Volts => "the pack's volts in each answer",
            Self::StartUpText => "the boards' start-up text on a tapped wire",
            Self::Cadence => "orders repeated at a steady rate",
            Self::Deadline => "a deadline in each order or in the drive board",
            Self::Meaning => "a rover file that says what the orders mean",
            Self::NumberedAnswers => {
                "numbered orders, answers that carry the number of their order, and a second tap on that wire"
            }
            Self::LineRate => "a session that states the line rate",
            Self::Levels => "a recording of the wire's levels",
            Self::Pins => "the direction inputs and enables of the wheels in the recording, named with --pins",
            Self::Twist => "orders that state forward, left and turn apart",
            Self::Refusals => "answers that say whether an order was obeyed",
            Self::Moves => "orders that name a move",
            Self::Gear => "a gear in each order",
            Self::StopVolts => "`stop_volts` in [pack] of the rover file",
            Self::Lines => "orders that are lines of text",
        }
    }
}

/// How sure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Confidence {
    /// The bytes and their times allow nothing else.
    Certain,
    /// They allow it.
    Possible,
}

impl Confidence {
    /// Word for screens and `--json`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Certain => "certain",
            Self::Possible => "possible",
        }
    }
}

/// A place in the session that supports a finding. Never a frame number, so that a corrected rover file can re-read it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Evidence {
    /// When, nanoseconds.
    pub at: Nanos,
    /// Which wire.
    pub wire: Wire,
    /// Place of its first byte on that wire.
    pub offset: u64,
    /// How many bytes; 0 for a moment between bytes.
    pub len: u64,
}

/// What is wrong, as told to a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable id, such as `bad-check`.
    pub id: &'static str,
    /// How bad.
    pub severity: Severity,
    /// Where the cause sits.
    pub layer: Layer,
    /// How sure.
    pub confidence: Confidence,
    /// The wheel, where one is meant.
    pub wheel: Option<Wheel>,
    /// How often.
    pub count: u64,
    /// First time, nanoseconds.
    pub first: Nanos,
    /// Last time, nanoseconds.
    pub last: Nanos,
    /// What was found, in one sentence with its numbers.
    pub says: String,
    /// What it could be mistaken for, and what would tell them apart.
    pub not: String,
    /// What to do.
    pub what_to_do: String,
    /// How to check the fix.
    pub check_after: String,
    /// First 8, last 8 and worst 8 places.
    pub evidence: Vec<Evidence>,
}

/// A rule that cannot judge on this link.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotJudged {
    /// The rule's id.
    pub id: &'static str,
    /// What the rule looks for, in words.
    pub looks_for: &'static str,
    /// What the link lacks.
    pub lacks: Vec<Need>,
}

/// What a rule can look at besides the event itself.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The rover file, when there is one.
    pub rover: Option<&'a RoverFile>,
    /// The rover's state after the event.
    pub state: Option<&'a RoverState>,
    /// Rhythm of the orders.
    pub rhythm: Rhythm,
    /// Which wires are tapped.
    pub tapped: [bool; 2],
    /// The line rates at which they are heard, baud; `None` where that is not known.
    pub rates: [Option<u32>; 2],
    /// Read from a recording of levels, and how well that knows the duty of each wheel, by the place's index.
    pub dump: Option<[[DutyKnown; 4]; 2]>,
}

impl<'a> View<'a> {
    /// What the kind of this frame means; `None` when it is no frame or there is no rover file.
    pub fn kind(&self, event: &Event) -> Option<&'a KindMeaning> {
        let Happening::Frame(frame) = &event.what else { return None };
        self.rover?.meaning.kinds[event.wire?.index()].get(frame.kind)
    }

    /// The value of the frame's field that means this, as a whole number of its unit.
    pub fn whole(&self, event: &Event, means: Means) -> Option<i64> {
        let Happening::Frame(frame) = &event.what else { return None };
        let place = self.kind(event)?.field(means)?;
        let kind = self.rover?.profile(event.wire?)?.kinds.get(frame.kind)?;
        Some(kind.fields.get(place)?.thousandths(frame.values.get(place)?)? / 1000)
    }

    /// The word of the frame's field that means this.
    pub fn word<'e>(&self, event: &'e Event, means: Means) -> Option<&'e str>
    where
        'a: 'e,
    {
        let Happening::Frame(frame) = &event.what else { return None };
        let place = self.kind(event)?.field(means)?;
        let kind = self.rover?.profile(event.wire?)?.kinds.get(frame.kind)?;
        match frame.values.get(place)? {
            Value::Text(word) => Some(word),
            Value::Word(index) => kind.fields.get(place)?.words.get(index).map(String::as_str),
            _ => None,
        }
    }

    /// Whether this is an order that arrived intact.
    pub fn is_order(&self, event: &Event) -> bool {
        event.wire == Some(Wire::ToDrive) && self.kind(event).is_some_and(|kind| kind.role == Role::Order)
    }
}

/// One rule. It sees events in order of time and keeps its own ledger.
pub trait Rule: Send + Sync {
    /// Stable id.
    fn id(&self) -> &'static str;
    /// What it looks for, in words.
    fn looks_for(&self) -> &'static str;
    /// What it needs of the link before it may judge.
    fn needs(&self) -> &'static [Need];
    /// Which sorts of event it wants to see: it need not be given any other.
    fn sees(&self) -> &'static [Sort] {
        &Sort::ALL
    }
    /// Takes the next event.
    fn see(&mut self, event: &Event, view: &View<'_>);
    /// Takes a trouble whose cause has just been decided. Most rules need none.
    fn explained(&mut self, _explained: &Explained) {}
    /// Whether it wants to know how far time has come: that is said with every input, so only those hear it that ask.
    fn watches_time(&self) -> bool {
        false
    }
    /// Nothing earlier than `until` will come any more.
    fn passes(&mut self, _until: Nanos, _view: &View<'_>) {}
    /// What it found so far.
    fn findings(&self) -> Vec<Finding>;
    /// A copy with the same ledger.
    fn copy(&self) -> Box<dyn Rule>;
}

/// Every rule, in the order of `findings` files.
pub fn rules() -> Vec<Box<dyn Rule>> {
    vec![
        Box::<nothing_would_stop_it::NothingWouldStopIt>::default(),
        Box::<silent_while_moving::SilentWhileMoving>::default(),
        Box::<lapse::Lapse>::default(),
        Box::<sends_on_change::SendsOnChange>::default(),
        Box::<reset::Reset>::default(),
        Box::<gear_after_restart::GearAfterRestart>::default(),
        Box::<moves_at_start::MovesAtStart>::default(),
        Box::<glued_at_start::GluedAtStart>::default(),
        Box::<text_between::TextBetween>::default(),
        Box::<volts_low::VoltsLow>::default(),
        Box::<refused_intact::RefusedIntact>::default(),
        Box::<turn_correction::TurnCorrection>::default(),
        Box::<damaged_frames::DamagedFrames>::default(),
        Box::<nearly_an_order::NearlyAnOrder>::default(),
        Box::<no_end_mark::NoEndMark>::default(),
        Box::<noise_with_duty::NoiseWithDuty>::default(),
        Box::<clock_beyond::ClockBeyond>::default(),
        Box::<clock_off::ClockOff>::default(),
        Box::<late_frames::LateFrames>::default(),
        Box::<bunched::BunchedOrders>::default(),
        Box::<gap_inside::GapInside>::default(),
        Box::<answer_one_second::AnswerOneSecond>::default(),
        Box::<answer_growing::AnswerGrowing>::default(),
        Box::<answer_missing::AnswerMissing>::default(),
        Box::<answer_late::AnswerLate>::default(),
        Box::<reports_stopped::ReportsStopped>::default(),
        Box::<sequence_gap::SequenceGap>::default(),
        Box::<panel_gap::PanelGap>::default(),
        Box::<alternating_orders::AlternatingOrders>::default(),
        Box::<creep::Creep>::default(),
        Box::<no_rest_between::NoRestBetween>::default(),
        Box::<double_sends::DoubleSends>::default(),
        Box::<duty_flood::DutyFlood>::default(),
        Box::<low_duty::LowDuty>::default(),
        Box::<noise_runs::NoiseRuns>::default(),
        Box::<nothing_fits::NothingFits>::default(),
        Box::<wrong_rate::WrongRate>::default(),
        Box::<silent_wire::SilentWire>::default(),
        Box::<adapter_grid::AdapterGrid>::default(),
        Box::<tap_lost::TapLost>::default(),
        Box::<tap_clock::TapClock>::default(),
        Box::<pins_apart::PinsApart>::default(),
    ]
}

/// Whether the orders are lines of text.
pub fn in_lines(rover: &RoverFile) -> bool {
    rover.profile(Wire::ToDrive).is_some_and(|profile| matches!(profile.framing, Framing::Lines { .. }))
}

/// What this link gives a rule to judge by.
pub fn gives(rover: Option<&RoverFile>, open: [bool; 2], rhythm: Rhythm) -> Vec<Need> {
    let Some(rover) = rover else { return vec![Need::StartUpText] };
    let means = |means| rover.meaning.kinds.iter().flatten().any(|kind| kind.field(means).is_some());
    let on_open =
        |wire: Wire, role| open[wire.index()] && rover.meaning.kinds[wire.index()].iter().any(|kind| kind.role == role);
    let kinds = rover.profiles.iter().flatten().flat_map(|profile| &profile.kinds);
    let checked = kinds.clone().count() > 0 && kinds.clone().any(|kind| kind.check.sum != Sum::None);
    let has = [
        (Need::Meaning, true),
        (Need::StartUpText, true),
        (Need::Check, checked),
        (Need::Sequence, means(Means::Sequence)),
        (Need::SecondCounter, means(Means::PanelCounter)),
        (Need::Answers, on_open(Wire::FromDrive, Role::Answer) || on_open(Wire::FromDrive, Role::Report)),
        (Need::NumberedAnswers, open[1] && means(Means::AnswersSequence) && means(Means::Sequence)),
        (Need::Twist, [Means::Ahead, Means::Left, Means::Turn].into_iter().all(means)),
        (Need::Refusals, open[1] && means(Means::Answer)),
        (Need::Moves, means(Means::Move)),
        (Need::Gear, means(Means::Gear)),
        (Need::Lines, in_lines(rover)),
        (Need::Volts, open[1] && means(Means::Volts)),
        (Need::StopVolts, rover.machine.pack.is_some_and(|pack| pack.stop.is_some())),
        (Need::Cadence, !matches!(rhythm, Rhythm::OnChange)),
        (Need::Deadline, matches!(rover.meaning.reader.obeys, Obeys::For(_) | Obeys::DeadlineField)),
    ];
    has.into_iter().filter(|(_, has)| *has).map(|(need, _)| need).collect()
}
