//! Where each wire's next byte is due, so that missing bytes are noticed.

use wheeltap_parsers::Wire;

use super::ahead::Next;

/// The next offset due, by wire.
#[derive(Clone, Copy, Debug)]
pub(super) struct Offsets {
    /// `None` after a jump: whatever comes is right.
    due: [Option<u64>; 2],
    /// A torn line was named since the wire's last read, and may have been one of its reads.
    doubt: [bool; 2],
    /// Of the bytes that are missing before the wire's next read so many were told already.
    told: [Option<u64>; 2],
}

/// How a read follows the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// Without a gap.
    Follows,
    /// Bytes lie between, of which so many were told; `named` when a torn line just before accounts for them.
    Missing { count: u64, told: u64, named: bool },
    /// It begins before it is due.
    Back { expected: u64 },
}

impl Offsets {
    /// At the beginning of a session.
    /// `before` are the bytes of each wire before it: 0, unless the file goes on from another.
    pub(super) const fn from_start(before: [u64; 2]) -> Self {
        Self { due: [Some(before[0]), Some(before[1])], doubt: [false; 2], told: [None; 2] }
    }

    /// After a jump.
    pub(super) const fn unknown() -> Self {
        Self { due: [None; 2], doubt: [false; 2], told: [None; 2] }
    }

    /// A line was torn.
    pub(super) fn doubt(&mut self) {
        self.doubt = [true; 2];
    }

    /// `count` bytes were lost and said to be.
    pub(super) fn pass(&mut self, wire: Wire, count: u64) {
        let due = &mut self.due[wire.index()];
        *due = due.map(|due| due.saturating_add(count));
    }

    /// Something other than a read stands here that vouches for silence on the wire before it, and `next` follows: how many
    /// bytes are missing before it, 0 where nobody can tell. Each hole is given once.
    pub(super) fn hole(&mut self, wire: Wire, next: Next) -> Option<u64> {
        let due = self.due[wire.index()]?;
        let missing = match next {
            Next::Read(offset) => Some(offset.saturating_sub(due)).filter(|count| *count > 0),
            Next::OutOfSight => self.doubt[wire.index()].then_some(0),
        };
        let told = &mut self.told[wire.index()];
        if told.is_none() {
            *told = missing;
            return missing;
        }
        None
    }

    /// Whether a hole was told since the wire's last read.
    pub(super) const fn has_told(&self, wire: Wire) -> bool {
        self.told[wire.index()].is_some()
    }

    /// A read of `length` bytes at `offset`.
    pub(super) fn step(&mut self, wire: Wire, offset: u64, length: u64) -> Step {
        let expected = self.due[wire.index()].unwrap_or(offset);
        if offset < expected {
            return Step::Back { expected };
        }
        self.due[wire.index()] = Some(offset.saturating_add(length));
        let named = std::mem::take(&mut self.doubt[wire.index()]);
        let told = self.told[wire.index()].take().unwrap_or(0);
        if offset == expected { Step::Follows } else { Step::Missing { count: offset - expected, told, named } }
    }
}
