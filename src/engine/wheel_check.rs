//! The wheel check: sheets from the session's notes, the move being ordered, what is asked now.
//!
//! Everything a person says comes in as a note, so that live and replay cannot differ. The diagnosis itself is made when
//! a snapshot first asks for it after an answer, never while nobody uses the check.

mod report;

use std::sync::{Arc, OnceLock};

use wheeltap_parsers::Nanos;

use super::snapshot::wheel_check::{Ask, Check, CheckReport, Watched};
use crate::diagnosis::Diagnosis;
use crate::diagnosis::model::Model;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::sheet::{Book, Entry, Heading, Proof, read};
use crate::diagnosis::test::{Available, Order, Spin};
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::file::RoverFile;
use crate::rover::guesses::Guess;
use crate::rover::mecanum::Signs;
use crate::rover::wheels::{Duties, Leg, Wheel, per_cent};

/// A duty below this share of the strongest is taken for rest: the small turn of a driver's trim.
const TRIM: i32 = 20;

/// The check of one session. Copies share what was worked out.
#[derive(Clone, Debug)]
pub struct WheelCheck {
    rover: Option<Arc<RoverFile>>,
    moves: Arc<Moves>,
    available: Available,
    low_below: i32,
    start: Arc<OnceLock<Diagnosis>>,
    entries: Vec<Entry>,
    not_read: Vec<String>,
    book: Book,
    firmware: Vec<String>,
    report: OnceLock<Option<Arc<CheckReport>>>,
}

impl WheelCheck {
    /// Before any note.
    pub fn new(rover: Option<&Arc<RoverFile>>) -> Self {
        let rows = rover.map(|rover| rover.meaning.moves.as_slice()).unwrap_or_default();
        let one_wheel = rover.is_some_and(|rover| rover.meaning.orders_one_wheel());
        let low = rover.map(|rover| rover.guesses).unwrap_or_default().of(Guess::LowDutyBelow);
        Self {
            rover: rover.cloned(),
            moves: Arc::new(Moves::new(rows)),
            available: Available { one_wheel, ..Available::ALL },
            low_below: (low / 1000) as i32,
            start: Arc::default(),
            entries: Vec::new(),
            not_read: Vec::new(),
            book: Book::default(),
            firmware: Vec::new(),
            report: OnceLock::new(),
        }
    }

    /// Takes a note; one of another kind changes nothing.
    pub fn note(&mut self, at: Nanos, text: &str) {
        match read(text, &self.moves) {
            None => {}
            Some(Ok(remark)) => {
                let place = self.entries.partition_point(|entry| entry.at <= at);
                self.entries.insert(place, Entry { at, remark });
                self.book = Book::of(&self.entries);
                self.report = OnceLock::new();
            }
            Some(Err(why)) => self.not_read.push(format!("{text}: {why}")),
        }
    }

    /// A board said its firmware's version.
    pub fn heard_firmware(&mut self, version: &str) {
        if !self.firmware.iter().any(|known| known == version) {
            self.firmware.push(version.to_owned());
        }
    }

    /// The sheets so far.
    pub const fn book(&self) -> &Book {
        &self.book
    }

    /// The rows of the move table.
    pub fn moves(&self) -> &Moves {
        &self.moves
    }

    /// What the link allows.
    pub const fn available(&self) -> Available {
        self.available
    }

    /// Which notes could not be read.
    pub fn not_read(&self) -> &[String] {
        &self.not_read
    }

    /// The diagnosis with nothing seen.
    pub fn start(&self) -> &Diagnosis {
        self.start.get_or_init(|| {
            let rover = self.rover.as_deref();
            let machine = rover.map(|rover| rover.machine.clone()).unwrap_or_default();
            let rows = rover.map(|rover| rover.meaning.moves.as_slice()).unwrap_or_default();
            let guesses = rover.map(|rover| rover.guesses).unwrap_or_default();
            let mut start = Diagnosis::new(Model::of_rover(&guesses, &machine), &machine, rows);
            start.allow(self.available);
            // Worked out once for all copies.
            start.partition();
            start
        })
    }

    /// Whether a person saw this wheel turn as the row in force says. `name` is the row's, where the order has one.
    pub fn proven(&self, wheel: Wheel, name: Option<&str>, meant: Option<Duties>) -> bool {
        let (Some(sheet), Some(meant)) = (self.book.last(), meant) else { return false };
        let Some(Order::Row(row)) = self.order_of(name, meant) else { return false };
        match sheet.proof(row, &self.moves) {
            Proof::Claimed => false,
            proof => proof
                .seen()
                .is_some_and(|seen| seen[wheel.index()].turn() == Some(self.moves.signs(row)[wheel.index()])),
        }
    }

