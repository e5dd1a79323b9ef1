//! The wheel sheet: what a person saw of each move, kept in the session as notes of a fixed form.
//!
//! # The form, version 1
//!
//! Each remark is one note. It begins with `seen ` and has a colon after its subject, so that a line tool finds them:
//! `grep ' seen ' FILE`.
//!
//! ```text
//! seen sheet: tape yes, rover "Moonwagon, plain line", version "1.0", firmware "2.1", change "none"
//! seen rest: FL still FR still RL still RR still
//! seen ahead at low duty: FL forward FR forward RL backward RR not-looked
//! seen FL alone forward at high duty: FL hums FR still RL still RR still
//! seen port at high duty on the floor: went forward-left turned counter-clockwise
//! seen rollers: FL as-drawn FR as-drawn RL as-drawn RR other-hand
//! seen correction: forward clockwise left none
//! seen exchange: plugs FL RR
//! seen skip: row port
//! seen doubt: ahead at low duty
//! seen undo: last
//! ```
//!
//! - `sheet` begins a sheet: at first, and again after each repair, which `change` then names. A quoted text holds no
//!   quotation mark; one in a name is written as `'`.
//! - A move is named by its code on the wire; by the motion's own word where there is no move table.
//! - A rest has no duty; one that is written with a duty, as earlier versions did, is read all the same.
//! - A wheel was seen `forward` (top of the tyre towards the nose), `backward`, `still`, `hums` (still, but humming) or
//!   `not-looked`.
//! - `exchange` says that `leads` of one wheel, or `plugs` or `wheels` of two, were exchanged for a test, or put back.
//! - `skip` names what this person cannot do: `tape`, `rollers`, `floor`, `stand`, `one-wheel`, `low-duty`,
//!   `high-duty`, `exchange`, or `row CODE`. It counts for the sheets after a repair too, until `skip: nothing` brings
//!   everything back.
//! - `doubt` names a test by the subject of its line: the person is not sure of any answer given to it so far.
//! - `undo` takes back the last remark that still stands.
//!
//! Remarks count in the order of their time, those of one instant in the order of the file. A note that begins with
//! `seen ` and has no colon is a remark of another kind.

mod line;
mod proof;
mod taken;

use wheeltap_parsers::Nanos;

use crate::diagnosis::action::Action;
use crate::diagnosis::body::{Turn, Way};
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::observation::Observation;
use crate::diagnosis::proposal::Proposal;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::test::{Order, Test};
use crate::diagnosis::wheel_state::DutyLevel;
pub use line::{read, write};
pub use proof::{Difference, Proof, SeenRow, differing};
pub use taken::diagnose;

/// How one wheel was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Seen {
    /// The top of its tyre went towards the nose.
    Forward,
    /// The top of its tyre went towards the tail.
    Backward,
    /// It did not turn.
    Still,
    /// It did not turn, and hummed.
    Hums,
    /// Nobody looked.
    NotLooked,
}

impl Seen {
    /// All, each with its word.
    pub const WORDS: [(&'static str, Self); 5] = [
        ("forward", Self::Forward),
        ("backward", Self::Backward),
        ("still", Self::Still),
        ("hums", Self::Hums),
        ("not-looked", Self::NotLooked),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, seen)| *seen == self).map_or("", |(word, _)| word)
    }

    /// -1, 0 or +1; `None` where nobody looked.
    pub const fn turn(self) -> Option<i32> {
        match self {
            Self::Forward => Some(1),
            Self::Backward => Some(-1),
            Self::Still | Self::Hums => Some(0),
            Self::NotLooked => None,
        }
    }
}

/// What a sheet was made of, and after what.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heading {
    /// There is tape on the nose and on FL.
    pub tape: bool,
    /// The rover's name.
    pub rover: String,
    /// The rover file's version.
    pub version: String,
    /// Firmware versions heard on the wires, parted by commas; empty when none was.
    pub firmware: String,
    /// The repair before this sheet; empty for the first one.
    pub change: String,
}

