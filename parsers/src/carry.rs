//! The carry: bytes not yet told apart, each with the span of time in which it was complete.

use std::collections::VecDeque;

use crate::chunk::{Chunk, Interval, Nanos};

/// Spent bytes that may stay: moving the others to the front with every read costs more than they do.
const ROOM: usize = 1024;

/// Bytes that follow each other on one wire, from the first that stands in no record yet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Carry {
    bytes: Vec<u8>,
    /// Bytes of `bytes` that are spent already.
    spent: usize,
    /// Place on the wire of the first byte not spent.
    offset: u64,
    /// The last bytes taken; empty before any, and where the wire goes on at another place.
    last: Span,
    /// Those before them, as far as they are not spent.
    older: VecDeque<Span>,
    /// Earliest instant of the last byte taken, not capped by its latest. That is the one of `last`.
    last_lo: Option<Nanos>,
}

/// Bytes whose times follow from one rule.
#[derive(Clone, Copy, Debug, Default)]
struct Span {
    offset: u64,
    len: u64,
    first_lo: Nanos,
    last_hi: Nanos,
    byte_ns: Nanos,
}

impl Span {
    /// Place on the wire of the byte behind it.
    #[inline]
    fn end(&self) -> u64 {
        self.offset + self.len
    }

    /// The earliest instant of the byte `ahead` behind its first one.
    #[inline]
    fn lo(&self, ahead: u64) -> Nanos {
        self.first_lo.saturating_add((ahead as Nanos).saturating_mul(self.byte_ns))
    }

    #[inline]
    fn interval(&self, offset: u64) -> Interval {
        let ahead = offset.saturating_sub(self.offset);
        let behind = self.len.saturating_sub(1).saturating_sub(ahead) as Nanos;
        Interval::new(self.lo(ahead), self.last_hi.saturating_sub(behind.saturating_mul(self.byte_ns)))
    }

    /// Whether the times of `chunk`, whose first byte is not before `first_lo`, follow from the same rule. `ahead`: from its
    /// first byte to its last; `last_lo`: the earliest instant of the last byte here.
    #[inline]
    fn goes_on_with(&self, chunk: &Chunk<'_>, ahead: Nanos, first_lo: Nanos, last_lo: Nanos) -> bool {
        self.byte_ns == chunk.byte_ns
            && self.len > 0
            && last_lo.checked_add(chunk.byte_ns) == Some(first_lo)
            && chunk.hi.checked_sub(ahead).and_then(|hi| hi.checked_sub(chunk.byte_ns)) == Some(self.last_hi)
    }
}

impl Carry {
    /// The earliest instant for the first byte of `chunk`, not capped by its latest.
    #[inline]
    pub(crate) fn first_lo(&self, chunk: &Chunk<'_>) -> Nanos {
        chunk.first_lo(self.last_lo)
    }

    /// Takes the bytes of `chunk`; `first_lo` as [`Carry::first_lo`] says.
    #[inline]
    pub(crate) fn push(&mut self, chunk: &Chunk<'_>, first_lo: Nanos) {
        if self.spent > ROOM {
            self.make_room();
        }
        self.bytes.extend_from_slice(chunk.bytes);
        let len = chunk.bytes.len() as u64;
        self.time(len, (len as Nanos - 1).saturating_mul(chunk.byte_ns), chunk, first_lo);
    }

    /// As [`Carry::push`] of a `chunk` that holds nothing but `byte`.
    #[inline]
    pub(crate) fn push_one(&mut self, byte: u8, chunk: &Chunk<'_>, first_lo: Nanos) {
        if self.spent > ROOM {
            self.make_room();
        }
        self.bytes.push(byte);
        self.time(1, 0, chunk, first_lo);
    }

    #[cold]
    fn make_room(&mut self) {
        if self.spent > self.bytes.len() / 2 {
            self.bytes.drain(..self.spent);
            self.spent = 0;
        }
    }

    /// The last `len` bytes have the times of `chunk`, from the first of them to the last `ahead`.
    #[inline]
    fn time(&mut self, len: u64, ahead: Nanos, chunk: &Chunk<'_>, first_lo: Nanos) {
        let before = self.last_lo.replace(first_lo.saturating_add(ahead));
        if before.is_some_and(|before| self.last.goes_on_with(chunk, ahead, first_lo, before)) {
            self.last.len += len;
            self.last.last_hi = chunk.hi;
        } else {
            let offset = self.end();
            self.begin(Span { offset, len, first_lo, last_hi: chunk.hi, byte_ns: chunk.byte_ns });
        }
    }

    /// The last bytes taken are `next`.
    fn begin(&mut self, next: Span) {
        if self.last.end() > self.offset {
            self.older.push_back(self.last);
        }
        self.last = next;
    }

    /// Whether the wire was certainly silent for longer than `idle` nanoseconds before the first byte of `chunk`.
    #[inline]
    pub(crate) fn silent_before(&self, chunk: &Chunk<'_>, first_lo: Nanos, idle: Nanos) -> bool {
        self.may_be_silent(first_lo, idle) && self.silence_until(chunk.byte_interval(0, self.last_lo).lo) > idle
    }

