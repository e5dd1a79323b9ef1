//! Kinds of frames as learned: which cells stand for themselves and which are fields.

use super::body::Body;
use super::cell::Cell;
use crate::rover::meaning::Means;

/// One kind of frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kind {
    /// Its name in the rover file.
    pub name: String,
    /// Whether wheels move for it.
    pub order: bool,
    /// Its columns from first to last.
    pub columns: Vec<Column>,
    /// The check and what follows it.
    pub suffix: String,
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Column {
    /// Stands on the wire as it is.
    Fixed(Cell),
    /// A field.
    Field {
        /// Its name in the rover file.
        name: String,
        /// What it means.
        means: Means,
        /// How it stands on the wire.
        shape: Shape,
    },
}

/// How a field stands on the wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A word.
    Word,
    /// Decimal digits.
    Decimal {
        /// Exactly so many, where zeros lead.
        digits: Option<usize>,
        /// `never`, `may` or `always`.
        sign: &'static str,
        /// Smallest and largest heard; `None` leaves the range open.
        range: Option<(i64, i64)>,
    },
    /// One byte.
    Byte {
        /// Smallest and largest heard; `None` leaves the range open.
        range: Option<(i64, i64)>,
    },
    /// Two bytes.
    Wide {
        /// The most significant byte stands first.
        big_endian: bool,
        /// Smallest and largest heard.
        range: (i64, i64),
    },
}

/// The shape of a column with these values. `bounded`: the range heard is the range allowed.
pub fn shape(cells: &[&Cell], bounded: bool) -> Shape {
    let numbers: Vec<i64> = cells.iter().filter_map(|cell| cell.number()).collect();
    let range = span(&numbers).filter(|_| bounded);
    match cells.first() {
        Some(Cell::Byte(_)) => Shape::Byte { range },
        Some(Cell::Number(_)) => {
            let texts: Vec<&str> = cells.iter().filter_map(|cell| text(cell)).collect();
            Shape::Decimal { digits: digits(&texts), sign: sign(&texts), range }
        }
        _ => Shape::Word,
    }
}

/// Smallest and largest.
pub fn span(numbers: &[i64]) -> Option<(i64, i64)> {
    Some((*numbers.iter().min()?, *numbers.iter().max()?))
}

fn text(cell: &Cell) -> Option<&str> {
    match cell {
        Cell::Number(text) => Some(text),
        _ => None,
    }
}

/// The count of digits where it is always the same and a zero leads at least once.
fn digits(texts: &[&str]) -> Option<usize> {
    let bare = |text: &&str| text.trim_start_matches(['+', '-']).to_owned();
    let lengths: Vec<usize> = texts.iter().map(|text| bare(text).len()).collect();
    let first = *lengths.first()?;
    let padded = texts.iter().map(bare).any(|text| text.len() > 1 && text.starts_with('0'));
    (padded && lengths.iter().all(|len| *len == first)).then_some(first)
}

fn sign(texts: &[&str]) -> &'static str {
    if texts.iter().any(|text| text.starts_with('+')) {
        "always"
    } else if texts.iter().any(|text| text.starts_with('-')) {
        "may"
    } else {
        "never"
    }
}

/// Cells of one column.
pub fn column<'b>(bodies: &[&'b Body], place: usize) -> Vec<&'b Cell> {
    bodies.iter().filter_map(|body| body.cells.get(place)).collect()
}

/// Whether all are the same.
pub fn is_constant(cells: &[&Cell]) -> bool {
    cells.windows(2).all(|pair| pair.first() == pair.get(1))
}

/// A column that counts one on with each frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counting {
    /// It has not begun again yet.
    On,
    /// It begins again after so many.
    Of(i64),
}

/// Whether a column counts.
pub fn counting(cells: &[&Cell]) -> Option<Counting> {
    let numbers: Vec<i64> = cells.iter().filter_map(|cell| cell.number()).collect();
    let pairs = || numbers.iter().zip(numbers.iter().skip(1));
    let on = pairs().filter(|(a, b)| **b == **a + 1).count();
    let wraps: Vec<i64> = pairs().filter(|(a, b)| **b == 0 && **a > 1).map(|(a, _)| a + 1).collect();
    let counts = numbers.len() >= 4 && (on + wraps.len()) * 10 >= pairs().count() * 9;
    counts.then(|| wraps.iter().max().map_or(Counting::On, |counts| Counting::Of(*counts)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_counter_is_told_from_a_code() {
        let count = |numbers: &[u8]| {
            let cells: Vec<Cell> = numbers.iter().map(|number| Cell::Byte(*number)).collect();
            counting(&cells.iter().collect::<Vec<_>>())
        };
        assert_eq!(count(&[4, 5, 6, 7, 8]), Some(Counting::On));
        assert_eq!(count(&[221, 222, 223, 0, 1]), Some(Counting::Of(224)));
        assert_eq!(count(&[1, 0, 1, 0, 1]), None);
        assert_eq!(count(&[7, 7, 7, 7, 7]), None);
    }

    #[test]
    fn digits_are_fixed_only_where_a_zero_leads() {
        let of = |texts: &[&str]| {
            let cells: Vec<Cell> = texts.iter().map(|text| Cell::Number((*text).to_owned())).collect();
            shape(&cells.iter().collect::<Vec<_>>(), true)
        };
        let decimal = |digits, sign, range| Shape::Decimal { digits, sign, range: Some(range) };
        assert_eq!(of(&["007", "120"]), decimal(Some(3), "never", (7, 120)));
        assert_eq!(of(&["+065", "-065"]), decimal(Some(3), "always", (-65, 65)));
        assert_eq!(of(&["120", "255"]), decimal(None, "never", (120, 255)));
        assert_eq!(of(&["0", "-5"]), decimal(None, "may", (-5, 0)));
    }
}