/// What a person cannot do, or does not want to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Skip {
    /// Tape.
    Tape,
    /// A look at the rollers.
    Rollers,
    /// The floor.
    Floor,
    /// The stand.
    Stand,
    /// One wheel alone.
    OneWheel,
    /// Low duty.
    LowDuty,
    /// High duty.
    HighDuty,
    /// An exchange.
    Exchange,
    /// A row that the panel cannot order.
    Row(usize),
    /// Nothing: what was skipped before can be done again.
    Nothing,
}

impl Skip {
    /// What is left out, in words.
    pub fn words(self, moves: &Moves) -> String {
        match self {
            Self::Tape => "tape".to_owned(),
            Self::Rollers => "the look at the rollers".to_owned(),
            Self::Floor => "the floor".to_owned(),
            Self::Stand => "the stand".to_owned(),
            Self::OneWheel => "one wheel alone".to_owned(),
            Self::LowDuty => "low duty".to_owned(),
            Self::HighDuty => "high duty".to_owned(),
            Self::Exchange => "exchanges".to_owned(),
            Self::Row(row) => format!("`{}`", moves.name(row)),
            Self::Nothing => "nothing".to_owned(),
        }
    }

    /// What is skipped with this proposal: the whole kind, or one row of the table.
    pub fn of(proposal: &Proposal) -> Self {
        match (proposal.exchange, proposal.test) {
            (Some(_), _) => Self::Exchange,
            (_, Test::Tape) => Self::Tape,
            (_, Test::Look) => Self::Rollers,
            (_, Test::Floor(..) | Test::Correction) => Self::Floor,
            (_, Test::Stand(Order::OneWheel(..), _)) => Self::OneWheel,
            (_, Test::Stand(Order::Row(_), DutyLevel::Low)) => Self::LowDuty,
            (_, Test::Stand(Order::Row(row), DutyLevel::High)) => Self::Row(row),
        }
    }
}

/// One remark of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remark {
    /// A sheet begins.
    Begin(Heading),
    /// The wheels were watched.
    Wheels(Order, DutyLevel, [Seen; 4]),
    /// The body was watched on the floor.
    Floor(usize, DutyLevel, Option<Way>, Option<Turn>),
    /// The rollers were looked at.
    Rollers(Rollers),
    /// Mean turn correction while driving forward, while sliding left.
    Correction(Option<Turn>, Option<Turn>),
    /// Something was exchanged.
    Exchange(Action),
    /// Something cannot be done.
    Skip(Skip),
    /// The answers given to this test so far are doubted.
    Doubt(Test),
    /// The last one is taken back.
    Undo,
}

impl Remark {
    /// The observation it holds, if it holds one.
    pub fn observation(&self) -> Option<Observation> {
        match *self {
            Self::Wheels(order, duty, seen) => Some(Observation::Stand(order, duty, seen.map(Seen::turn))),
            Self::Floor(row, duty, way, turn) => Some(Observation::Floor(row, duty, way, turn)),
            Self::Rollers(rollers) => Some(Observation::Look(rollers)),
            Self::Correction(ahead, left) => Some(Observation::Correction(ahead, left)),
            _ => None,
        }
    }
}

/// A remark and when it was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Session time, nanoseconds.
    pub at: Nanos,
    /// The remark.
    pub remark: Remark,
}

/// One sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// When it began, nanoseconds.
    pub began: Nanos,
    /// What it is of.
    pub heading: Heading,
    /// What was left out in the sheets before, and still is when this one begins.
    pub skipped_before: Vec<Skip>,
    /// What was said, in order; nothing that was taken back.
    pub said: Vec<Entry>,
}

/// Every sheet of a session, oldest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Book {
    sheets: Vec<Sheet>,
}

impl Book {
    /// From every remark, in order of time.
    pub fn of(entries: &[Entry]) -> Self {
        let mut book = Self::default();
        for entry in entries {
            book.take(entry);
        }
        book
    }

