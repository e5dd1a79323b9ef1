//! Fields: how a value stands on the wire and what range it may have.

/// A value as it was read, before scaling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value<'a> {
    /// A whole number, as it stood on the wire.
    Int(i64),
    /// A floating-point number, as it stood on the wire.
    Real(f32),
    /// One of the field's known words: index into [`Field::words`].
    Word(usize),
    /// A word of a field without a list of words.
    Text(&'a str),
}

/// How a field's value stands on the wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// Decimal digits as text. `digits`: exactly so many (the sign not counted), or any number up to 18 when `None`.
    Decimal {
        /// Exact count of digits, or any.
        digits: Option<u8>,
        /// Whether a sign may or must stand before them.
        sign: Sign,
    },
    /// Hexadecimal digits as text. `digits` as for [`Read::Decimal`].
    Hex {
        /// Exact count of digits, or any up to 15.
        digits: Option<u8>,
        /// Which letters are digits.
        letters: Letters,
    },
    /// A word: up to the literal that follows, or the end of the frame. With [`Field::words`] it must be one of them.
    Word,
    /// One to four bytes, unsigned or two's complement.
    Binary {
        /// How many bytes, 1 to 4.
        bytes: u8,
        /// Two's complement.
        signed: bool,
        /// Most significant byte first.
        big_endian: bool,
    },
    /// IEEE 754 single precision.
    Float {
        /// Most significant byte first.
        big_endian: bool,
    },
    /// Some bits of another field of this frame; it has no place of its own.
    Bits {
        /// Which field, an index into [`crate::Kind::fields`], smaller than this one's.
        of: usize,
        /// Lowest bit, 0 is the least significant.
        low: u8,
        /// How many bits, 1 to 32.
        count: u8,
    },
}

/// Whether a sign stands before decimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Never.
    Never,
    /// A minus where the number is negative (a plus is read too).
    May,
    /// Always a plus or a minus.
    Must,
}

/// Which letters are hexadecimal digits. A board that takes one case alone does not obey a line with the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letters {
    /// A to F.
    Upper,
    /// a to f.
    Lower,
    /// Both; upper case is written.
    Either,
}

impl Letters {
    /// Whether `byte` is no letter of the case that is not allowed.
    #[inline]
    pub(crate) const fn allow(self, byte: u8) -> bool {
        match self {
            Self::Upper => !byte.is_ascii_lowercase(),
            Self::Lower => !byte.is_ascii_uppercase(),
            Self::Either => true,
        }
    }
}

/// One field of a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Name in the rover file.
    pub name: String,
    /// How it stands on the wire.
    pub read: Read,
    /// Smallest and largest value allowed on the wire, before scaling; both inside.
    pub range: Option<(i64, i64)>,
    /// Known words, for [`Read::Word`]; empty when any word is allowed.
    pub words: Vec<String>,
    /// Added to the wire value first.
    pub offset: i64,
    /// Then multiplied by this: numerator, never 0.
    pub multiply: i64,
    /// And divided by this: never 0.
    pub divide: i64,
}

impl Field {
    /// The value in the field's own unit: `(wire + offset) * multiply / divide`. `None` for words.
    pub fn scaled(&self, value: Value<'_>) -> Option<f64> {
        let wire = match value {
            Value::Int(number) => number as f64,
            Value::Real(number) => f64::from(number),
            Value::Word(_) | Value::Text(_) => return None,
        };
        Some((wire + self.offset as f64) * self.multiply as f64 / self.divide as f64)
    }

    /// The value in thousandths of the field's own unit, exact integers, rounded half away from zero.
    pub fn thousandths(&self, value: Value<'_>) -> Option<i64> {
        match value {
            Value::Int(number) => {
                let over = number.saturating_add(self.offset).saturating_mul(self.multiply).saturating_mul(1000);
                let half = self.divide.abs() / 2;
                Some(if (over < 0) == (self.divide < 0) {
                    over.saturating_add(half * self.divide.signum()) / self.divide
                } else {
                    over.saturating_sub(half * self.divide.signum()) / self.divide
                })
            }
            Value::Real(_) => self.scaled(value).filter(|v| v.is_finite()).map(|v| (v * 1000.0).round() as i64),
            Value::Word(_) | Value::Text(_) => None,
        }
    }
}
