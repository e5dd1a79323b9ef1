//! Rigid layouts: where every part has one width, each stands at a place known beforehand and is read eight bytes at
//! a time.
//!
//! This is the short way for intact frames. It says only whether a frame is intact; why it is not, and everything
//! about layouts that are not rigid, is the business of [`crate::layout`], which agrees with it on every body.
//!
//! All literals that stand in one word are compared at once. Eight digits are turned into a number by three
//! multiplications, each joining neighbours: ten times the even places plus the odd ones, then pairs by a hundred, then
//! fours by ten thousand. A check is not read but written from the value that it should have, and compared.

use crate::check::{Check, Stamp};
use crate::examined::looked_at;
use crate::fields::{Field, Letters, Value};
use crate::layout::some_bits;
use crate::number::hex_value;
use crate::profile::Kind;
use crate::word::{WORD, each};

mod planned;

use planned::{Planned, add};

const ZEROS: u64 = each(b'0');

/// How a kind of one length is read.
#[derive(Clone, Debug)]
pub(crate) struct Rigid {
    pub(crate) len: usize,
    literals: Vec<Literals>,
    /// All fields in the kind's order.
    runs: Vec<Run>,
    fields: usize,
    check: Option<Checked>,
}

/// Where the word that holds some bytes begins, and how many of its bits are before them.
#[derive(Clone, Copy, Debug)]
struct Spot {
    from: u32,
    ahead: u32,
}

impl Spot {
    /// The bytes at `at` in a body of `len` bytes; `None` where that is shorter than a word.
    fn new(at: usize, len: usize) -> Option<Self> {
        let from = at.min(len.checked_sub(WORD)?);
        Some(Self { from: u32::try_from(from).ok()?, ahead: 8 * (at - from) as u32 })
    }

    /// The bytes there, first one lowest; 0 where `body` is too short.
    #[inline]
    fn word(self, body: &[u8]) -> u64 {
        word_at(self.from, body) >> self.ahead
    }
}

#[inline]
fn word_at(from: u32, body: &[u8]) -> u64 {
    let from = from as usize;
    let word = body.get(from..from + WORD).and_then(|word| word.first_chunk::<WORD>());
    u64::from_le_bytes(*word.unwrap_or(&[0; WORD]))
}

/// Bytes of one word that stand as they are: those where `mask` is not 0.
#[derive(Clone, Copy, Debug)]
struct Literals {
    from: u32,
    bytes: u64,
    mask: u64,
}

/// The check, where it stands, and which bytes it covers.
#[derive(Clone, Debug)]
pub(crate) struct Checked {
    pub(crate) check: Check,
    spot: Spot,
    stamp: Stamp,
    /// The register before the first byte of its span.
    pub(crate) begun: u32,
    /// First byte of the span, and the one behind it.
    pub(crate) from: usize,
    pub(crate) to: usize,
}

/// Fields that follow each other and are read in one way.
#[derive(Clone, Debug)]
enum Run {
    Bytes(Vec<OneByte>),
    Little(Vec<Little>),
    Few(Vec<Few>),
    Other(Vec<Step>),
}

/// The numbers a field may be.
#[derive(Clone, Copy, Debug)]
struct Range {
    least: i64,
    /// Largest less the least.
    span: u64,
}

/// A number of one byte, or the low bits of one.
#[derive(Clone, Copy, Debug)]
struct OneByte {
    at: u32,
    /// As for [`Little`].
    mask: u64,
    top: u64,
    range: Range,
}

/// A number of one to four bytes, lowest first, or the low bits of one.
#[derive(Clone, Copy, Debug)]
struct Little {
    spot: Spot,
    /// Its bits.
    mask: u64,
    /// The bit that makes it negative, or 0.
    top: u64,
    range: Range,
}

/// At most four digits, and a sign before them or none.
#[derive(Clone, Copy, Debug)]
struct Few {
    spot: Spot,
    /// All bits of the sign, or none.
    sign: u8,
    /// Bits of the sign.
    signs: u32,
    /// Bits above the digits in half a word, and zeros written in their place.
    pad: u32,
    fill: u32,
    range: Range,
}

/// One field of any other shape.
#[derive(Clone, Debug)]
struct Step {
    spot: Spot,
    take: Take,
    range: Range,
}

#[derive(Clone, Debug)]
enum Take {
    Whole(Whole),
    Bits { of: Whole, low: u8, count: u8 },
    Words { mask: u64, words: Vec<u64> },
    Float { big_endian: bool },
}

/// A whole number.
#[derive(Clone, Copy, Debug)]
enum Whole {
    Little(Little),
    Few(Few),
    /// At most eight digits. `pad` and `fill` as for [`Few`], of a whole word.
    Many {
        pad: u32,
        fill: u64,
        signed: bool,
    },
    Hex {
        digits: u32,
        letters: Letters,
    },
    /// Bytes, highest first. `spare`: bits of a word beyond them; `top` as for [`Little`].
    Big {
        spare: u32,
        top: u64,
    },
}

