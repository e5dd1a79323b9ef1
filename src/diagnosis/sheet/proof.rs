//! Which rows of the move table a sheet proves, and in which rows two sheets differ.

use super::{Remark, Seen, Sheet};
use crate::diagnosis::action::Exchanges;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::DutyLevel;

/// What is known of one row of the move table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// The rover file says so; nobody has seen it.
    Claimed,
    /// Every wheel was seen to turn as the row says.
    Proven([Seen; 4]),
    /// Some wheels were looked at, each as the row says.
    Partly([Seen; 4]),
    /// A wheel was seen to turn otherwise.
    Otherwise([Seen; 4]),
}

impl Proof {
    /// In one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Claimed => "claimed",
            Self::Proven(_) => "proven",
            Self::Partly(_) => "partly proven",
            Self::Otherwise(_) => "seen otherwise",
        }
    }

    /// How the wheels were seen, where they were.
    pub const fn seen(self) -> Option<[Seen; 4]> {
        match self {
            Self::Claimed => None,
            Self::Proven(seen) | Self::Partly(seen) | Self::Otherwise(seen) => Some(seen),
        }
    }
}

/// One row as it was last seen at one duty, nothing exchanged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeenRow {
    /// The row's code on the wire.
    pub code: String,
    /// The duty.
    pub duty: DutyLevel,
    /// The wheels.
    pub seen: [Seen; 4],
}

/// A row that two sheets do not agree on, or that only one of them has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The row's code on the wire.
    pub code: String,
    /// The duty.
    pub duty: DutyLevel,
    /// How one sheet has it; `None` where it was not seen.
    pub one: Option<[Seen; 4]>,
    /// How the other has it.
    pub other: Option<[Seen; 4]>,
}

impl Sheet {
    /// What this sheet knows of a row: its last look at it on the stand with nothing exchanged.
    pub fn proof(&self, row: usize, moves: &Moves) -> Proof {
        let looks = self.looks().filter(|(at, ..)| *at == row);
        let Some((_, _, seen)) = looks.last() else { return Proof::Claimed };
        let should = moves.signs(row);
        let pairs = || seen.iter().zip(should);
        if pairs().any(|(seen, should)| seen.turn().is_some_and(|turn| turn != should)) {
            Proof::Otherwise(seen)
        } else if seen.contains(&Seen::NotLooked) {
            Proof::Partly(seen)
        } else {
            Proof::Proven(seen)
        }
    }

    /// Each row at each duty, as last seen with nothing exchanged; in the order of the table, low duty first.
    pub fn seen_rows(&self, moves: &Moves) -> Vec<SeenRow> {
        let last =
            |row: usize, duty: DutyLevel| self.looks().filter(|(at, level, _)| (*at, *level) == (row, duty)).last();
        let places = (0..moves.count()).flat_map(|row| DutyLevel::ALL.map(|duty| (row, duty)));
        let found = places.filter_map(|(row, duty)| last(row, duty));
        found.map(|(row, duty, seen)| SeenRow { code: moves.code(row).to_owned(), duty, seen }).collect()
    }

    /// Every look at a row on the stand while nothing was exchanged.
    fn looks(&self) -> impl Iterator<Item = (usize, DutyLevel, [Seen; 4])> + '_ {
        let mut now = Exchanges::default();
        self.said.iter().filter_map(move |entry| match entry.remark {
            Remark::Exchange(action) => {
                now = now.then(action);
                None
            }
            Remark::Wheels(Order::Row(row), duty, seen) if now.is_none() => Some((row, duty, seen)),
            _ => None,
        })
    }
}

/// The rows in which two sheets differ: a wheel that was looked at in both turned otherwise, or one sheet lacks the row.
pub fn differing(one: &[SeenRow], other: &[SeenRow]) -> Vec<Difference> {
    let of = |rows: &[SeenRow], like: &SeenRow| {
        rows.iter().find(|row| (&row.code, row.duty) == (&like.code, like.duty)).map(|row| row.seen)
    };
    let lacks = other.iter().filter(|row| of(one, row).is_none());
    let all = one.iter().chain(lacks).map(|row| Difference {
        code: row.code.clone(),
        duty: row.duty,
        one: of(one, row),
        other: of(other, row),
    });
    all.filter(|row| !agree(row)).collect()
}

fn agree(row: &Difference) -> bool {
    let (Some(one), Some(other)) = (row.one, row.other) else { return false };
    let both = one.iter().zip(other).filter_map(|(a, b)| a.turn().zip(b.turn()));
    both.into_iter().all(|(a, b)| a == b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::action::Action;
    use crate::diagnosis::sheet::{Entry, Remark};
    use crate::rover::wheels::Wheel;
    use Seen::{Backward, Forward, Hums, NotLooked, Still};

    fn sheet(all: Vec<Remark>) -> Sheet {
        let said = all.into_iter().zip(1..).map(|(remark, at)| Entry { at, remark }).collect();
        Sheet { said, ..Sheet::default() }
    }

    fn look(row: usize, seen: [Seen; 4]) -> Remark {
        Remark::Wheels(Order::Row(row), DutyLevel::High, seen)
    }

    #[test]
    fn a_row_is_proven_by_its_last_look_with_nothing_exchanged() {
        let moves = Moves::default();
        let made = sheet(vec![
            look(0, [Forward, Forward, Forward, Backward]),
            look(0, [Forward; 4]),
            look(1, [Backward, Backward, NotLooked, Backward]),
            look(2, [Backward, Forward, Forward, Forward]),
            Remark::Exchange(Action::Leads(Wheel::RR)),
            look(2, [Backward, Forward, Forward, Backward]),
        ]);
        let words: Vec<&str> = (0..4).map(|row| made.proof(row, &moves).word()).collect();
        assert_eq!(words, ["proven", "partly proven", "seen otherwise", "claimed"]);
    }

    #[test]
    fn two_sheets_differ_in_the_wheel_that_was_turned_twice() {
        let moves = Moves::default();
        let before = sheet(vec![look(0, [Forward; 4]), look(10, [Still; 4])]).seen_rows(&moves);
        let after =
            sheet(vec![look(0, [Forward, Backward, Forward, NotLooked]), look(10, [Hums; 4]), look(1, [Backward; 4])]);
        let found = differing(&before, &after.seen_rows(&moves));
        let codes: Vec<&str> = found.iter().map(|row| row.code.as_str()).collect();
        assert_eq!(codes, ["forward", "backward"], "a hum is still; the row that one lacks is named");
        assert_eq!(found[1].one, None);
    }
}
