//! What follows from everything heard so far.

use wheeltap_parsers::Nanos;

use super::body::{Body, Read, without_repeats};
use super::cell::Cell;
use super::doubt::{self, Doubt};
use super::duty::{self, Place};
use super::format::{Format, Heard};
use super::kind::{Column, Counting, Kind, Shape, column, counting, is_constant, shape, span};
use super::moves::{self, Table};
use super::rest::{self, OwnFrame};
use super::rhythm::{self, Rhythm};
use super::step::Step;
use super::{other_parts, whole};
use crate::rover::meaning::Means;
use crate::rover::mecanum::Motion;

/// Everything learned.
#[derive(Clone, Debug)]
pub struct Learned {
    /// What frames look like.
    pub(super) format: Format,
    /// What each press said.
    pub(super) presses: Vec<Press>,
    /// What stops the wheels.
    pub(super) rest: Rest,
    /// Kinds of frames, those that move wheels first.
    pub(super) kinds: Vec<Kind>,
    /// How a duty stands on the wire.
    pub(super) duty: Option<Duty>,
    /// How often an order is sent.
    pub(super) rhythm: Rhythm,
    /// How far a sequence counts, where there is one and it began again.
    pub(super) counts: Option<i64>,
    /// Frames as they stood, by step, repeats left out, for a person.
    pub(super) lines: Vec<(Step, String)>,
    /// What is doubtful.
    pub(super) doubts: Vec<Doubt>,
}

/// One move as pressed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Press {
    /// The move that was asked for.
    pub motion: Motion,
    /// Frames heard meanwhile.
    pub frames: usize,
    /// Its code, or, where orders state wheels or directions, the motion they mean.
    pub says: Option<String>,
    /// Further codes heard meanwhile.
    pub several: Vec<String>,
    /// When the rest came that ended it.
    pub rested: Option<Nanos>,
}

/// What stops the wheels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rest {
    /// Nothing that was heard.
    Unknown,
    /// A code of the move table.
    Code(String),
    /// The duty goes to 0; the code of the move stays.
    ByZero,
    /// The orders state it themselves: wheels or directions at zero.
    Stated,
}

/// How a duty stands on the wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duty {
    /// The highest heard.
    pub full: i64,
    /// The lowest heard while the control was moved.
    pub low: i64,
    /// In frames of its own, so that it stays for later moves.
    pub persists: bool,
}

/// Works out everything anew from what was read and the frames found in it.
pub(super) fn learn(reads: &[Read], heard: &Heard) -> Learned {
    let mut learned = match &heard.format {
        Format::Whole(_, rover) => Learned {
            presses: whole::presses(rover, reads),
            rest: Rest::Stated,
            rhythm: whole::rhythm(rover, reads),
            ..nothing(heard.format.clone())
        },
        _ => from_tables(heard),
    };
    learned.doubts = doubt::all(&learned, &heard.loose);
    learned
}

fn nothing(format: Format) -> Learned {
    Learned {
        format,
        presses: Vec::new(),
        rest: Rest::Unknown,
        kinds: Vec::new(),
        duty: None,
        rhythm: Rhythm::OnChange(1),
        counts: None,
        lines: Vec::new(),
        doubts: Vec::new(),
    }
}

/// Of the two ways to take text apart, the one that tells more moves apart.
fn from_tables(heard: &Heard) -> Learned {
    let (fine, coarse) = (moves::table(&heard.bodies), moves::table(&heard.coarse));
    let learned = match (fine, coarse) {
        (Some(fine), Some(coarse)) if coarse.beats(&fine) || (fine.is_torn(&heard.bodies) && !fine.beats(&coarse)) => {
            from_table(heard, &heard.coarse, coarse)
        }
        (Some(fine), _) => from_table(heard, &heard.bodies, fine),
        (None, Some(coarse)) => from_table(heard, &heard.coarse, coarse),
        (None, None) => nothing(heard.format.clone()),
    };
    let lines = heard.bodies.iter().filter_map(|body| Some((body.step?, body.words())));
    Learned { lines: without_repeats(lines), ..learned }
}

/// Where everything stands in the bodies.
struct Places<'b> {
    bodies: &'b [Body],
    table: Table<'b>,
    rest_frame: Option<OwnFrame>,
    /// The column that goes to 0 where nothing else stops the wheels.
    zero: Option<usize>,
    duty: Option<Place<'b>>,
}

