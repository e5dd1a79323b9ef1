//! Checks: what a frame carries so that damage shows.

use std::fmt;
use std::sync::Arc;

use crate::examined;
use crate::fields::Letters;
use crate::number::hex_value;
use crate::word::{self, each};

/// A check: how it is worked out, over which bytes, and how it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// How it is worked out.
    pub sum: Sum,
    /// How it is written on the wire.
    pub written: Written,
    /// Bytes left out at the beginning of the frame's parts.
    pub skip: usize,
    /// Bytes left out directly before the check (such as the `#` or `*` that announces it).
    pub leave_out: usize,
    /// Bytes that are checked before all others: the start mark or sync bytes, where the check covers them too.
    pub mark: Vec<u8>,
}

/// How a check is worked out.
#[derive(Clone, Debug, PartialEq)]
pub enum Sum {
    /// The frame has no check.
    None,
    /// Exclusive-or of all bytes.
    Xor8,
    /// Sum of all bytes, modulo 256.
    Sum8,
    /// Two's complement of the sum, so that all bytes and the check add up to 0 modulo 256.
    Lrc8,
    /// A cyclic redundancy check.
    Crc(Crc),
}

/// How a check value is written on the wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// Bytes, most significant first.
    BigEndian,
    /// Bytes, least significant first.
    LittleEndian,
    /// Hex digits, most significant first, two for each byte; letters of either case are read, upper case is written.
    HexDigits,
    /// As [`Written::HexDigits`], upper case alone.
    UpperHexDigits,
    /// As [`Written::HexDigits`], lower case alone.
    LowerHexDigits,
    /// One byte (0 to 15) for each four bits, most significant first.
    Nibbles,
}

impl Written {
    /// Which letters its hex digits may be; `None` where it has none.
    #[inline]
    pub const fn letters(self) -> Option<Letters> {
        match self {
            Self::HexDigits => Some(Letters::Either),
            Self::UpperHexDigits => Some(Letters::Upper),
            Self::LowerHexDigits => Some(Letters::Lower),
            Self::BigEndian | Self::LittleEndian | Self::Nibbles => None,
        }
    }
}

impl Sum {
    /// Bits of its value, 0 to 32.
    #[inline]
    pub const fn width(&self) -> u8 {
        match self {
            Self::None => 0,
            Self::Xor8 | Self::Sum8 | Self::Lrc8 => 8,
            Self::Crc(crc) => crc.width,
        }
    }
}

impl Check {
    /// No check at all.
    pub const fn none() -> Self {
        Self { sum: Sum::None, written: Written::BigEndian, skip: 0, leave_out: 0, mark: Vec::new() }
    }

    /// Whether there is anything to check.
    pub const fn is_none(&self) -> bool {
        matches!(self.sum, Sum::None)
    }

    /// Bytes it takes on the wire.
    #[inline]
    pub const fn len(&self) -> usize {
        let width = self.sum.width() as usize;
        match self.written {
            Written::BigEndian | Written::LittleEndian => width.div_ceil(8),
            Written::HexDigits | Written::UpperHexDigits | Written::LowerHexDigits => width.div_ceil(8) * 2,
            Written::Nibbles => width.div_ceil(4),
        }
    }

    /// Whether it takes no bytes on the wire.
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The value over `span`, the bytes it covers behind [`Check::mark`]. 0 where there is no check.
    #[inline]
    pub fn value(&self, span: &[u8]) -> u32 {
        examined::checked(if self.is_none() { 0 } else { self.mark.len() });
        self.value_from(self.begun(), span)
    }

    /// As [`Check::value`], from the register before the first byte of the span: [`Check::begun`], worked out before.
    #[inline]
    pub(crate) fn value_from(&self, begun: u32, span: &[u8]) -> u32 {
        examined::checked(if self.is_none() { 0 } else { span.len() });
        // The most frequent sort, without asking twice which it is.
        if let Sum::Crc(crc) = &self.sum {
            crc.ended(crc.over(begun, span))
        } else {
            self.ended(self.over(begun, span))
        }
    }

    /// The register before the first byte of the span.
    pub(crate) fn begun(&self) -> u32 {
        let start = if let Sum::Crc(crc) = &self.sum { crc.begin } else { 0 };
        self.over(start, &self.mark)
    }

    /// The register after the bytes of `span`.
    fn over(&self, register: u32, span: &[u8]) -> u32 {
        match &self.sum {
            Sum::None => register,
            Sum::Xor8 => word::fold(span, register, |all, word, _| all ^ xor_of(word)),
            Sum::Sum8 | Sum::Lrc8 => word::fold(span, register, |all, word, _| all.wrapping_add(sum_of(word))),
            Sum::Crc(crc) => crc.over(register, span),
        }
    }

    /// The register after `len` more bytes, 1 to 8: those of `word`, first one lowest, with zeros above them.
    #[inline]
    pub(crate) fn step(&self, register: u32, word: u64, len: usize) -> u32 {
        match &self.sum {
            Sum::None => register,
            Sum::Xor8 => register ^ xor_of(word),
            Sum::Sum8 | Sum::Lrc8 => register.wrapping_add(sum_of(word)),
            Sum::Crc(crc) => crc.step(register, word, len),
        }
    }

