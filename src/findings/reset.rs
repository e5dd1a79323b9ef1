//! Start-up text: a board began anew in mid-run, with the cause it states.

use wheeltap_parsers::foreign::ResetCause;
use wheeltap_parsers::{Nanos, TextClass, Value, Wire};

use crate::engine::event::{Event, Frame, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::{KindMeaning, Means, Role};
use crate::rover::state::RoverState;

/// The sorts of start that are told apart.
const SORTS: [(Sort, &str); 6] = [
    (Sort::BrownOut, "reset-brown-out"),
    (Sort::Watchdog, "reset-watchdog"),
    (Sort::Crash, "reset-crash"),
    (Sort::Power, "reset-power"),
    (Sort::Flash, "start-fails"),
    (Sort::Other, "reset"),
];

/// Why a board started.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    BrownOut,
    Watchdog,
    Crash,
    Power,
    Flash,
    Other,
}

/// The rule's ledgers, one for each sort and wire.
#[derive(Clone, Debug, Default)]
pub struct Reset {
    ledgers: [[Ledger; SORTS.len()]; 2],
    running: [bool; 2],
    /// By wire, what the last text of a start said, and when.
    told: [Option<(Sort, Nanos)>; 2],
    moving: u64,
    strain: Strain,
}

/// Start-up text this long after the last piece of it is another start. Common practice, no source.
pub(super) const ANOTHER_START: Nanos = 200_000_000;
/// A step in duty of at least this much is a hard one, thousandths.
const STEP: i32 = 500;
/// A supply that sags so soon after a hard step sagged from it. Common practice, no source.
const SOON: Nanos = 1_000_000_000;

/// Hard steps in duty before a supply sagged, and the pack's volts then.
#[derive(Clone, Copy, Debug, Default)]
struct Strain {
    strongest: i32,
    stepped: Option<Nanos>,
    after_step: u64,
    millivolts: Option<i64>,
}

impl Strain {
    /// How hard the wheels are driven after an event at `at`.
    fn follow(&mut self, at: Nanos, state: &RoverState) {
        let strongest = state.meant().unwrap_or_default().iter().map(|duty| duty.abs()).max().unwrap_or(0);
        if strongest - self.strongest >= STEP {
            self.stepped = Some(at);
        }
        self.strongest = strongest;
    }

    /// The supply of the command board sagged at `at`.
    fn sagged(&mut self, at: Nanos, pack: Option<i64>) {
        self.after_step += u64::from(self.stepped.is_some_and(|stepped| at - stepped <= SOON));
        self.millivolts = self.millivolts.into_iter().chain(pack).min();
    }

    fn words(self) -> String {
        let step = (self.after_step > 0).then(|| {
            format!(
                ", {} within a second of a step in duty of {} points or more",
                times_words(self.after_step),
                STEP / 10
            )
        });
        let volts = self
            .millivolts
            .map(|pack| format!(", lowest pack told just before {}.{} V", pack / 1000, pack % 1000 / 100));
        step.unwrap_or_default() + &volts.unwrap_or_default()
    }
}

impl Rule for Reset {
    fn id(&self) -> &'static str {
        "reset"
    }

    fn looks_for(&self) -> &'static str {
        "boards that start anew, and why"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::StartUpText]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some(wire) = event.wire else { return };
        if let Some(state) = view.state.filter(|_| wire == Wire::ToDrive) {
            self.strain.follow(event.at, state);
        }
        // A start begins with its first line or is told by a hello; whatever is said behind belongs to it.
        if matches!(event.what, Happening::Frame(_) | Happening::Text { class: TextClass::Start { .. }, .. }) {
            self.told[wire.index()] = None;
        }
        let running = &mut self.running[wire.index()];
        let said = match event.what {
            Happening::Text { class, .. } => sort(class),
            Happening::Frame(_) => hello(event, view),
            _ => None,
        };
        let Some(sort) = said else {
            *running |= matches!(event.what, Happening::Frame(_));
            return;
        };
        // The first start of a session is no reset: the boards were switched on. Only a cause that no switching-on has
        // is counted then.
        if matches!(sort, Sort::Power | Sort::Other) && !*running {
            return;
        }
        // Each line of a start says something: the same once more is no second start.
        let told = self.told[wire.index()].replace((sort, event.at));
        if told.is_some_and(|(before, at)| before == sort && event.at - at < ANOTHER_START) {
            return;
        }
        if let Some(place) = SORTS.iter().position(|(known, _)| *known == sort) {
            let moving = view.state.is_some_and(RoverState::moving);
            self.moving += u64::from(moving);
            if sort == Sort::BrownOut && wire == Wire::ToDrive {
                self.strain.sagged(event.at, view.state.and_then(RoverState::pack_millivolts));
            }
            self.ledgers[wire.index()][place].add(event, i64::from(moving));
        }
        *running = false;
    }

    fn findings(&self) -> Vec<Finding> {
        let each = Wire::BOTH.into_iter().zip(&self.ledgers);
        each.flat_map(|(wire, ledgers)| {
            SORTS.iter().zip(ledgers).filter_map(move |((sort, id), ledger)| {
                let words = words(*sort, id, wire);
                let strain = (*sort == Sort::BrownOut && wire == Wire::ToDrive).then(|| self.strain.words());
                let times = times_words(ledger.count());
                let says = format!("The {} {} {times}{}", board(wire), says(*sort), strain.unwrap_or_default());
                ledger.finding(&words, says)
            })
        })
        .collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

const fn board(wire: Wire) -> &'static str {
    match wire {
        Wire::ToDrive => "command board",
        Wire::FromDrive => "drive board",
    }
}

