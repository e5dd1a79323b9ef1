//! The wheel check's keys: one key an answer, gathered into one remark, which goes into the session as a note.

use super::Console;
use super::wish::Wish;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{
    Ask, Check, CheckReport, Heading, Remark, Rollers, Seen, Skip, Turn, Watched, Way, write,
};
use crate::rover::wheels::Wheel;

/// What is said when every wheel hums: no lead or row does that to all four.
const ALL_HUM: &str = "STOP the order now: a motor that hums and stands still gets hot. All four hum: orders arrive, but duty or \
    supply is too low to start them, or the wheels are blocked. Put that right and order it again; s goes on without.";

/// One key's worth of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// How one wheel turned.
    Wheel(Seen),
    /// Where the rover went.
    Went(Option<Way>),
    /// A corner's rollers have the other hand.
    OtherHand(bool),
}

/// An answer being given.
#[derive(Clone, Debug, Default)]
pub struct CheckEntry {
    /// What it answers.
    ask: Option<Ask>,
    parts: Vec<Part>,
    /// An answer that was half given when something else was asked: it is gone on with when its question comes again.
    aside: Option<(Ask, Vec<Part>)>,
    /// What the last key came to, for the person.
    says: String,
    /// An answer to this went out when so many notes were known: what it changes is not on the screen yet.
    sent: Option<(Ask, usize)>,
    /// The sheet is in view instead of the question.
    pub sheet: bool,
}

impl CheckEntry {
    /// The parts given so far to this question.
    pub fn parts(&self, ask: &Ask) -> &[Part] {
        self.halves().find(|(before, _)| same(before, ask)).map_or(&[], |(_, parts)| parts)
    }

    /// A half answer to another question than this one, and how many parts of it were given.
    pub fn half_given(&self, ask: &Ask) -> Option<(&Ask, usize)> {
        let mut others = self.halves().filter(|(before, parts)| !parts.is_empty() && !same(before, ask));
        others.next().map(|(before, parts)| (before, parts.len()))
    }

    /// The answer being given, then the one put aside, each with its question.
    fn halves(&self) -> impl Iterator<Item = (&Ask, &[Part])> {
        let given = self.ask.as_ref().map(|ask| (ask, &self.parts[..]));
        let aside = self.aside.as_ref().map(|(ask, parts)| (ask, &parts[..]));
        given.into_iter().chain(aside)
    }

    /// What the last key came to; empty when nothing is to be said.
    pub fn says(&self) -> &str {
        &self.says
    }

    /// Another question than before puts aside what was answered in part, and takes up what was put aside of it.
    fn turn_to(&mut self, ask: &Ask) {
        self.says.clear();
        if self.ask.as_ref().is_some_and(|before| same(before, ask)) {
            return;
        }
        let taken_up = self.aside.take_if(|(before, _)| same(before, ask)).map(|(_, parts)| parts);
        let parts = std::mem::replace(&mut self.parts, taken_up.unwrap_or_default());
        let before = self.ask.replace(ask.clone());
        if let Some(before) = before.filter(|_| !parts.is_empty()) {
            self.aside = Some((before, parts));
        }
    }
}

/// Whether two are the same question: the same move at the same level of duty, however often it is ordered.
fn same(one: &Ask, other: &Ask) -> bool {
    let key = |watched: &Watched| (watched.order, watched.duty, watched.floor);
    match (one, other) {
        (Ask::Wheels(one), Ask::Wheels(other)) | (Ask::Floor(one), Ask::Floor(other)) => key(one) == key(other),
        _ => one == other,
    }
}

impl Console {
    /// A digit or `x`: a part of the answer.
    pub(super) fn check_part(&mut self, key: char, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        if self.check.sent.take() == Some((check.ask.clone(), snapshot.notes.len())) {
            // A key pressed twice must not answer the next question, which nobody has read.
            "One moment: your answer is being worked out. This key was not taken.".clone_into(&mut self.check.says);
            return None;
        }
        let remark = match &check.ask {
            Ask::Prepare if key == 'x' => Some(begin(check, false, String::new())),
            Ask::Wheels(watched) => self.check.wheel(key, watched),
            Ask::Floor(watched) => self.check.floor(key, watched),
            Ask::Rollers => self.check.rollers(key),
            _ => {
                "Nothing is asked just now: order the move on the panel first.".clone_into(&mut self.check.says);
                None
            }
        };
        self.check.sent = remark.as_ref().map(|_| (check.ask.clone(), snapshot.notes.len()));
        remark.map(|remark| wish(check, &remark))
    }