    /// The value, from the register after the last byte of the span.
    #[inline]
    pub(crate) fn ended(&self, register: u32) -> u32 {
        match &self.sum {
            Sum::None => 0,
            Sum::Xor8 | Sum::Sum8 => register & 0xFF,
            Sum::Lrc8 => register.wrapping_neg() & 0xFF,
            Sum::Crc(crc) => crc.ended(register),
        }
    }

    /// How its values are written.
    pub(crate) fn stamp(&self) -> Stamp {
        Stamp { written: self.written, spare: 64 - 8 * self.len() as u32, whole: word::low(self.len()) }
    }

    /// The value that stands in `on_wire`. `None` where that is not [`Check::len`] bytes or no such number.
    #[inline]
    pub fn read(&self, on_wire: &[u8]) -> Option<u32> {
        if on_wire.len() != self.len() {
            return None;
        }
        match self.written {
            Written::BigEndian => Some(on_wire.iter().fold(0, |all, byte| (all << 8) + u32::from(*byte))),
            Written::LittleEndian => Some(on_wire.iter().rev().fold(0, |all, byte| (all << 8) + u32::from(*byte))),
            Written::HexDigits | Written::UpperHexDigits | Written::LowerHexDigits => {
                let letters = self.written.letters()?;
                on_wire.iter().try_fold(0, |all, digit| Some((all << 4) + u32::from(hex_value(*digit, letters)?)))
            }
            Written::Nibbles => {
                on_wire.iter().try_fold(0, |all, part| (*part < 16).then_some((all << 4) + u32::from(*part)))
            }
        }
    }

    /// Writes `value` as it stands on the wire.
    pub fn write(&self, value: u32, out: &mut Vec<u8>) {
        let len = self.len() as u32;
        match self.written {
            Written::BigEndian => out.extend((0..len).rev().map(|place| (value >> (8 * place)) as u8)),
            Written::LittleEndian => out.extend((0..len).map(|place| (value >> (8 * place)) as u8)),
            Written::HexDigits | Written::UpperHexDigits | Written::LowerHexDigits => {
                out.extend(self.stamp().of(value).0.to_le_bytes().iter().take(len as usize));
            }
            Written::Nibbles => out.extend((0..len).rev().map(|place| (value >> (4 * place)) as u8 & 15)),
        }
    }
}

/// How check values of one width are written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stamp {
    written: Written,
    /// Bits of a word beyond the check.
    spare: u32,
    /// Its bits.
    whole: u64,
}

impl Stamp {
    /// What `value` looks like on the wire, first byte lowest, and the bits of that which must be so.
    #[inline]
    pub(crate) fn of(&self, value: u32) -> (u64, u64) {
        let reversed = |bytes: u64| bytes.swap_bytes() >> (self.spare & 63);
        match self.written {
            Written::LittleEndian => (value.into(), self.whole),
            Written::BigEndian => (reversed(value.into()), self.whole),
            Written::Nibbles => (reversed(nibbles(value)), self.whole),
            Written::UpperHexDigits => (reversed(hex_text(value).0), self.whole),
            Written::LowerHexDigits => (reversed(hex_text(value).0 + hex_text(value).1), self.whole),
            Written::HexDigits => {
                let (upper, letters) = hex_text(value);
                (reversed(upper), self.whole & !reversed(letters))
            }
        }
    }
}

/// Exclusive-or of the bytes of `word`.
fn xor_of(word: u64) -> u32 {
    let halves = word ^ word >> 32;
    let quarters = halves ^ halves >> 16;
    (quarters ^ quarters >> 8) as u32 & 0xFF
}

/// Sum of the bytes of `word`.
fn sum_of(word: u64) -> u32 {
    let every_other = 0x00FF_00FF_00FF_00FF;
    let pairs = (word & every_other) + (word >> 8 & every_other);
    (pairs.wrapping_mul(0x0001_0001_0001_0001) >> 48) as u32
}

/// Each four bits of `value` as a byte, lowest first.
fn nibbles(value: u32) -> u64 {
    let all = u64::from(value);
    let halves = (all | all << 16) & 0x0000_FFFF_0000_FFFF;
    let quarters = (halves | halves << 8) & 0x00FF_00FF_00FF_00FF;
    (quarters | quarters << 4) & each(0x0F)
}

/// The hex digits of `value` in upper case, lowest first, and the bit that makes letters lower case, where letters are.
fn hex_text(value: u32) -> (u64, u64) {
    let digits = nibbles(value);
    let letters = (digits + each(6)) >> 4 & each(1);
    (digits + each(b'0') + letters * u64::from(b'A' - 10 - b'0'), letters << 5)
}

/// A cyclic redundancy check by its parameters. Equal where its parameters are.
#[derive(Clone)]
pub struct Crc {
    width: u8,
    poly: u32,
    start: u32,
    reflect_in: bool,
    reflect_out: bool,
    final_xor: u32,
    /// The register before the first byte.
    begin: u32,
    /// For each byte, what it does to a register of zeros, with 0 to 7 zero bytes behind it. The register stands so that
    /// the byte it takes in next meets its lowest byte: as it is where bytes are taken least significant bit first, with
    /// its bytes reversed where they are not. So one way serves both.
    tables: Arc<[[u32; 256]; 8]>,
}