    /// Whether it may have been, before a byte that is not before `first_lo`. The earliest instant of a byte is brought
    /// down to its latest, never up: where this says no, no closer look is needed.
    #[inline]
    pub(crate) fn may_be_silent(&self, first_lo: Nanos, idle: Nanos) -> bool {
        // A silence is longer than 0.
        first_lo > self.last.last_hi && self.silence_until(first_lo) > idle
    }

    /// How long the wire was silent at `at`, nanoseconds; 0 before any byte.
    #[inline]
    pub(crate) fn silence_until(&self, at: Nanos) -> Nanos {
        self.last_lo.map_or(0, |_| at.saturating_sub(self.last.last_hi))
    }

    /// Bytes not spent yet.
    #[inline]
    pub(crate) fn bytes(&self) -> &[u8] {
        self.bytes.get(self.spent..).unwrap_or_default()
    }

    /// The last `N` bytes, those among them that are spent too; `None` where no so many are left.
    #[inline]
    pub(crate) fn last<const N: usize>(&self) -> Option<&[u8; N]> {
        self.bytes.last_chunk()
    }

    /// Place on the wire of the first byte not spent.
    pub(crate) fn offset(&self) -> u64 {
        self.offset
    }

    /// Place on the wire of the next byte to come.
    #[inline]
    pub(crate) fn end(&self) -> u64 {
        self.last.end()
    }

    /// Goes on at another place of the wire. Only when all bytes are spent.
    pub(crate) fn move_to(&mut self, offset: u64) {
        self.offset = offset;
        self.older.clear();
        self.last = Span { offset, len: 0, ..self.last };
    }

    /// When byte `index` of [`Carry::bytes`] was complete.
    #[inline]
    pub(crate) fn interval(&self, index: usize) -> Interval {
        let offset = self.offset + index as u64;
        if offset >= self.last.offset { self.last.interval(offset) } else { self.older_interval(offset) }
    }

    #[cold]
    fn older_interval(&self, offset: u64) -> Interval {
        let behind = self.older.partition_point(|span| span.offset <= offset);
        let span = behind.checked_sub(1).and_then(|place| self.older.get(place));
        span.map_or(Interval::new(0, 0), |span| span.interval(offset))
    }

    /// The first `count` bytes stand in a record now.
    #[inline]
    pub(crate) fn spend(&mut self, count: usize) {
        let spent = self.spent + count;
        if spent < self.bytes.len() {
            self.offset += count as u64;
            self.spent = spent;
        } else {
            self.offset += self.bytes().len() as u64;
            self.bytes.clear();
            self.spent = 0;
        }
        while self.older.front().is_some_and(|span| span.end() <= self.offset) {
            self.older.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chunk::Wire;

    #[test]
    fn each_byte_keeps_the_interval_its_chunk_gave_it() {
        let first = Chunk { wire: Wire::ToDrive, offset: 0, bytes: b"way,", lo: 0, hi: 400, byte_ns: 90 };
        let second = Chunk { offset: 4, bytes: b"port\n", lo: 100, hi: 1000, ..first };
        let before = Some(270);
        let mut carry = Carry::default();
        carry.push(&first, carry.first_lo(&first));
        carry.push(&second, carry.first_lo(&second));
        for spent in 0..9 {
            for index in 0..9 - spent {
                let place = spent + index;
                let expected =
                    if place < 4 { first.byte_interval(place, None) } else { second.byte_interval(place - 4, before) };
                assert_eq!(carry.interval(index), expected, "byte {place}, {spent} spent");
            }
            carry.spend(1);
        }
        assert_eq!((carry.bytes(), carry.offset(), carry.end()), (b"".as_slice(), 9, 9));
    }

    fn silent(carry: &Carry, chunk: &Chunk<'_>, idle: Nanos) -> bool {
        carry.silent_before(chunk, carry.first_lo(chunk), idle)
    }

    #[test]
    fn silence_counts_from_the_latest_instant_of_the_last_byte() {
        let first = Chunk { wire: Wire::ToDrive, offset: 0, bytes: b"way,", lo: 0, hi: 400, byte_ns: 90 };
        let mut carry = Carry::default();
        assert!(!silent(&carry, &first, 0));
        carry.push(&first, carry.first_lo(&first));
        assert_eq!(carry.silence_until(1000), 600);
        // It cannot have been complete before 700, and 700 is 300 after the last byte.
        let next = Chunk { offset: 4, bytes: b"p", lo: 700, hi: 900, ..first };
        assert!(silent(&carry, &next, 299) && !silent(&carry, &next, 300));
        // Where the read was sooner than that, it was complete by then.
        let next = Chunk { hi: 600, ..next };
        assert!(silent(&carry, &next, 199) && !silent(&carry, &next, 200));
    }
}