    /// Everything for the console. `leg` is the last one, `rests` whether nothing is ordered to turn.
    pub fn view(&self, leg: Option<&Leg>, rests: bool) -> Check {
        let report = self.report();
        Check {
            moves: Arc::clone(&self.moves),
            heading: self.heading(),
            ask: self.ask(report.as_deref(), leg, rests),
            low_below: self.low_below,
            report,
            corrections: Vec::new(),
            not_read: self.not_read.clone(),
        }
    }

    fn heading(&self) -> Heading {
        let rover = self.rover.as_deref();
        Heading {
            tape: true,
            rover: rover.map(|rover| rover.name.clone()).unwrap_or_default(),
            version: rover.map(|rover| rover.version.clone()).unwrap_or_default(),
            firmware: self.firmware.join(", "),
            change: String::new(),
        }
    }

    /// What the answers so far come to; `None` before the first sheet.
    pub fn report(&self) -> Option<Arc<CheckReport>> {
        let make = || self.book.last().map(|sheet| Arc::new(report::of(self, sheet)));
        self.report.get_or_init(make).clone()
    }

    fn ask(&self, report: Option<&CheckReport>, leg: Option<&Leg>, rests: bool) -> Ask {
        if self.rover.is_none() {
            return Ask::NoRover;
        }
        let Some(report) = report else { return Ask::Prepare };
        let next = report.next.as_ref();
        if let Some(leg) = leg.filter(|leg| leg.begins > report.sheet.last_at()) {
            let wanted = next.and_then(|next| next.order);
            // An accepted rover is driven about: nothing but its slide is asked of that.
            let asked = !report.accepted || wanted.is_some_and(|(order, ..)| self.order_of_leg(leg) == Some(order));
            return if asked { self.ask_of_leg(leg, wanted) } else { Ask::Nothing };
        }
        match next.map(|next| next.order) {
            None => Ask::Nothing,
            Some(None) => Ask::Rollers,
            Some(Some((order, duty, floor))) => {
                let rest = order.told(&self.moves, crate::diagnosis::move_table::TableFault::None) == [0; 4];
                let watched = Watched { ordered: None, began: 0, ..self.watched(order, duty, floor) };
                if report.accepted {
                    Ask::Nothing
                } else if rest && rests && !floor {
                    Ask::Wheels(watched)
                } else {
                    Ask::Order(watched)
                }
            }
        }
    }

    /// The move that was ordered last, asked for or not.
    fn ask_of_leg(&self, leg: &Leg, wanted: Option<(Order, DutyLevel, bool)>) -> Ask {
        let Some(order) = self.order_of_leg(leg) else { return Ask::Mixed };
        let strongest = per_cent(leg.meant.iter().map(|duty| duty.abs()).max().unwrap_or(0));
        let duty = if strongest < self.low_below { DutyLevel::Low } else { DutyLevel::High };
        let floor = wanted.is_some_and(|(.., floor)| floor) && matches!(order, Order::Row(_));
        let watched = Watched {
            ordered: Some(strongest),
            asked_for: wanted.is_none_or(|wanted| wanted == (order, duty, floor)),
            began: leg.begins,
            ..self.watched(order, duty, floor)
        };
        if floor { Ask::Floor(watched) } else { Ask::Wheels(watched) }
    }

    fn order_of_leg(&self, leg: &Leg) -> Option<Order> {
        self.order_of(Some(&leg.name), leg.meant)
    }

    fn watched(&self, order: Order, duty: DutyLevel, floor: bool) -> Watched {
        let should = order.told(&self.moves, crate::diagnosis::move_table::TableFault::None);
        Watched { order, duty, should, floor, ordered: None, asked_for: true, began: 0 }
    }

    /// The row of this name, else the one whose wheels turn so, else one wheel alone.
    fn order_of(&self, name: Option<&str>, meant: Duties) -> Option<Order> {
        let strongest = meant.iter().map(|duty| duty.abs()).max().unwrap_or(0);
        let signs: Signs = meant.map(|duty| if duty.abs() * TRIM >= strongest { duty.signum() } else { 0 });
        let named = name.and_then(|name| self.moves.row_named(name)).filter(|row| self.moves.signs(*row) == signs);
        if let Some(row) = named.or_else(|| self.moves.row_with(signs)) {
            return Some(Order::Row(row));
        }
        let mut turning = Wheel::ALL.into_iter().filter(|wheel| signs[wheel.index()] != 0);
        let (Some(wheel), None, true) = (turning.next(), turning.next(), self.available.one_wheel) else { return None };
        Some(Order::OneWheel(wheel, if signs[wheel.index()] > 0 { Spin::Forward } else { Spin::Backward }))
    }
}

#[cfg(test)]
mod tests;