    /// Everything is made ready, tape on nose and FL.
    pub(super) fn check_ready(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        self.check.turn_to(&snapshot.check.ask);
        let check = &snapshot.check;
        (check.ask == Ask::Prepare).then(|| wish(check, &begin(check, true, String::new())))
    }

    /// The last key of an answer, else the last remark, is taken back.
    pub(super) fn check_take_back(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        if self.check.parts.pop().is_some() {
            return None;
        }
        if self.check.aside.take().is_some() {
            "Dropped: the half answer that was put aside. u again takes back the last whole one."
                .clone_into(&mut self.check.says);
            return None;
        }
        let report = check.report.as_ref()?;
        let last = report.lines.last().map_or("seen sheet", String::as_str);
        self.check.says = format!("Taken back: {last}");
        Some(wish(check, &Remark::Undo))
    }

    /// The test proposed cannot be made.
    pub(super) fn check_skip(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        self.check.parts.clear();
        let next = check.report.as_ref()?.next.as_ref()?;
        self.check.says = format!("Left out: {}. u takes that back.", next.skip.words(&check.moves));
        Some(wish(check, &Remark::Skip(next.skip)))
    }

    /// What was left out is on hand again.
    pub(super) fn check_bring_back(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        let left_out = check.report.as_ref().map(|report| report.left_out.join(", ")).unwrap_or_default();
        if left_out.is_empty() {
            "Nothing was left out.".clone_into(&mut self.check.says);
            return None;
        }
        self.check.says = format!("Asked again: {left_out}.");
        Some(wish(check, &Remark::Skip(Skip::Nothing)))
    }

    /// The answer that does not fit is doubted.
    pub(super) fn check_doubt(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        let doubt = check.report.as_ref().and_then(|report| report.doubt.as_ref());
        if doubt.is_none() {
            "No answer stands against the others now: there is none to doubt.".clone_into(&mut self.check.says);
        }
        doubt.map(|doubt| wish(check, doubt))
    }

    /// What was proposed is exchanged, or what is exchanged is put back.
    pub(super) fn check_exchange(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        let report = check.report.as_ref()?;
        let offered = || report.diagnosed.as_ref().and_then(|found| found.exchange.as_ref());
        let action = report.exchanged.last().or_else(offered).map(|(action, _)| *action);
        if action.is_none() {
            "No exchange is proposed now.".clone_into(&mut self.check.says);
        }
        action.map(|action| wish(check, &Remark::Exchange(action)))
    }

    /// The one change is made: a new sheet begins.
    pub(super) fn check_put_right(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        let change = check.report.as_deref().map_or(Err("The check has not begun."), change_of);
        match change {
            Ok((change, tape)) => {
                self.check.parts.clear();
                self.check.aside = None;
                Some(wish(check, &begin(check, tape, change)))
            }
            Err(why) => {
                why.clone_into(&mut self.check.says);
                None
            }
        }
    }

    /// The driver's turn correction is taken as an observation.
    pub(super) fn check_take_turn(&mut self, snapshot: &Snapshot) -> Option<Wish> {
        let check = &snapshot.check;
        self.check.turn_to(&check.ask);
        let (forward, left) = (turn(check, "forward"), turn(check, "left"));
        if check.report.is_none() || (forward.is_none() && left.is_none()) {
            "No turn correction is sure on this link so far.".clone_into(&mut self.check.says);
            return None;
        }
        Some(wish(check, &Remark::Correction(forward, left)))
    }
}

/// The mean turn correction of this move, where its sign is sure.
pub fn turn(check: &Check, name: &str) -> Option<Turn> {
    check.corrections.iter().find(|one| one.name == name)?.sign.map(Turn::from_sign)
}

