//! What a session owes while its disk refuses it: remarks, port events, and counts of bytes that could not be kept, each
//! in its place.

use std::collections::VecDeque;

use wheeltap_parsers::Wire;

use super::line::Line;

/// Lines kept back; beyond this the oldest goes. Of lost bytes the count never goes.
const LINES_AT_MOST: usize = 1_000;

/// The list.
#[derive(Debug, Default)]
pub(super) struct Owed {
    waiting: VecDeque<Due>,
    lines: usize,
}

/// One thing owed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Due {
    /// A whole line, and its time where that counts for the order, microseconds.
    Line { text: Vec<u8>, t_us: Option<i64> },
    /// Bytes that were not kept.
    Lost {
        wire: Wire,
        /// When the first of them may have come, microseconds.
        t_us: i64,
        count: u64,
    },
}

impl Owed {
    pub(super) fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }

    /// Owes a line.
    pub(super) fn line(&mut self, line: &Line<'_>) {
        let mut text = Vec::new();
        line.write(&mut text);
        if self.lines == LINES_AT_MOST {
            self.drop_oldest();
        }
        self.lines += 1;
        self.waiting.push_back(Due::Line { text, t_us: line.ordered_us() });
    }

    /// Owes the count of bytes that were not kept. It is added to one that stands at the end, so that a full disk costs two
    /// counts and not a million.
    pub(super) fn lost(&mut self, wire: Wire, t_us: i64, count: u64) {
        let counts = self.waiting.iter_mut().rev().take_while(|due| matches!(due, Due::Lost { .. }));
        if !add(counts, wire, count) {
            self.waiting.push_back(Due::Lost { wire, t_us, count });
        }
    }

    /// The oldest.
    pub(super) fn next(&mut self) -> Option<Due> {
        let due = self.waiting.pop_front()?;
        self.lines -= usize::from(matches!(due, Due::Line { .. }));
        Some(due)
    }

    /// Puts back what [`Owed::next`] gave.
    pub(super) fn put_back(&mut self, due: Due) {
        self.lines += usize::from(matches!(due, Due::Line { .. }));
        self.waiting.push_front(due);
    }

    /// Drops the oldest line. The counts after it join those before it, which are older.
    fn drop_oldest(&mut self) {
        let Some(place) = self.waiting.iter().position(|due| matches!(due, Due::Line { .. })) else { return };
        self.waiting.remove(place);
        self.lines -= 1;
        while let Some(Due::Lost { wire, count, .. }) = self.waiting.get(place).cloned() {
            if !add(self.waiting.iter_mut().take(place), wire, count) {
                break;
            }
            self.waiting.remove(place);
        }
    }
}

/// Adds to the count of this wire; false where none stands there.
fn add<'d>(counts: impl Iterator<Item = &'d mut Due>, wire: Wire, more: u64) -> bool {
    for due in counts {
        if let Due::Lost { wire: of, count, .. } = due
            && *of == wire
        {
            *count += more;
            return true;
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    const TO: Wire = Wire::ToDrive;
    const FROM: Wire = Wire::FromDrive;

    fn note(owed: &mut Owed, text: &str) {
        owed.line(&Line::Note { t_us: 0, text: text.into() });
    }

    #[test]
    fn a_loss_stands_where_it_began_and_once_a_wire() {
        let mut owed = Owed::default();
        for (wire, t_us) in [(TO, 3), (FROM, 4), (TO, 5), (FROM, 6)] {
            owed.lost(wire, t_us, 10);
        }
        owed.line(&Line::Back { t_us: 7, wire: TO });
        owed.lost(TO, 8, 1);
        let all: Vec<Due> = std::iter::from_fn(|| owed.next()).collect();
        let mut back = Vec::new();
        Line::Back { t_us: 7, wire: TO }.write(&mut back);
        let expected = [
            Due::Lost { wire: TO, t_us: 3, count: 20 },
            Due::Lost { wire: FROM, t_us: 4, count: 20 },
            Due::Line { text: back, t_us: Some(7) },
            Due::Lost { wire: TO, t_us: 8, count: 1 },
        ];
        assert_eq!(all, expected);
    }

    #[test]
    fn however_many_lines_there_are_no_count_goes() {
        let mut owed = Owed::default();
        for n in 0..3 * LINES_AT_MOST as i64 {
            owed.lost(TO, n, 1);
            owed.lost(FROM, n, 2);
            note(&mut owed, "a remark");
        }
        assert!(owed.waiting.len() <= 3 * LINES_AT_MOST + 2, "{}", owed.waiting.len());
        let mut lost = [0; 2];
        let mut lines = 0;
        while let Some(due) = owed.next() {
            match due {
                Due::Lost { wire, count, .. } => lost[wire.index()] += count,
                Due::Line { .. } => lines += 1,
            }
        }
        assert_eq!((lost, lines), ([3 * LINES_AT_MOST as u64, 6 * LINES_AT_MOST as u64], LINES_AT_MOST));
    }
}