fn from_table<'b>(heard: &Heard, bodies: &'b [Body], mut table: Table<'b>) -> Learned {
    if table.rest.is_none() {
        table.rest = rest::at_stop(bodies, &table);
    }
    let without = table.rest.is_none();
    let rest_frame = rest::own_frame(bodies, &table).filter(|_| without);
    let zero = rest::by_zero(bodies, &table).filter(|_| without && rest_frame.is_none());
    let duty = duty::place(bodies, &table);
    let places = Places { bodies, table, rest_frame, zero, duty };
    let kinds = places.kinds();
    Learned {
        presses: places.presses(),
        rest: places.rest(),
        duty: places.duty(),
        rhythm: rhythm::of(bodies, &places.table),
        counts: places.counts(),
        kinds,
        ..nothing(heard.format.clone())
    }
}

impl<'b> Places<'b> {
    /// The bodies of the move table's frames.
    fn own(&self) -> Vec<&'b Body> {
        self.bodies.iter().filter(|body| self.table.owns(body)).collect()
    }

    fn is_rest(&self, body: &Body) -> bool {
        let code = self.table.code_of(body).filter(|_| self.table.rest.is_some());
        let zero = self.zero.and_then(|zero| body.cells.get(zero)).filter(|_| self.table.owns(body));
        self.rest_frame.as_ref().is_some_and(|frame| frame.is(body))
            || (code.is_some() && code == self.table.rest)
            || zero.is_some_and(|cell| cell.number() == Some(0))
    }

    fn rest(&self) -> Rest {
        let code = self.table.rest.clone().or_else(|| self.rest_frame.as_ref().map(OwnFrame::code));
        match (code, self.zero) {
            (Some(code), _) => Rest::Code(code),
            (None, Some(_)) => Rest::ByZero,
            (None, None) => Rest::Unknown,
        }
    }

    fn presses(&self) -> Vec<Press> {
        let press = |(motion, codes): &(Motion, Vec<String>)| {
            let step = Some(Step::Move(*motion));
            let during: Vec<&Body> = self.bodies.iter().filter(|body| body.step == step).collect();
            let moving = during.iter().rposition(|body| self.table.owns(body) && !self.is_rest(body));
            let rest = during.iter().skip(moving.map_or(0, |place| place + 1)).find(|body| self.is_rest(body));
            Press {
                motion: *motion,
                frames: during.len(),
                says: codes.first().cloned(),
                several: codes.iter().skip(1).cloned().collect(),
                rested: rest.filter(|_| moving.is_some()).map(|body| body.at),
            }
        };
        self.table.heard.iter().map(press).collect()
    }

    /// Column of the duty in the frames of the moves, and whether it has two bytes.
    fn duty_with_move(&self) -> Option<(usize, Option<bool>)> {
        let place = self.duty.as_ref().filter(|place| place.with_move).map(|place| (place.column, place.wide));
        place.or(self.zero.filter(|_| self.duty.is_none()).map(|zero| (zero, None)))
    }

    fn duty_bodies(&self) -> Vec<&'b Body> {
        match &self.duty {
            Some(place) if !place.with_move => place.group.of(self.bodies).collect(),
            Some(_) => self.own(),
            None if self.zero.is_some() => self.own(),
            None => Vec::new(),
        }
    }

    fn duty(&self) -> Option<Duty> {
        let apart = self.duty.as_ref().is_some_and(|place| !place.with_move);
        let (column, wide) = self.duty_with_move().or(self.duty.as_ref().map(|place| (place.column, place.wide)))?;
        let (low, full) = span(&numbers(&self.duty_bodies(), column, wide))?;
        let low = self.duty.as_ref().map_or(low, |place| place.ends.0);
        Some(Duty { full, low, persists: apart })
    }

    fn counts(&self) -> Option<i64> {
        let all = self.own();
        let mut columns = self.table.group.columns().filter(|place| *place != self.table.column);
        match columns.find_map(|place| counting(&column(&all, place))) {
            Some(Counting::Of(counts)) => Some(counts),
            Some(Counting::On) | None => None,
        }
    }

    fn kinds(&self) -> Vec<Kind> {
        let mut kinds = vec![self.table_kind()];
        kinds.extend(self.rest_kind());
        kinds.extend(self.duty_kind());
        let duty = self.duty.as_ref().filter(|place| !place.with_move);
        let taken = |body: &&Body| {
            self.table.owns(body) || self.is_rest(body) || duty.is_some_and(|place| place.group.has(body))
        };
        let left: Vec<&Body> = self.bodies.iter().filter(|body| !taken(body)).collect();
        kinds.extend(other_parts::kinds(&left));
        distinct_names(&mut kinds);
        kinds
    }

    fn table_kind(&self) -> Kind {
        let own = self.own();
        let mut sequence = false;
        let duty = self.duty_with_move();
        let mut columns = Vec::new();
        for (place, cell) in self.table.group.sample.cells.iter().enumerate() {
            let cells = column(&own, place);
            let counts = cell.is_value() && counting(&cells).is_some();
            columns.extend(match duty {
                _ if place == self.table.column => Some(field("move", Means::Move, shape(&cells, false))),
                Some((column, wide)) if column == place => Some(duty_field(&own, place, wide)),
                Some((column, Some(_))) if column + 1 == place => None,
                _ if counts && !sequence => {
                    sequence = true;
                    Some(field("seq", Means::Sequence, shape(&cells, false)))
                }
                _ => Some(plain(&cells, cell, place)),
            });
        }
        Kind { name: "move".to_owned(), order: true, columns, suffix: self.table.group.sample.suffix.clone() }
    }

    fn rest_kind(&self) -> Option<Kind> {
        let frame = self.rest_frame.as_ref()?;
        let columns = frame.sample.cells.iter().enumerate().map(|(place, cell)| {
            if place == frame.column {
                field("move", Means::Move, shape(&[cell], false))
            } else {
                Column::Fixed(cell.clone())
            }
        });
        let columns = columns.collect();
        Some(Kind { name: "rest".to_owned(), order: true, columns, suffix: frame.sample.suffix.clone() })
    }

    fn duty_kind(&self) -> Option<Kind> {
        let place = self.duty.as_ref().filter(|place| !place.with_move)?;
        let bodies = self.duty_bodies();
        let cells = place.group.sample.cells.iter().enumerate();
        let columns = cells.filter_map(|(at, cell)| match place.wide {
            _ if at == place.column => Some(duty_field(&bodies, at, place.wide)),
            Some(_) if at == place.column + 1 => None,
            _ => Some(plain(&column(&bodies, at), cell, at)),
        });
        let columns = columns.collect();
        Some(Kind { name: "duty".to_owned(), order: true, columns, suffix: place.group.sample.suffix.clone() })
    }
}