impl Rigid {
    /// How `kind` is read; `None` where it is not rigid, or shorter than a word.
    pub(crate) fn new(kind: &Kind) -> Option<Self> {
        let mut plan = Planned { places: vec![None; kind.fields.len()], ..Planned::default() };
        for part in &kind.parts {
            plan.part(kind, part)?;
        }
        let len = plan.stands.len();
        let mut runs = Vec::new();
        for field in 0..kind.fields.len() {
            add(&mut runs, plan.step(kind, field, len)?);
        }
        let check = match plan.check {
            Some((at, from, to)) => {
                let check = kind.check.clone();
                let (spot, stamp, begun) = (Spot::new(at, len)?, check.stamp(), check.begun());
                Some(Checked { check, spot, stamp, begun, from, to })
            }
            None => None,
        };
        Some(Self { len, literals: plan.literals()?, runs, fields: kind.fields.len(), check })
    }

    /// What the check covers, where the kind has one.
    pub(crate) fn check(&self) -> Option<&Checked> {
        self.check.as_ref()
    }

    /// Whether `body` is an intact frame of the kind whose layout this is; its values stand in `values` then. `register`:
    /// that of the check behind its span, where it was worked out already.
    #[inline]
    pub(crate) fn read(&self, body: &[u8], register: Option<u32>, values: &mut Vec<Value<'static>>) -> bool {
        if body.len() != self.len || !self.literals.iter().all(|literals| literals.stand(body)) {
            return false;
        }
        if values.len() != self.fields {
            values.resize(self.fields, Value::Int(0));
        }
        let (mut good, mut left) = (true, values.as_mut_slice());
        for run in &self.runs {
            let Some((here, behind)) = left.split_at_mut_checked(run.len()) else { return false };
            good &= run.take(body, here);
            left = behind;
        }
        looked_at(self.len);
        good && self.check.as_ref().is_none_or(|check| check.holds(body, register))
    }
}

impl Literals {
    #[inline]
    fn stand(self, body: &[u8]) -> bool {
        let stand = (word_at(self.from, body) ^ self.bytes) & self.mask == 0;
        looked_at(if stand { 0 } else { self.mask.count_ones() as usize / 8 });
        stand
    }
}

impl Checked {
    #[inline]
    fn holds(&self, body: &[u8], register: Option<u32>) -> bool {
        let value = match register {
            Some(register) => self.check.ended(register),
            None => self.check.value_from(self.begun, body.get(self.from..self.to).unwrap_or_default()),
        };
        let (bytes, mask) = self.stamp.of(value);
        (self.spot.word(body) ^ bytes) & mask == 0
    }
}

impl Run {
    #[inline]
    fn len(&self) -> usize {
        match self {
            Self::Bytes(all) => all.len(),
            Self::Little(all) => all.len(),
            Self::Few(all) => all.len(),
            Self::Other(all) => all.len(),
        }
    }

