//! Checks: what a frame carries so that damage shows.

use std::fmt;

use crate::examined;
use crate::number::hex_value;

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
    /// Upper-case or lower-case hex digits, most significant first, two for each byte. Written in upper case.
    HexDigits,
    /// One byte (0 to 15) for each four bits, most significant first.
    Nibbles,
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
            Written::HexDigits => width.div_ceil(8) * 2,
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
        examined::checked(if self.is_none() { 0 } else { self.mark.len() + span.len() });
        match &self.sum {
            Sum::None => 0,
            Sum::Xor8 => u32::from(xor8(&self.mark) ^ xor8(span)),
            Sum::Sum8 => u32::from(sum8(&self.mark).wrapping_add(sum8(span))),
            Sum::Lrc8 => u32::from(sum8(&self.mark).wrapping_add(sum8(span)).wrapping_neg()),
            Sum::Crc(crc) => crc.value(&self.mark, span),
        }
    }

    /// The value that stands in `on_wire`. `None` where that is not [`Check::len`] bytes or no such number.
    #[inline]
    pub fn read(&self, on_wire: &[u8]) -> Option<u32> {
        if on_wire.len() != self.len() {
            return None;
        }
        match self.written {
            Written::BigEndian => Some(on_wire.iter().fold(0, |all, byte| all << 8 | u32::from(*byte))),
            Written::LittleEndian => Some(on_wire.iter().rev().fold(0, |all, byte| all << 8 | u32::from(*byte))),
            Written::HexDigits => {
                on_wire.iter().try_fold(0, |all, digit| Some(all << 4 | u32::from(hex_value(*digit)?)))
            }
            Written::Nibbles => {
                on_wire.iter().try_fold(0, |all, part| (*part < 16).then_some(all << 4 | u32::from(*part)))
            }
        }
    }

    /// Writes `value` as it stands on the wire.
    pub fn write(&self, value: u32, out: &mut Vec<u8>) {
        let len = self.len() as u32;
        match self.written {
            Written::BigEndian => out.extend((0..len).rev().map(|place| (value >> (8 * place)) as u8)),
            Written::LittleEndian => out.extend((0..len).map(|place| (value >> (8 * place)) as u8)),
            Written::HexDigits => out.extend((0..len).rev().map(|place| hex_digit(value >> (4 * place)))),
            Written::Nibbles => out.extend((0..len).rev().map(|place| (value >> (4 * place)) as u8 & 15)),
        }
    }
}

fn xor8(span: &[u8]) -> u8 {
    span.iter().fold(0, |all, byte| all ^ byte)
}

fn sum8(span: &[u8]) -> u8 {
    span.iter().fold(0, |all: u8, byte| all.wrapping_add(*byte))
}

