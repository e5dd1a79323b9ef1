//! What comes in: one read's bytes with the time they can have arrived, and the other things that can happen.

use crate::pins::{LineClock, Pins};

/// A time in integer nanoseconds since the session began.
pub type Nanos = i64;

/// One of the two wires between the boards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Wire {
    /// `>`: from the command board to the drive board (orders).
    ToDrive,
    /// `<`: from the drive board back (answers).
    FromDrive,
}

impl Wire {
    /// Both wires, in the order used wherever two events share one instant.
    pub const BOTH: [Self; 2] = [Self::ToDrive, Self::FromDrive];

    /// `>` or `<`.
    pub const fn symbol(self) -> char {
        match self {
            Self::ToDrive => '>',
            Self::FromDrive => '<',
        }
    }

    /// The wire written as `symbol`, if it is `>` or `<`.
    pub const fn from_symbol(symbol: char) -> Option<Self> {
        match symbol {
            '>' => Some(Self::ToDrive),
            '<' => Some(Self::FromDrive),
            _ => None,
        }
    }

    /// 0 for `>`, 1 for `<`.
    pub const fn index(self) -> usize {
        match self {
            Self::ToDrive => 0,
            Self::FromDrive => 1,
        }
    }
}

/// The span of time in which something certainly happened: not before `lo`, not after `hi`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    /// Earliest instant, nanoseconds.
    pub lo: Nanos,
    /// Latest instant, nanoseconds. Never below `lo`.
    pub hi: Nanos,
}

impl Interval {
    /// An interval; `lo` is brought down to `hi` where it lies above.
    pub const fn new(lo: Nanos, hi: Nanos) -> Self {
        Self { lo: if lo < hi { lo } else { hi }, hi }
    }

    /// `hi - lo`, nanoseconds.
    pub const fn width(self) -> Nanos {
        self.hi - self.lo
    }

    /// The time from `earlier` to `self`: an interval itself.
    pub const fn since(self, earlier: Self) -> Self {
        Self::new(self.lo - earlier.hi, self.hi - earlier.lo)
    }
}

/// What one read returned.
///
/// The completion time of byte `j` of `n` is worked out where it is needed ([`Chunk::byte_interval`]):
/// not after `hi - (n-1-j)*byte_ns` (the bytes behind it had to follow on the wire), and neither before `lo` nor
/// sooner than one byte time after the byte before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chunk<'a> {
    /// The wire it came from.
    pub wire: Wire,
    /// Place of its first byte: bytes of this wire before it, since the session began.
    pub offset: u64,
    /// The bytes. An empty chunk says nothing.
    pub bytes: &'a [u8],
    /// Not one of its bytes was complete before this.
    pub lo: Nanos,
    /// The last of its bytes was complete by this: the time of the read.
    pub hi: Nanos,
    /// Shortest time one byte takes on the wire, nanoseconds; 0 when the rate is not known.
    pub byte_ns: Nanos,
}

impl Chunk<'_> {
    /// When byte `index` was complete. `before` is the `lo` of the byte just before this chunk on the same wire.
    pub fn byte_interval(&self, index: usize, before: Option<Nanos>) -> Interval {
        let last = self.bytes.len().saturating_sub(1) as Nanos;
        let behind = last.saturating_sub(index as Nanos);
        let hi = self.hi.saturating_sub(behind.saturating_mul(self.byte_ns));
        Interval::new(self.first_lo(before).saturating_add((index as Nanos).saturating_mul(self.byte_ns)), hi)
    }

    /// The earliest instant for its first byte, not capped by what the time of the read allows.
    /// `before` as for [`Chunk::byte_interval`].
    pub fn first_lo(&self, before: Option<Nanos>) -> Nanos {
        before.map_or(self.lo, |lo| self.lo.max(lo.saturating_add(self.byte_ns)))
    }

    /// The same bytes as two chunks, cut before byte `index`, each byte keeping its interval.
    pub fn split_at(&self, index: usize) -> (Self, Self) {
        let (head, tail) = self.bytes.split_at(index);
        let head_hi = self.hi.saturating_sub((tail.len() as Nanos).saturating_mul(self.byte_ns));
        (
            Self { bytes: head, hi: head_hi, ..*self },
            Self { bytes: tail, offset: self.offset + head.len() as u64, ..*self },
        )
    }
}

/// Everything that can be pushed into the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input<'a> {
    /// One read's bytes.
    Chunk(Chunk<'a>),
    /// Nothing more was complete on any open wire up to this instant (adapter latency already taken off).
    Tick(Nanos),
    /// A person's remark.
    Note {
        /// When it was made.
        at: Nanos,
        /// What it says.
        text: &'a str,
    },
    /// The port of this wire went away.
    PortGone {
        /// When that was noticed.
        at: Nanos,
        /// Which wire is silent now.
        wire: Wire,
    },
    /// The port of this wire is back.
    PortBack {
        /// When it could be read again.
        at: Nanos,
        /// Which wire can be heard again.
        wire: Wire,
    },
    /// Bytes of this wire were received but could not be kept.
    Lost {
        /// When that was noticed: its place among the inputs.
        at: Nanos,
        /// No byte of them was complete before this; from here on nobody vouches for silence.
        since: Nanos,
        /// Which wire.
        wire: Wire,
        /// How many bytes, counted; 0 where nobody can tell, and it may be none.
        bytes: u64,
        /// They were kept, and the file they stood in has been damaged since; otherwise nobody could keep them.
        damaged: bool,
    },
    /// What the drive board's pins told the wheels from an instant on, from a recording of levels.
    Pins(Pins),
    /// The clock of a wire, from its edges.
    Clock(LineClock),
}

impl Input<'_> {
    /// The instant it is dated by: of a chunk, the read.
    pub const fn at(&self) -> Nanos {
        match *self {
            Self::Chunk(chunk) => chunk.hi,
            Self::Pins(pins) => pins.at,
            Self::Clock(clock) => clock.at,
            Self::Tick(at)
            | Self::Note { at, .. }
            | Self::PortGone { at, .. }
            | Self::PortBack { at, .. }
            | Self::Lost { at, .. } => at,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_split_keeps_every_byte_interval() {
        let bytes = *b"way,rest\n";
        let chunk = Chunk { wire: Wire::ToDrive, offset: 7, bytes: &bytes, lo: 1_000, hi: 900_000, byte_ns: 84_635 };
        for before in [None, Some(500), Some(700_000)] {
            for cut in 1..bytes.len() {
                let (head, tail) = chunk.split_at(cut);
                let head_last = head.byte_interval(cut - 1, before);
                for index in 0..bytes.len() {
                    let whole = chunk.byte_interval(index, before);
                    let part = if index < cut {
                        head.byte_interval(index, before)
                    } else {
                        // The carry is the lower bound before it is capped, so use the uncapped form.
                        let lo = before.map_or(chunk.lo, |lo| chunk.lo.max(lo + chunk.byte_ns));
                        tail.byte_interval(index - cut, Some(lo + (cut as Nanos - 1) * chunk.byte_ns))
                    };
                    assert_eq!(whole, part, "cut {cut} index {index} head_last {head_last:?}");
                }
            }
        }
    }
}