fn numbers(bodies: &[&Body], at: usize, wide: Option<bool>) -> Vec<i64> {
    let number = |body: &&Body| match wide {
        Some(big_endian) => duty::wide(body, at, big_endian),
        None => body.cells.get(at)?.number(),
    };
    bodies.iter().filter_map(number).collect()
}

fn field(name: &str, means: Means, shape: Shape) -> Column {
    Column::Field { name: name.to_owned(), means, shape }
}

fn duty_field(bodies: &[&Body], at: usize, wide: Option<bool>) -> Column {
    let shape = match wide {
        Some(big_endian) => Shape::Wide { big_endian, range: span(&numbers(bodies, at, wide)).unwrap_or_default() },
        None => shape(&column(bodies, at), true),
    };
    field("duty", Means::Duty, shape)
}

/// A column without a known meaning: as it is where it never changed.
fn plain(cells: &[&Cell], cell: &Cell, place: usize) -> Column {
    if is_constant(cells) {
        return Column::Fixed(cell.clone());
    }
    field(&format!("value_{place}"), Means::Nothing, shape(cells, false))
}

fn distinct_names(kinds: &mut [Kind]) {
    let mut used: Vec<String> = Vec::new();
    for kind in kinds {
        let base = kind.name.clone();
        let mut number = 2;
        while used.contains(&kind.name) {
            kind.name = format!("{base} {number}");
            number += 1;
        }
        used.push(kind.name.clone());
    }
}

impl Learned {
    /// What a press said, where something was heard.
    pub fn press(&self, motion: Motion) -> Option<&Press> {
        self.presses.iter().find(|press| press.motion == motion)
    }

    /// Whether a rover file can be written: one move at least is known.
    pub fn is_usable(&self) -> bool {
        self.presses.iter().any(|press| press.says.is_some())
    }

    /// Whether nothing stops the wheels so far.
    pub fn lacks_rest(&self) -> bool {
        self.rest == Rest::Unknown
    }
}