fn hex_digit(value: u32) -> u8 {
    char::from_digit(value & 15, 16).map_or(b'0', |digit| digit.to_ascii_uppercase() as u8)
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
    /// For each byte, what it does to a register that takes bytes at its low end (reflected in) or its high end, with
    /// 0 to 7 zero bytes behind it.
    tables: Box<[[u32; 256]; 8]>,
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
        let tables = Box::new(if reflect_in { low_tables(width, poly) } else { high_tables(width, poly) });
        Ok(Self { width, poly, start, reflect_in, reflect_out, final_xor, tables })
    }

    const fn parameters(&self) -> (u8, u32, u32, bool, bool, u32) {
        (self.width, self.poly, self.start, self.reflect_in, self.reflect_out, self.final_xor)
    }

    fn value(&self, mark: &[u8], span: &[u8]) -> u32 {
        let shift = 32 - u32::from(self.width);
        let register = if self.reflect_in {
            self.low(self.low(self.start.reverse_bits() >> shift, mark), span)
        } else {
            // The register stands at the top of the word, so that one way serves every width.
            self.high(self.high(self.start << shift, mark), span) >> shift
        };
        let mirrored = if self.reflect_in == self.reflect_out { register } else { register.reverse_bits() >> shift };
        mirrored ^ self.final_xor
    }

    /// Eight bytes at a time: each one's effect, with those behind it as zeros, does not depend on the others.
    fn low(&self, start: u32, span: &[u8]) -> u32 {
        let (eights, rest) = span.as_chunks::<8>();
        let register = eights.iter().fold(start, |all, [a, b, c, d, behind @ ..]| {
            let front = (all ^ u32::from_le_bytes([*a, *b, *c, *d])).to_le_bytes();
            self.eight(front, *behind)
        });
        rest.iter().fold(register, |all, byte| self.entry(0, all as u8 ^ byte) ^ (all >> 8))
    }

    fn high(&self, start: u32, span: &[u8]) -> u32 {
        let (eights, rest) = span.as_chunks::<8>();
        let register = eights.iter().fold(start, |all, [a, b, c, d, behind @ ..]| {
            let front = (all ^ u32::from_be_bytes([*a, *b, *c, *d])).to_be_bytes();
            self.eight(front, *behind)
        });
        rest.iter().fold(register, |all, byte| self.entry(0, (all >> 24) as u8 ^ byte) ^ (all << 8))
    }

    fn eight(&self, front: [u8; 4], behind: [u8; 4]) -> u32 {
        let of = |bytes: [u8; 4], last: usize| {
            let [a, b, c, d] = bytes;
            self.entry(last + 3, a) ^ self.entry(last + 2, b) ^ self.entry(last + 1, c) ^ self.entry(last, d)
        };
        of(front, 4) ^ of(behind, 0)
    }

    fn entry(&self, zeros: usize, byte: u8) -> u32 {
        self.tables[zeros][usize::from(byte)]
    }
}

fn low_tables(width: u8, poly: u32) -> [[u32; 256]; 8] {
    let mirrored = poly.reverse_bits() >> (32 - u32::from(width));
    let bit = |all: u32| if all & 1 == 1 { (all >> 1) ^ mirrored } else { all >> 1 };
    let one = std::array::from_fn(|byte| (0..8).fold(byte as u32, |all, _| bit(all)));
    with_zeros(&one, |table, all| table[(all & 0xFF) as usize] ^ (all >> 8))
}

fn high_tables(width: u8, poly: u32) -> [[u32; 256]; 8] {
    let raised = poly << (32 - u32::from(width));
    let bit = |all: u32| if all >> 31 == 1 { (all << 1) ^ raised } else { all << 1 };
    let one = std::array::from_fn(|byte| (0..8).fold((byte as u32) << 24, |all, _| bit(all)));
    with_zeros(&one, |table, all| table[(all >> 24) as usize] ^ (all << 8))
}

/// The table for a byte alone, then with one to seven zero bytes behind it; `zero` takes in one.
fn with_zeros(one: &[u32; 256], zero: impl Fn(&[u32; 256], u32) -> u32) -> [[u32; 256]; 8] {
    let mut all = [*one; 8];
    for place in 1..8 {
        all[place] = all[place - 1].map(|register| zero(one, register));
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn every_way_of_writing_reads_back() {
        let crc = Crc::new(12, 0x80F, 0, false, false, 0).unwrap();
        for written in [Written::BigEndian, Written::LittleEndian, Written::HexDigits, Written::Nibbles] {
            let check = Check { sum: Sum::Crc(crc.clone()), written, skip: 0, leave_out: 0, mark: Vec::new() };
            let mut out = Vec::new();
            check.write(0xABC, &mut out);
            assert_eq!((out.len(), check.read(&out)), (check.len(), Some(0xABC)), "{written:?}");
            assert_eq!(check.read(&out[1..]), None);
        }
    }

    #[test]
    fn parameters_too_wide_are_named() {
        assert!(Crc::new(8, 0x107, 0, false, false, 0).unwrap_err().contains("polynomial 0x107"));
        assert!(Crc::new(0, 0, 0, false, false, 0).unwrap_err().contains("1 to 32"));
        assert!(Crc::new(33, 0, 0, false, false, 0).is_err());
    }
}