    /// The sheets, oldest first.
    pub fn sheets(&self) -> &[Sheet] {
        &self.sheets
    }

    /// The sheet being filled.
    pub fn last(&self) -> Option<&Sheet> {
        self.sheets.last()
    }

    fn take(&mut self, entry: &Entry) {
        match &entry.remark {
            Remark::Begin(heading) => {
                let skipped_before = self.last().map(Sheet::skipped).unwrap_or_default();
                let heading = heading.clone();
                self.sheets.push(Sheet { began: entry.at, heading, skipped_before, said: Vec::new() });
            }
            Remark::Undo => self.undo(),
            _ => {
                if self.sheets.is_empty() {
                    self.sheets.push(Sheet { began: entry.at, ..Sheet::default() });
                }
                if let Some(sheet) = self.sheets.last_mut() {
                    sheet.said.push(entry.clone());
                }
            }
        }
    }

    /// Takes the last remark back; a sheet with nothing in it goes with its heading.
    fn undo(&mut self) {
        let emptied = self.sheets.last_mut().is_some_and(|sheet| sheet.said.pop().is_none());
        if emptied {
            self.sheets.pop();
        }
    }
}

impl Sheet {
    /// When the last remark that stands was made.
    pub fn last_at(&self) -> Nanos {
        self.said.last().map_or(self.began, |entry| entry.at)
    }

    /// What is left out now, each once, in order.
    pub fn skipped(&self) -> Vec<Skip> {
        let mut left_out = self.skipped_before.clone();
        for entry in &self.said {
            match entry.remark {
                Remark::Skip(Skip::Nothing) => left_out.clear(),
                Remark::Skip(skip) if !left_out.contains(&skip) => left_out.push(skip),
                _ => {}
            }
        }
        left_out
    }

    /// The exchanges made so far and not put back.
    pub fn exchanged(&self) -> Vec<Action> {
        let mut now = crate::diagnosis::action::Exchanges::default();
        for entry in &self.said {
            if let Remark::Exchange(action) = entry.remark {
                now = now.then(action);
            }
        }
        now.list().to_vec()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(at: Nanos, remark: Remark) -> Entry {
        Entry { at, remark }
    }

    #[test]
    fn undo_takes_back_answers_skips_exchanges_and_the_sheet_itself() {
        let begin = Remark::Begin(Heading { tape: true, ..Heading::default() });
        let all = [
            entry(1, begin),
            entry(2, Remark::Skip(Skip::LowDuty)),
            entry(3, Remark::Exchange(Action::Leads(crate::rover::wheels::Wheel::FL))),
            entry(4, Remark::Undo),
            entry(5, Remark::Undo),
        ];
        let left = |count: usize| Book::of(&all[..count]).last().map(|sheet| sheet.said.len());
        assert_eq!([left(3), left(4), left(5)], [Some(2), Some(1), Some(0)]);
        let mut more = all.to_vec();
        more.push(entry(6, Remark::Undo));
        assert_eq!(Book::of(&more).last(), None);
        more.push(entry(7, Remark::Undo));
        assert_eq!(Book::of(&more).last(), None, "there is nothing more to take back");
    }

    #[test]
    fn a_repair_begins_a_new_sheet_and_undo_brings_the_old_one_back() {
        let again = Remark::Begin(Heading { change: "turned".to_owned(), ..Heading::default() });
        let seen = Remark::Rollers(Rollers::RIGHT);
        let mut all = vec![entry(1, seen.clone()), entry(2, again)];
        let book = Book::of(&all);
        assert_eq!(book.sheets().len(), 2);
        assert_eq!((book.last().map(|sheet| sheet.said.len()), book.sheets()[0].said.len()), (Some(0), 1));
        all.push(entry(3, Remark::Undo));
        assert_eq!(Book::of(&all).last().map(|sheet| sheet.said[0].remark.clone()), Some(seen));
    }
}
