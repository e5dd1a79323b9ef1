//! Export: every good frame as one row of a table, for a spreadsheet or a program of one's own.
//!
//! The columns follow from the rover file: those of every frame, the wheels as meant and as the drive board confirmed
//! them, then one for each field of each kind of frame. [`Table::columns`] is also the dictionary.

pub mod csv;
#[cfg(feature = "parquet")]
pub mod parquet;

use serde_json::{Map, Value as Json};
use wheeltap_parsers::{Field, Nanos, Read, Wire};

use crate::engine::event::{Event, Flag, Frame, Happening};
use crate::report::json::{field_json, micros};
use crate::rover::file::RoverFile;
use crate::rover::meaning::Means;
use crate::rover::wheels::{Duties, Wheel};

/// What the values of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Words.
    Text,
    /// Whole numbers of 64 bits, with a sign.
    Whole,
    /// Numbers with a fraction, IEEE 754 double precision.
    Number,
}

impl Content {
    /// In a word, for the dictionary.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Whole => "whole",
            Self::Number => "number",
        }
    }

    /// Of a field of a frame.
    fn of(field: &Field) -> Self {
        match field.read {
            Read::Word => Self::Text,
            Read::Float { .. } => Self::Number,
            _ if field.multiply == 1 && field.divide == 1 => Self::Whole,
            _ => Self::Number,
        }
    }
}

/// One column, with its entry in the dictionary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name: the head of the column, the key of the object.
    pub name: String,
    /// Unit; empty for words and plain numbers.
    pub unit: &'static str,
    /// What it holds.
    pub says: String,
    /// What its values are.
    pub content: Content,
}

/// How a time is told in the column `time`.
pub type TimeWords = Box<dyn Fn(Nanos) -> String>;

/// The table of one session.
pub struct Table {
    columns: Vec<Column>,
    /// First column of the fields of each kind, by wire, then kind.
    first_field: [Vec<usize>; 2],
    time: TimeWords,
}

/// Columns before the fields.
const FIXED: [(&str, &str, &str, Content); 8] = [
    ("time", "", "when the last byte of the frame was complete, at the latest", Content::Text),
    ("t_us", "us", "the same since the session began", Content::Whole),
    ("earliest_us", "us", "when it was complete at the earliest, since the session began", Content::Whole),
    ("wire", "", "> to the drive board, < back", Content::Text),
    ("offset", "bytes", "place of its first byte on that wire", Content::Whole),
    ("len", "bytes", "how long it is", Content::Whole),
    ("frame", "", "its kind in the rover file", Content::Text),
    ("flags", "", "what is remarkable about it, parted by spaces", Content::Text),
];

impl Table {
    /// The table for sessions of this rover. `time` makes the words of the column `time`.
    pub fn of(rover: &RoverFile, time: TimeWords) -> Self {
        let fixed = FIXED.iter().map(|&(name, unit, says, content)| {
            let [name, says] = [name, says].map(str::to_owned);
            Column { name, unit, says, content }
        });
        let duty = |name: String, says: String| Column { name, unit: "%", says, content: Content::Number };
        let mut columns: Vec<Column> = fixed.collect();
        for wheel in Wheel::ALL {
            let says = format!(
                "duty of the {} wheel as meant after it, plus is forward; what the wheel did is not known",
                wheel.words()
            );
            columns.push(duty(format!("meant_{}", wheel.name()), says));
        }
        for wheel in Wheel::ALL {
            let says = format!("duty that the drive board says with it that it set for the {} wheel", wheel.words());
            columns.push(duty(format!("confirmed_{}", wheel.name()), says));
        }
        let first_field = Wire::BOTH.map(|wire| field_columns(rover, wire, &mut columns));
        Self { columns, first_field, time }
    }

    /// The columns in their order: the dictionary.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// The cells of a good frame, one a column; `None` for any other event.
    pub fn row(&self, event: &Event, rover: &RoverFile) -> Option<Vec<Json>> {
        let (Happening::Frame(frame), Some(wire)) = (&event.what, event.wire) else { return None };
        let kind = rover.profile(wire)?.kinds.get(frame.kind)?;
        let mut cells = vec![
            Json::from((self.time)(event.at)),
            micros(event.at).into(),
            micros(event.span.lo).into(),
            wire.symbol().to_string().into(),
            event.offset.into(),
            event.len.into(),
            kind.name.clone().into(),
            flags(frame).into(),
        ];
        cells.extend(duties(frame.meant.filter(|_| wire == Wire::ToDrive)));
        cells.extend(duties(frame.confirmed));
        cells.resize(self.columns.len(), Json::Null);
        let first = *self.first_field[wire.index()].get(frame.kind)?;
        let values = kind.fields.iter().zip(frame.values.iter());
        for (cell, (field, value)) in cells.iter_mut().skip(first).zip(values) {
            *cell = field_json(field, value);
        }
        Some(cells)
    }

    /// The row as one object; columns without a value are left out.
    pub fn object(&self, cells: Vec<Json>) -> Json {
        let named = self.columns.iter().zip(cells).filter(|(_, cell)| !cell.is_null());
        Json::Object(named.map(|(column, cell)| (column.name.clone(), cell)).collect::<Map<_, _>>())
    }
}

/// Adds a column for each field of the wire's kinds; the first of each kind.
fn field_columns(rover: &RoverFile, wire: Wire, columns: &mut Vec<Column>) -> Vec<usize> {
    let kinds = rover.profile(wire).map_or(&[][..], |profile| &profile.kinds);
    let side = if wire == Wire::ToDrive { "to_drive" } else { "from_drive" };
    let meanings = &rover.meaning.kinds[wire.index()];
    let mut first = Vec::new();
    for (at, kind) in kinds.iter().enumerate() {
        first.push(columns.len());
        for (place, field) in kind.fields.iter().enumerate() {
            let means = meanings.get(at).and_then(|meaning| meaning.fields.get(place)).copied();
            let says = format!(
                "field {} of frame {} on wire {}{}",
                field.name,
                kind.name,
                wire.symbol(),
                meaning_words(means)
            );
            let name = format!("{side}.{}.{}", kind.name, field.name);
            columns.push(Column { name, unit: unit(means), says, content: Content::of(field) });
        }
    }
    first
}

fn meaning_words(means: Option<Means>) -> String {
    let word = Means::WORDS.iter().find(|(_, other)| Some(*other) == means);
    word.map_or_else(String::new, |(word, _)| format!("; means {word}"))
}

const fn unit(means: Option<Means>) -> &'static str {
    match means {
        Some(Means::Volts) => "V",
        Some(Means::Deadline) => "ms",
        _ => "",
    }
}

fn flags(frame: &Frame) -> String {
    frame.flags.iter().map(Flag::id).collect::<Vec<_>>().join(" ")
}

fn duties(duties: Option<Duties>) -> impl Iterator<Item = Json> {
    let percent = |duty: i32| if duty % 10 == 0 { Json::from(duty / 10) } else { (f64::from(duty) / 10.0).into() };
    Wheel::ALL.into_iter().map(move |wheel| duties.map_or(Json::Null, |duties| percent(duties[wheel.index()])))
}
