//! The move table in the drive board, and the ways it may be wrong: two rows exchanged, or one sign.

use crate::rover::meaning::MoveRow;
use crate::rover::mecanum::{Motion, Signs};
use crate::rover::wheels::Wheel;

/// Rows beyond this many are not used in a diagnosis.
pub const MOST_ROWS: usize = 40;

/// The rows a test can ask for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moves {
    codes: Vec<String>,
    names: Vec<String>,
    signs: Vec<Signs>,
}

impl Default for Moves {
    /// The eleven motions of a mecanum rover, rest included.
    fn default() -> Self {
        let ids = Motion::ALL.map(|motion| motion.id().to_owned()).to_vec();
        Self { codes: ids.clone(), names: ids, signs: Motion::ALL.map(Motion::signs).to_vec() }
    }
}

impl Moves {
    /// The rows of a rover file; the eleven motions when there are none. At most [`MOST_ROWS`] are taken.
    pub fn new(rows: &[MoveRow]) -> Self {
        if rows.is_empty() {
            return Self::default();
        }
        let rows = rows.iter().take(MOST_ROWS);
        Self {
            codes: rows.clone().map(|row| row.code.clone()).collect(),
            names: rows.clone().map(|row| row.name.clone()).collect(),
            signs: rows.map(|row| row.signs).collect(),
        }
    }

    /// How many rows.
    pub fn count(&self) -> usize {
        self.signs.len()
    }

    /// What a right table tells the wheels; all zero for a row that is not there.
    pub fn signs(&self, row: usize) -> Signs {
        self.signs.get(row).copied().unwrap_or_default()
    }

    /// The row's name in the person's words.
    pub fn name(&self, row: usize) -> &str {
        self.names.get(row).map_or("", String::as_str)
    }

    /// The row's code on the wire; the motion's word where there is no table.
    pub fn code(&self, row: usize) -> &str {
        self.codes.get(row).map_or("", String::as_str)
    }

    /// The row with this code, else the one with this name.
    pub fn row_named(&self, word: &str) -> Option<usize> {
        let by = |all: &[String]| all.iter().position(|known| known == word);
        by(&self.codes).or_else(|| by(&self.names))
    }

    /// The first row with these signs.
    pub fn row_with(&self, signs: Signs) -> Option<usize> {
        self.signs.iter().position(|row| *row == signs)
    }

    /// The row that rests all wheels.
    pub fn rest(&self) -> Option<usize> {
        self.row_with([0; 4])
    }

    /// What a table with this fault tells the wheels.
    pub fn told(&self, row: usize, fault: TableFault) -> Signs {
        match fault {
            TableFault::Exchanged(a, b) if row == a => self.signs(b),
            TableFault::Exchanged(a, b) if row == b => self.signs(a),
            TableFault::WrongSign(at, wheel) if row == at => {
                let mut signs = self.signs(row);
                signs[wheel.index()] = -signs[wheel.index()];
                signs
            }
            _ => self.signs(row),
        }
    }

    /// Every way the table may be: right first, then each pair of rows exchanged, then each wrong sign.
    pub fn faults(&self) -> Vec<TableFault> {
        let rows = 0..self.count();
        let pairs = rows.clone().flat_map(|a| (a + 1..self.count()).map(move |b| TableFault::Exchanged(a, b)));
        let turned = |row| Wheel::ALL.into_iter().filter(move |wheel| self.signs(row)[wheel.index()] != 0);
        let signs = rows.flat_map(|row| turned(row).map(move |wheel| TableFault::WrongSign(row, wheel)));
        std::iter::once(TableFault::None).chain(pairs).chain(signs).collect()
    }
}

/// One way in which the move table may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TableFault {
    /// Right.
    None,
    /// Two rows stand in each other's place.
    Exchanged(usize, usize),
    /// One wheel's sign in one row is turned.
    WrongSign(usize, Wheel),
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 11 rows make 55 pairs; six rows of four signs and four rows of two make 32.
    #[test]
    fn eighty_eight_ways() {
        let moves = Moves::default();
        let faults = moves.faults();
        let pairs = faults.iter().filter(|fault| matches!(fault, TableFault::Exchanged(..))).count();
        assert_eq!((faults.len(), pairs, faults[0]), (88, 55, TableFault::None));
        assert_eq!(moves.told(0, TableFault::Exchanged(0, 1)), [-1; 4]);
        assert_eq!(moves.told(0, TableFault::WrongSign(0, Wheel::RL)), [1, 1, -1, 1]);
        assert_eq!(moves.told(2, TableFault::WrongSign(0, Wheel::RL)), moves.signs(2));
    }
}