fn wish(check: &Check, remark: &Remark) -> Wish {
    Wish::Note(write(remark, &check.moves))
}

fn begin(check: &Check, tape: bool, change: String) -> Remark {
    Remark::Begin(Heading { tape, change, ..check.heading.clone() })
}

/// The change that was made, and whether the tape is still on; else why nothing can be put right yet.
fn change_of(report: &CheckReport) -> Result<(String, bool), &'static str> {
    match &report.diagnosed {
        _ if !report.exchanged.is_empty() => Err("Something still stands exchanged: put it back and press i first."),
        Some(found) if !found.wrong.is_empty() => Ok((found.change.clone(), report.sheet.heading.tape)),
        Some(_) => Err("Nothing is found wrong: there is nothing to put right."),
        None => Err("Nothing is diagnosed yet."),
    }
}

impl CheckEntry {
    fn wheel(&mut self, key: char, watched: &Watched) -> Option<Remark> {
        let seen = match key {
            '8' => Seen::Forward,
            '2' => Seen::Backward,
            '5' => Seen::Still,
            '0' => Seen::Hums,
            'x' => Seen::NotLooked,
            _ => return self.not_known("8, 2, 5, 0 or x"),
        };
        self.parts.push(Part::Wheel(seen));
        let all: Vec<Seen> = self
            .parts
            .iter()
            .filter_map(|part| if let Part::Wheel(seen) = part { Some(*seen) } else { None })
            .collect();
        let all: [Seen; 4] = all.try_into().ok()?;
        self.parts.clear();
        match all {
            [Seen::Hums, Seen::Hums, Seen::Hums, Seen::Hums] => ALL_HUM.clone_into(&mut self.says),
            [Seen::NotLooked, Seen::NotLooked, Seen::NotLooked, Seen::NotLooked] => {
                "Answer for one wheel at least; s skips the test.".clone_into(&mut self.says);
            }
            _ => return Some(Remark::Wheels(watched.order, watched.duty, all)),
        }
        None
    }

    fn floor(&mut self, key: char, watched: &Watched) -> Option<Remark> {
        let crate::engine::snapshot::wheel_check::Order::Row(row) = watched.order else { return None };
        let Some(Part::Went(went)) = self.parts.first().copied() else {
            return self.went(key);
        };
        let turned = match key {
            '4' => Some(Turn::CounterClockwise),
            '6' => Some(Turn::Clockwise),
            '5' => Some(Turn::None),
            'x' => None,
            _ => return self.not_known("4, 5, 6 or x"),
        };
        self.parts.clear();
        if went.is_none() && turned.is_none() {
            "Answer one of the two questions at least; s skips the test.".clone_into(&mut self.says);
            return None;
        }
        Some(Remark::Floor(row, watched.duty, went, turned))
    }

    /// Where it went: the digits as they lie on a number pad, nose up.
    fn went(&mut self, key: char) -> Option<Remark> {
        let way = match key.to_digit(10) {
            Some(digit @ 1..=9) => {
                let (row, column) = ((digit as i32 - 1) / 3, (digit as i32 - 1) % 3);
                Some(Way::from_parts(row - 1, 1 - column))
            }
            None if key == 'x' => None,
            _ => return self.not_known("1 to 9 or x"),
        };
        self.parts.push(Part::Went(way));
        None
    }

    fn rollers(&mut self, key: char) -> Option<Remark> {
        let other = match key {
            '1' => false,
            '2' => true,
            _ => return self.not_known("1 or 2, or s if you cannot see them"),
        };
        self.parts.push(Part::OtherHand(other));
        if self.parts.len() < 4 {
            return None;
        }
        let corners = Wheel::ALL.into_iter().zip(&self.parts);
        let wrong: Vec<Wheel> =
            corners.filter(|(_, part)| **part == Part::OtherHand(true)).map(|(wheel, _)| wheel).collect();
        self.parts.clear();
        Some(Remark::Rollers(Rollers::wrong_at(&wrong)))
    }

    fn not_known(&mut self, allowed: &str) -> Option<Remark> {
        self.says = format!("That key answers nothing here: press {allowed}.");
        None
    }
}
