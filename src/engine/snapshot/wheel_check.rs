//! The wheel check as the console sees it: what is asked, what follows from the answers, what to do next.

use std::sync::Arc;

use wheeltap_parsers::Nanos;

pub use crate::diagnosis::action::Action;
pub use crate::diagnosis::body::{Turn, Way};
pub use crate::diagnosis::move_table::Moves;
pub use crate::diagnosis::rollers::Rollers;
pub use crate::diagnosis::sheet::{Entry, Heading, Proof, Remark, Seen, Sheet, Skip, write};
pub use crate::diagnosis::test::{Order, Spin, Test};
pub use crate::diagnosis::wheel_state::DutyLevel;

/// The check at one instant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// The rows a person can order, for names and for the lines of the sheet.
    pub moves: Arc<Moves>,
    /// What a new sheet is headed with: rover, version, firmware heard.
    pub heading: Heading,
    /// What is asked of the person now.
    pub ask: Ask,
    /// Duties below this count as low, per cent.
    pub low_below: i32,
    /// What the answers so far come to; `None` before the first sheet.
    pub report: Option<Arc<CheckReport>>,
    /// Mean turn corrections of this session, by move.
    pub corrections: Vec<MeanTurn>,
    /// Notes that begin like a line of the sheet and cannot be read, with why.
    pub not_read: Vec<String>,
}

impl Default for Check {
    fn default() -> Self {
        Self {
            moves: Arc::default(),
            heading: Heading::default(),
            ask: Ask::NoRover,
            low_below: 45,
            report: None,
            corrections: Vec::new(),
            not_read: Vec::new(),
        }
    }
}

/// What is asked of the person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Without a rover file nothing can be asked.
    NoRover,
    /// To make ready: stand, hands, pack, tape.
    Prepare,
    /// To order this on the panel.
    Order(Watched),
    /// To say how each wheel turned.
    Wheels(Watched),
    /// To say where the rover went and whether it turned.
    Floor(Watched),
    /// To look at the rollers.
    Rollers,
    /// The move ordered fits no row: to order a plain one.
    Mixed,
    /// Nothing more.
    Nothing,
}

/// A move to be watched.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Watched {
    /// What is ordered.
    pub order: Order,
    /// At which duty.
    pub duty: DutyLevel,
    /// How each wheel should turn: -1, 0, +1.
    pub should: [i32; 4],
    /// On the floor.
    pub floor: bool,
    /// The duty that was ordered, per cent; `None` before the order.
    pub ordered: Option<i32>,
    /// It is the one that was asked for.
    pub asked_for: bool,
    /// When it began, nanoseconds; the same move ordered anew is another question.
    pub began: Nanos,
}

/// Mean turn correction of one straight move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MeanTurn {
    /// Which move.
    pub name: &'static str,
    /// Over how many runs.
    pub runs: usize,
    /// Thousandths of full; plus is counter-clockwise.
    pub mean: i32,
    /// Where the true mean lies, at 95 %; `None` with too few runs.
    pub interval: Option<[i32; 2]>,
    /// Its sign where that is sure: -1, 0, +1.
    pub sign: Option<i32>,
}

impl MeanTurn {
    /// In words: `forward: -8 % (clockwise), 3 runs, -10.5 to -5.5 % at 95 %`.
    pub fn words(&self) -> String {
        let tenths =
            |value: i32| format!("{}{}.{}", if value < 0 { "-" } else { "" }, value.abs() / 10, value.abs() % 10);
        let way = match self.sign {
            Some(1) => "surely counter-clockwise",
            Some(-1) => "surely clockwise",
            Some(_) => "surely none",
            None => "not sure",
        };
        let runs = if self.runs == 1 { "1 run".to_owned() } else { format!("{} runs", self.runs) };
        let between = self.interval.map_or_else(
            || "too few for an interval".to_owned(),
            |[low, high]| format!("{} to {} % at 95 %", tenths(low), tenths(high)),
        );
        format!("{}: {} % of full, {runs}, {between}: {way}", self.name, tenths(self.mean))
    }
}

/// What the answers so far come to. Made anew with each answer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CheckReport {
    /// Which sheet of the session, from 1.
    pub number: usize,
    /// The sheet.
    pub sheet: Sheet,
    /// Its lines, as they stand in the session.
    pub lines: Vec<String>,
    /// By row of the table: what is proven.
    pub proofs: Vec<Proof>,
    /// What fits, likeliest first, each with its share; the last may stand for everything else.
    pub ranking: Vec<[String; 2]>,
    /// What to do next, and why.
    pub next: Option<Next>,
    /// Answers that do not fit the others, as they stand in the session, the least likely first.
    pub doubtful: Vec<String>,
    /// The remark by which the person doubts the first of them too.
    pub doubt: Option<Remark>,
    /// More answers contradict each other than slips explain.
    pub outside: bool,
    /// The first finishing line: what is wrong, or that nothing is.
    pub diagnosed: Option<Diagnosed>,
    /// The second: every move seen as meant, and nothing wrong.
    pub accepted: bool,
    /// How the slide on the floor went, the last proof of an accepted rover.
    pub slide: Slide,
    /// About how many more answers a diagnosis takes; 0 when it stands.
    pub answers_to_come: usize,
    /// What this person left out, in words.
    pub left_out: Vec<String>,
    /// Rows not seen yet, by name.
    pub left: Vec<String>,
    /// What stands exchanged for a test, in words, first to last.
    pub exchanged: Vec<(Action, String)>,
    /// In the last answer a wheel hummed.
    pub hums: bool,
    /// What could not be taken, in words.
    pub refused: Vec<String>,
}

/// One slide to the left on the floor, as it was last answered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Slide {
    /// Not answered.
    #[default]
    NotSeen,
    /// To the left, without a turn.
    AsMeant,
    /// Another way, or with a turn.
    Otherwise,
}

/// The next test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Next {
    /// What it watches; `None` for a look at the rollers.
    pub order: Option<(Order, DutyLevel, bool)>,
    /// In words.
    pub says: String,
    /// Why.
    pub why: &'static str,
    /// What is left out when the person cannot do it.
    pub skip: Skip,
}

/// A diagnosis.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Diagnosed {
    /// What is wrong; empty when nothing is.
    pub wrong: String,
    /// How sure, in words.
    pub share: String,
    /// Something that is put right in another place looks the same and is not far less likely.
    pub look_alikes: bool,
    /// Before touching anything.
    pub first: String,
    /// The one change.
    pub change: String,
    /// What not to do as well.
    pub warning: String,
    /// What must be seen afterwards.
    pub proof: String,
    /// What may show up then.
    pub then: String,
    /// An exchange that would tell those apart, in words.
    pub exchange: Option<(Action, String)>,
    /// Another test that would, in words; empty when there is none.
    pub split: String,
    /// What would look the same and is far less likely, in words; not more than are listed in a class.
    pub rarer: Vec<String>,
    /// How many more of those there are.
    pub rarer_not_listed: usize,
}
