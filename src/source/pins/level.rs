//! Level of a signal: the four values of IEEE 1364-2005, clause 18.2.1.

/// What stands on a signal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Level {
    /// `0`.
    Low,
    /// `1`.
    High,
    /// `z`: nobody drives it.
    Floating,
    /// `x`: not known.
    #[default]
    Unknown,
}

impl Level {
    /// The level that a dump writes so.
    pub const fn of(byte: u8) -> Option<Self> {
        match byte {
            b'0' => Some(Self::Low),
            b'1' => Some(Self::High),
            b'z' | b'Z' => Some(Self::Floating),
            b'x' | b'X' => Some(Self::Unknown),
            _ => None,
        }
    }

    /// The other way up.
    pub const fn turned(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
            other => other,
        }
    }

    /// The level of bit `bit` (0 is the last one written) of a vector: one written short is filled at its left with
    /// `0`, or with its first value where that is `x` or `z` (clause 18.2.1).
    pub fn of_bit(bits: &[u8], bit: usize) -> Self {
        let written = bits.len().checked_sub(bit + 1).and_then(|place| bits.get(place));
        match written {
            Some(byte) => Self::of(*byte).unwrap_or_default(),
            None => match bits.first().copied().and_then(Self::of) {
                Some(Self::Floating) => Self::Floating,
                Some(Self::Low | Self::High) => Self::Low,
                _ => Self::Unknown,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The standard's tables of how a vector is shortened and filled again, clause 18.2.1 (from memory): `b10` stands
    /// for 0010, `bX10` for XX10, `bZX0` for ZZX0, `b0X10` for 0X10.
    #[test]
    fn a_vector_written_short_is_filled_at_its_left() {
        let all = |bits: &[u8]| [3, 2, 1, 0].map(|bit| Level::of_bit(bits, bit));
        let (low, high, open, unknown) = (Level::Low, Level::High, Level::Floating, Level::Unknown);
        assert_eq!(all(b"1"), [low, low, low, high]);
        assert_eq!(all(b"10"), [low, low, high, low]);
        assert_eq!(all(b"X10"), [unknown, unknown, high, low]);
        assert_eq!(all(b"ZX0"), [open, open, unknown, low]);
        assert_eq!(all(b"0X10"), [low, unknown, high, low]);
    }
}