impl fmt::Debug for Crc {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (width, poly, start, reflect_in, reflect_out, final_xor) = self.parameters();
        write!(out, "Crc({width} bits, {poly:X}, {start:X}, {reflect_in}, {reflect_out}, {final_xor:X})")
    }
}

impl PartialEq for Crc {
    fn eq(&self, other: &Self) -> bool {
        self.parameters() == other.parameters()
    }
}

impl Crc {
    /// A check of `width` bits, 1 to 32. `poly` is written without its top term, most significant bit first;
    /// `start` is the register before the first byte, seen unreflected; `reflect_in` takes each byte's least
    /// significant bit first; `reflect_out` mirrors the register before `final_xor`.
    ///
    /// Fails, in words, on a width out of range or a parameter that has more bits than the width.
    pub fn new(
        width: u8,
        poly: u32,
        start: u32,
        reflect_in: bool,
        reflect_out: bool,
        final_xor: u32,
    ) -> Result<Self, String> {
        if !(1..=32).contains(&width) {
            return Err(format!("a check of {width} bits; 1 to 32 are allowed"));
        }
        let most = u32::MAX >> (32 - width);
        for (name, value) in [("polynomial", poly), ("start", start), ("final exclusive-or", final_xor)] {
            if value > most {
                return Err(format!("{name} 0x{value:X} has more than {width} bits; at most 0x{most:X} is allowed"));
            }
        }
        let shift = 32 - u32::from(width);
        let begin = if reflect_in { start.reverse_bits() >> shift } else { (start << shift).swap_bytes() };
        let one = if reflect_in { mirrored_table(width, poly) } else { straight_table(width, poly) };
        Ok(Self { width, poly, start, reflect_in, reflect_out, final_xor, begin, tables: Arc::new(with_zeros(&one)) })
    }

    const fn parameters(&self) -> (u8, u32, u32, bool, bool, u32) {
        (self.width, self.poly, self.start, self.reflect_in, self.reflect_out, self.final_xor)
    }

    /// The register after the bytes of `span`.
    #[inline]
    fn over(&self, register: u32, span: &[u8]) -> u32 {
        word::fold(span, register, |all, word, len| self.step(all, word, len))
    }

    /// The value, from the register after the last byte.
    #[inline]
    fn ended(&self, register: u32) -> u32 {
        let shift = 32 - u32::from(self.width);
        let value = if self.reflect_in { register } else { register.swap_bytes() >> shift };
        let mirrored = if self.reflect_in == self.reflect_out { value } else { value.reverse_bits() >> shift };
        mirrored ^ self.final_xor
    }

    /// Takes in `len` bytes of `word`, 1 to 8. What each does, with those behind it as zeros, does not depend on the
    /// others.
    #[inline]
    fn step(&self, register: u32, word: u64, len: usize) -> u32 {
        let mixed = (word ^ u64::from(register)).to_le_bytes();
        if len == 8 {
            let [a, b, c, d, e, f, g, h] = mixed;
            let front = self.entry(7, a) ^ self.entry(6, b) ^ self.entry(5, c) ^ self.entry(4, d);
            return front ^ self.entry(3, e) ^ self.entry(2, f) ^ self.entry(1, g) ^ self.entry(0, h);
        }
        let out_of_reach = (u64::from(register) >> (8 * len)) as u32;
        let tables = self.tables.iter().take(len).rev();
        mixed.iter().zip(tables).fold(out_of_reach, |all, (byte, table)| all ^ table[usize::from(*byte)])
    }

    fn entry(&self, zeros: usize, byte: u8) -> u32 {
        self.tables[zeros][usize::from(byte)]
    }
}

/// What each byte does to a register that takes the least significant bit of a byte first.
fn mirrored_table(width: u8, poly: u32) -> [u32; 256] {
    let mirrored = poly.reverse_bits() >> (32 - u32::from(width));
    let bit = |all: u32| if all & 1 == 1 { (all >> 1) ^ mirrored } else { all >> 1 };
    std::array::from_fn(|byte| (0..8).fold(byte as u32, |all, _| bit(all)))
}

/// What each byte does to a register that takes the most significant bit of a byte first and stands at the top of the
/// word, so that one way serves every width; its bytes reversed at the end.
fn straight_table(width: u8, poly: u32) -> [u32; 256] {
    let raised = poly << (32 - u32::from(width));
    let bit = |all: u32| if all >> 31 == 1 { (all << 1) ^ raised } else { all << 1 };
    std::array::from_fn(|byte| (0..8).fold((byte as u32) << 24, |all, _| bit(all)).swap_bytes())
}

/// The table for a byte alone, then with one to seven zero bytes behind it.
fn with_zeros(one: &[u32; 256]) -> [[u32; 256]; 8] {
    let mut all = [*one; 8];
    for place in 1..8 {
        all[place] = all[place - 1].map(|register| one[(register & 0xFF) as usize] ^ (register >> 8));
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