pub(super) fn sort(class: TextClass) -> Option<Sort> {
    match class {
        TextClass::Start { cause: Some(cause), .. } | TextClass::Reset(cause) => Some(match cause {
            ResetCause::BrownOut => Sort::BrownOut,
            ResetCause::Watchdog => Sort::Watchdog,
            ResetCause::Power => Sort::Power,
            ResetCause::External | ResetCause::Software | ResetCause::Sleep | ResetCause::Unknown => Sort::Other,
        }),
        TextClass::BrownOut => Some(Sort::BrownOut),
        TextClass::Watchdog => Some(Sort::Watchdog),
        TextClass::Crash => Some(Sort::Crash),
        TextClass::FlashError | TextClass::Download => Some(Sort::Flash),
        _ => None,
    }
}

/// The reset that the drive board tells with its hello, by the rover file's own words for reasons.
pub(super) fn hello(event: &Event, view: &View<'_>) -> Option<Sort> {
    let Happening::Frame(frame) = &event.what else { return None };
    let meaning = view.kind(event).filter(|kind| kind.role == Role::Hello)?;
    Some(reason(event, frame, meaning, view).and_then(|cause| sort(TextClass::Reset(cause))).unwrap_or(Sort::Other))
}

/// The reason that a hello states, where it states one that is known.
fn reason(event: &Event, frame: &Frame, meaning: &KindMeaning, view: &View<'_>) -> Option<ResetCause> {
    let rover = view.rover?;
    let fields = &rover.profile(event.wire?)?.kinds.get(frame.kind)?.fields;
    let place = meaning.field(Means::Reason)?;
    let word = match frame.values.get(place)? {
        Value::Text(word) => word,
        Value::Word(index) => fields.get(place)?.words.get(index)?,
        _ => return None,
    };
    let known = rover.profiles.iter().flatten().flat_map(|profile| &profile.start_up);
    known.flat_map(|text| &text.reasons).find(|(known, _)| known == word).map(|(_, cause)| *cause)
}

const fn says(sort: Sort) -> &'static str {
    match sort {
        Sort::BrownOut => "was reset by a sagging supply (brown-out)",
        Sort::Watchdog => "hung and was reset by its watchdog",
        Sort::Crash => "reported a crash of its program",
        Sort::Power => "started as after power-on in mid-run",
        Sort::Flash => "could not start its program",
        Sort::Other => "started anew",
    }
}

const fn words(sort: Sort, id: &'static str, wire: Wire) -> Words {
    let layer = match (sort, wire) {
        (Sort::BrownOut | Sort::Power, _) => Layer::Power,
        (_, Wire::ToDrive) => Layer::CommandBoard,
        (_, Wire::FromDrive) => Layer::Reader,
    };
    let base = Words {
        id,
        severity: Severity::Fault,
        layer,
        confidence: Confidence::Certain,
        not: "Not the radio: a lost radio message brings no start-up text. The text speaks of the board that sends on this wire only.",
        what_to_do: "Look what happened just before it.",
        check_after: "Twenty of the same starts without one still allow one in seven: try sixty.",
    };
    match sort {
        Sort::BrownOut | Sort::Power => Words {
            severity: Severity::Danger,
            what_to_do: "Feed this board from its own 5 V converter with a capacitor at the board, and let the duty rise in steps. Pack out before any terminal is touched. A linear regulator in a driver may be hot.",
            ..base
        },
        Sort::Watchdog | Sort::Crash => Words {
            what_to_do: "See which order came last before it: the program hangs or crashes there. Send the text to whoever writes the firmware.",
            ..base
        },
        Sort::Flash => Words {
            what_to_do: "Look at the pins that are read at start-up: a driver's input may pull one of them. Unplug the driver and try again.",
            ..base
        },
        Sort::Other => base,
    }
}