    /// Writes the values; `false` where one is none or out of range.
    #[inline]
    fn take(&self, body: &[u8], values: &mut [Value<'static>]) -> bool {
        match self {
            Self::Bytes(all) => numbers(all, values, |one| one.read(body)),
            Self::Little(all) => numbers(all, values, |little| little.range.holds(little.read(little.spot.word(body)))),
            Self::Few(all) => numbers(all, values, |few| {
                let (number, good) = few.read(few.spot.word(body));
                let (number, inside) = few.range.holds(number);
                (number, good & inside)
            }),
            Self::Other(all) => all.iter().zip(values).fold(true, |good, (step, value)| step.take(body, value) & good),
        }
    }
}

#[inline]
fn numbers<T>(all: &[T], values: &mut [Value<'static>], read: impl Fn(&T) -> (i64, bool)) -> bool {
    let mut good = true;
    for (one, value) in all.iter().zip(values) {
        let (number, is_good) = read(one);
        *value = Value::Int(number);
        good &= is_good;
    }
    good
}

impl Range {
    fn of(field: &Field) -> Self {
        let (least, most) = field.range.filter(|(least, most)| least <= most).unwrap_or((i64::MIN, i64::MAX));
        Self { least, span: most.wrapping_sub(least) as u64 }
    }

    /// `number`, and whether it lies inside.
    #[inline]
    fn holds(self, number: i64) -> (i64, bool) {
        (number, number.wrapping_sub(self.least) as u64 <= self.span)
    }

    fn holds_real(self, number: f32) -> bool {
        let wide = f64::from(number);
        let most = self.least.wrapping_add(self.span as i64);
        !number.is_nan() && (self.span == u64::MAX || (wide >= self.least as f64 && wide <= most as f64))
    }
}

impl OneByte {
    /// The number, and whether it is one that may be.
    #[inline]
    fn read(&self, body: &[u8]) -> (i64, bool) {
        let Some(byte) = body.get(self.at as usize) else { return (0, false) };
        self.range.holds(widened(u64::from(*byte) & self.mask, self.top))
    }
}

impl Little {
    /// As one of a byte at a known place, where it is no longer.
    fn one_byte(&self) -> Option<OneByte> {
        let Self { spot, mask, top, range } = *self;
        (mask <= 0xFF).then_some(OneByte { at: spot.from + spot.ahead / 8, mask, top, range })
    }

    #[inline]
    fn read(self, raw: u64) -> i64 {
        widened(raw & self.mask, self.top)
    }
}

impl Few {
    /// The number in the lowest bytes of `raw`, and whether there is one.
    #[inline]
    fn read(self, raw: u64) -> (i64, bool) {
        // 0 for a plus, 6 for a minus. 2 and 4 are neighbours in the table of characters.
        let sign = (raw as u8 ^ b'+') & self.sign;
        let strange = (sign & !6) | ((sign ^ sign >> 1) & 2);
        let (size, good) = four_digits(((raw >> self.signs) as u32) << self.pad | self.fill);
        let minus = -i64::from(sign >> 1 & 1);
        ((size ^ minus) - minus, good && strange == 0)
    }
}

impl Step {
    /// Writes the value; `false` where it is none or out of range.
    #[inline]
    fn take(&self, body: &[u8], value: &mut Value<'static>) -> bool {
        let raw = self.spot.word(body);
        let (number, good) = match &self.take {
            Take::Whole(whole) => whole.read(raw),
            Take::Bits { of, low, count } => {
                let (whole, good) = of.read(raw);
                (some_bits(whole, *low, *count), good)
            }
            Take::Words { mask, words } => {
                let place = words.iter().position(|word| *word == raw & mask);
                *value = Value::Word(place.unwrap_or(0));
                return place.is_some();
            }
            Take::Float { big_endian } => {
                let number = f32::from_bits(if *big_endian { (raw as u32).swap_bytes() } else { raw as u32 });
                *value = Value::Real(number);
                return self.range.holds_real(number);
            }
        };
        *value = Value::Int(number);
        good && self.range.holds(number).1
    }
}

impl Whole {
    /// The number in the lowest bytes of `raw`, and whether there is one.
    fn read(self, raw: u64) -> (i64, bool) {
        match self {
            Self::Little(little) => (little.read(raw), true),
            Self::Few(few) => few.read(raw),
            Self::Many { pad, fill, signed: false } => eight_digits(raw << pad | fill),
            Self::Many { pad, fill, signed: true } => with_sign(raw as u8, eight_digits(raw >> 8 << pad | fill)),
            Self::Hex { digits, letters } => hex(raw, digits, letters),
            Self::Big { spare, top } => (widened(raw.swap_bytes() >> spare, top), true),
        }
    }
}

/// The number that four digits are, first one lowest, and whether they are digits.
#[inline]
fn four_digits(text: u32) -> (i64, bool) {
    let ones = text ^ ZEROS as u32;
    let good = (ones | ones.wrapping_add(0x0606_0606)) & 0xF0F0_F0F0 == 0;
    let pairs = (ones.wrapping_mul(10 << 8 | 1) >> 8) & 0x00FF_00FF;
    (i64::from(pairs.wrapping_mul(100 << 16 | 1) >> 16), good)
}

/// As [`four_digits`], of eight digits.
fn eight_digits(text: u64) -> (i64, bool) {
    let ones = text ^ ZEROS;
    let good = (ones | ones.wrapping_add(each(6))) & each(0xF0) == 0;
    let pairs = (ones.wrapping_mul(10 << 8 | 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 << 16 | 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    ((fours.wrapping_mul(10_000 << 32 | 1) >> 32) as i64, good)
}

fn with_sign(sign: u8, (size, good): (i64, bool)) -> (i64, bool) {
    let minus = sign == b'-';
    (if minus { -size } else { size }, good && (minus || sign == b'+'))
}

fn hex(raw: u64, digits: u32, letters: Letters) -> (i64, bool) {
    let bytes = raw.to_le_bytes();
    let mut digits = bytes.iter().take(digits as usize);
    let number = digits.try_fold(0, |all, digit| hex_value(*digit, letters).map(|value| all << 4 | i64::from(value)));
    (number.unwrap_or(0), number.is_some())
}

/// `number` with its bit `top` counted as below zero.
#[inline]
fn widened(number: u64, top: u64) -> i64 {
    (number ^ top).wrapping_sub(top) as i64
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
