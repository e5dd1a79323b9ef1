//! Orders and their answers across two wires: how long each answer took, which never came, how many orders waited.
//!
//! A delay is an interval, for both ends are. Where both wires' reads overlap, the answer can be dated before its order;
//! it is kept for a moment and matched when the order comes.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

/// An order that waits for its answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sent {
    /// Its number.
    pub number: i64,
    /// When its last byte was complete.
    pub at: Interval,
    /// Place of its first byte on the wire to the drive board.
    pub offset: u64,
    /// Something on the wire back was damaged since: that may have been the answer.
    hit: bool,
}

/// An answer that came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reply {
    /// From the order's last byte to the answer's last byte, nanoseconds.
    pub delay: Interval,
    /// So many later orders were certainly on the wire before it and still waited.
    pub behind: u32,
}

/// An order without an answer after this is not answered any more, nanoseconds. It is above the second that a reader
/// waits which looks for an end mark, and above any queue of a receive buffer.
pub const GIVEN_UP: Nanos = 2_000_000_000;
/// An answer dated before its order is kept so long, nanoseconds: the widest timer of an adapter and some.
const EARLY: Nanos = 300_000_000;
/// The most orders that wait; older ones are not judged.
const MOST: usize = 1024;
/// The most answers kept for an order to come.
const MOST_EARLY: usize = 64;

/// Matches answers to orders by their number.
#[derive(Clone, Debug, Default)]
pub struct Answers {
    waiting: VecDeque<Sent>,
    early: VecDeque<(i64, Interval)>,
    not_judged: u64,
    /// Bytes of the wire back were lost, and nothing was heard on it since.
    lost: bool,
}

impl Answers {
    /// An order went out. Its answer, where that has been heard already.
    pub fn sent(&mut self, number: i64, at: Interval, offset: u64) -> Option<Reply> {
        self.early.retain(|(_, came)| came.hi + EARLY > at.lo);
        if let Some(place) = self.early.iter().position(|(known, came)| *known == number && came.hi >= at.lo) {
            let (_, came) = self.early.remove(place)?;
            return Some(Reply { delay: delay(at, came), behind: 0 });
        }
        if self.waiting.len() == MOST {
            self.waiting.pop_front();
            self.not_judged += 1;
        }
        self.waiting.push_back(Sent { number, at, offset, hit: self.lost });
        None
    }

    /// An answer came.
    pub fn answered(&mut self, number: i64, at: Interval) -> Option<Reply> {
        let place = self.waiting.iter().position(|sent| sent.number == number && at.hi >= sent.at.lo);
        let Some(sent) = place.and_then(|place| self.waiting.remove(place)) else {
            if self.early.len() == MOST_EARLY {
                self.early.pop_front();
            }
            self.early.push_back((number, at));
            return None;
        };
        let later = self.waiting.iter().skip(place.unwrap_or(0)).take_while(|other| other.at.hi < at.lo);
        Some(Reply { delay: delay(sent.at, at), behind: later.count() as u32 })
    }

    /// When the oldest order is given up.
    pub fn given_up_at(&self) -> Option<Nanos> {
        self.waiting.front().map(|sent| sent.at.hi + GIVEN_UP)
    }

    /// Gives the oldest order up; it, unless its answer may have been damaged.
    pub fn give_up(&mut self) -> Option<Sent> {
        let sent = self.waiting.pop_front()?;
        self.not_judged += u64::from(sent.hit);
        (!sent.hit).then_some(sent)
    }

    /// Something on the wire back was damaged: it may have been any answer that is due.
    pub fn hit(&mut self) {
        self.waiting.iter_mut().for_each(|sent| sent.hit = true);
    }

    /// Whether something was heard on the wire back since bytes of it were lost: until then the answer to any order may have
    /// been among those.
    pub const fn heard(&mut self, heard: bool) {
        self.lost = !heard;
    }

    /// Nobody listened, or a board began anew: what waits is not judged.
    pub fn forget(&mut self) {
        self.not_judged += self.waiting.len() as u64;
        self.waiting.clear();
        self.early.clear();
    }

    /// Orders of which nobody can say whether they were answered.
    pub const fn not_judged(&self) -> u64 {
        self.not_judged
    }
}

/// From an order to its answer: never below nothing.
fn delay(sent: Interval, came: Interval) -> Interval {
    let delay = came.since(sent);
    Interval::new(delay.lo.max(0), delay.hi.max(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    fn at(lo: i64, hi: i64) -> Interval {
        Interval::new(lo * MS, hi * MS)
    }

    #[test]
    fn a_delay_is_an_interval() {
        let mut answers = Answers::default();
        assert_eq!(answers.sent(7, at(0, 10), 0), None);
        assert_eq!(answers.sent(8, at(20, 21), 9), None);
        let reply = answers.answered(7, at(25, 30));
        assert_eq!(reply, Some(Reply { delay: at(15, 30), behind: 1 }));
        assert_eq!(answers.given_up_at(), Some(2_021 * MS));
        assert_eq!(answers.give_up().map(|sent| sent.offset), Some(9));
    }

    #[test]
    fn an_answer_may_be_dated_before_its_order() {
        let mut answers = Answers::default();
        assert_eq!(answers.answered(7, at(1, 16)), None);
        assert_eq!(answers.sent(7, at(0, 17), 0), Some(Reply { delay: at(0, 16), behind: 0 }));
        assert_eq!(answers.given_up_at(), None);
    }

    #[test]
    fn an_answer_that_may_have_been_hit_accuses_nobody() {
        let mut answers = Answers::default();
        answers.sent(7, at(0, 1), 0);
        answers.hit();
        assert_eq!(answers.give_up(), None);
        answers.sent(8, at(2, 3), 0);
        answers.forget();
        assert_eq!((answers.give_up(), answers.not_judged()), (None, 2));
    }
}
