//! Bodies: what was heard, frame by frame, with its marks and its check taken off.

use wheeltap_parsers::Nanos;

use super::cell::Cell;
use super::step::Step;

/// What one read returned, and during which step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// When the read returned.
    pub at: Nanos,
    /// The step; `None` for what was taken back or came between steps.
    pub step: Option<Step>,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// One frame's body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Body {
    /// When its last byte had come.
    pub at: Nanos,
    /// During which step.
    pub step: Option<Step>,
    /// Its cells.
    pub cells: Vec<Cell>,
    /// What stands behind them in the layout: the check and what follows it.
    pub suffix: String,
}

impl Body {
    /// Whether both have the same sorts of cells, so that a column means the same in both.
    pub fn like(&self, other: &Self) -> bool {
        self.suffix == other.suffix
            && self.cells.len() == other.cells.len()
            && self.cells.iter().zip(&other.cells).all(|(a, b)| a.like(b))
    }

    /// The first cell where it can name what the frame is about.
    pub fn key(&self) -> Option<&Cell> {
        self.cells.first().filter(|cell| cell.is_name())
    }

    /// As it stood, for a person.
    pub fn words(&self) -> String {
        let piece = |cell: &Cell| match cell {
            Cell::Word(text) | Cell::Number(text) | Cell::Mark(text) => text.clone(),
            Cell::Byte(byte) => format!("{byte:02X} "),
        };
        self.cells.iter().map(piece).collect::<String>().trim_end().to_owned()
    }
}

/// Bodies in which a column means the same: one shape and, where `key` is set, one first cell.
#[derive(Clone, Debug)]
pub struct Group<'b> {
    /// A body of the group.
    pub sample: &'b Body,
    /// The first cell they share.
    pub key: Option<&'b Cell>,
}

impl<'b> Group<'b> {
    /// Whether `body` belongs here.
    pub fn has(&self, body: &Body) -> bool {
        self.sample.like(body) && self.key.is_none_or(|key| body.key() == Some(key))
    }

    /// The bodies that belong here.
    pub fn of(&self, bodies: &'b [Body]) -> impl Iterator<Item = &'b Body> {
        bodies.iter().filter(|body| self.has(body))
    }

    /// The columns that can carry a meaning.
    pub fn columns(&self) -> impl Iterator<Item = usize> {
        let cells = self.sample.cells.iter().enumerate();
        cells.filter(|(_, cell)| cell.is_value()).map(|(place, _)| place)
    }
}

/// A first cell with more values than this names nothing: it counts, or it is a code.
const MOST_KEYS: usize = 16;

/// Every group of these bodies: by shape alone, and by shape and first cell.
pub fn groups(bodies: &[Body]) -> Vec<Group<'_>> {
    let mut shapes: Vec<(&Body, Vec<&Body>)> = Vec::new();
    for body in bodies {
        match shapes.iter_mut().find(|(sample, _)| sample.like(body)) {
            Some((_, keys)) if keys.len() > MOST_KEYS || keys.iter().any(|known| known.key() == body.key()) => {}
            Some((_, keys)) => keys.push(body),
            None => shapes.push((body, vec![body])),
        }
    }
    shapes.into_iter().flat_map(|(sample, keys)| with_keys(sample, &keys)).collect()
}

fn with_keys<'b>(sample: &'b Body, keys: &[&'b Body]) -> Vec<Group<'b>> {
    let keyed = keys.iter().copied().filter(|body| body.key().is_some() && keys.len() <= MOST_KEYS);
    let keyed = keyed.map(|body| Group { sample: body, key: body.key() });
    std::iter::once(Group { sample, key: None }).chain(keyed).collect()
}

/// A list with runs of equal items taken as one.
pub fn without_repeats<T: PartialEq>(items: impl Iterator<Item = T>) -> Vec<T> {
    let mut list: Vec<T> = items.collect();
    list.dedup();
    list
}
