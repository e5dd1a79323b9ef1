//! Layouts: the parts of one kind, read from bytes that have their marks taken off.
//!
//! A frame can be wrong in more than one way. The reading stops at the first byte that cannot be placed. Otherwise a
//! wrong check is named first, then the first field that is out of range, an unknown word or no number.

use memchr::memmem;

use crate::damage::Cause;
use crate::examined::looked_at;
use crate::fields::{Field, Read, Sign, Value};
use crate::framing::place_of;
use crate::number;
use crate::profile::{Kind, Part};
use crate::rigid::Rigid;

/// The shortest first literal that by itself tells of a frame.
pub(crate) const PROOF: usize = 4;

/// A value as read; text by its place in the bytes it was read from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Slot {
    Int(i64),
    Real(f32),
    Word(usize),
    Text(usize, usize),
}

impl Slot {
    /// The value, its text taken from `body`.
    pub(crate) fn value(self, body: &[u8]) -> Value<'_> {
        match self {
            Self::Int(number) => Value::Int(number),
            Self::Real(number) => Value::Real(number),
            Self::Word(word) => Value::Word(word),
            Self::Text(from, to) => {
                Value::Text(body.get(from..to).and_then(|text| std::str::from_utf8(text).ok()).unwrap_or_default())
            }
        }
    }
}

/// Where a reading failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Failure {
    /// Parts that were there before it.
    pub(crate) parts: usize,
    pub(crate) cause: Cause,
}

/// What is worked out once about a kind.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    /// Fewest and most bytes of its parts.
    pub(crate) least: usize,
    pub(crate) most: usize,
    /// Fewest bytes of the parts from each one on, and 0 at the end.
    least_from: Vec<usize>,
    /// The bytes behind the check, where nothing but literals stands there.
    behind_check: Option<Vec<u8>>,
    /// The byte right before the check, where a literal stands there.
    announces: Option<u8>,
    /// The short way, where there is one.
    pub(crate) rigid: Option<Rigid>,
}

impl Layout {
    pub(crate) fn new(kind: &Kind) -> Self {
        let sizes: Vec<(usize, usize)> = kind.parts.iter().map(|part| size(kind, part)).collect();
        let mut least_from: Vec<usize> = Vec::with_capacity(sizes.len() + 1);
        least_from.push(0);
        for (least, _) in sizes.iter().rev() {
            least_from.push(least + least_from.last().unwrap_or(&0));
        }
        least_from.reverse();
        let check = kind.parts.iter().position(|part| *part == Part::Check);
        Self {
            least: least_from.first().copied().unwrap_or(0),
            most: sizes.iter().fold(0, |all: usize, (_, most)| all.saturating_add(*most)),
            least_from,
            behind_check: check.and_then(|place| literals(kind.parts.get(place + 1..)?)),
            announces: check.and_then(|place| match kind.parts.get(place.checked_sub(1)?)? {
                Part::Literal(bytes) => bytes.last().copied(),
                _ => None,
            }),
            rigid: Rigid::new(kind),
        }
    }

    /// Whether `body` can have the length of this kind.
    #[inline]
    pub(crate) fn fits(&self, body: &[u8]) -> bool {
        self.least <= body.len() && body.len() <= self.most
    }

    /// Reads the whole of `body` as a frame of `kind`, whose layout this is.
    pub(crate) fn read(&self, kind: &Kind, body: &[u8], slots: &mut Vec<Slot>) -> Result<(), Failure> {
        slots.clear();
        slots.resize(kind.fields.len(), Slot::Int(0));
        let mut at = 0;
        let mut soft = None;
        let mut intact = true;
        for (place, part) in kind.parts.iter().enumerate() {
            let rest = body.get(at..).unwrap_or_default();
            let hard = |cause| Failure { parts: place, cause };
            let before = at;
            match part {
                Part::Literal(bytes) => at += literal(bytes, rest).map_err(hard)?,
                Part::Check => {
                    let on_wire = rest.get(..kind.check.len()).ok_or(hard(Cause::Truncated))?;
                    intact &= check_holds(kind, body, at, on_wire);
                    at += on_wire.len();
                }
                Part::Field(index) => {
                    let field = kind.fields.get(*index).ok_or(hard(Cause::UnknownWord))?;
                    let len = self.extent(kind, place, field, rest).map_err(hard)?;
                    let outcome = leaf(field, rest.get(..len).unwrap_or_default(), at);
                    note(outcome, slots.get_mut(*index), &mut soft);
                    at += len;
                }
                Part::Keyed(keyed) => {
                    let len = self.group_extent(kind, place, rest).ok_or(hard(Cause::Truncated))?;
                    let group = rest.get(..len).unwrap_or_default();
                    keyed.read(kind, group, at, slots, &mut soft).map_err(hard)?;
                    at += len;
                }
            }
            looked_at(at - before);
        }
        let cause = if at < body.len() {
            Some(Cause::Overlong)
        } else if intact {
            bits(kind, slots, &mut soft);
            soft
        } else {
            Some(Cause::BadCheck)
        };
        cause.map_or(Ok(()), |cause| Err(Failure { parts: kind.parts.len(), cause }))
    }

    /// How many bytes at the beginning of `rest` belong to `field`, the part at `place`.
    fn extent(&self, kind: &Kind, place: usize, field: &Field, rest: &[u8]) -> Result<usize, Cause> {
        let len = match fixed(field, rest) {
            Some(len) => len,
            None => self.free_extent(kind, place, field, rest).ok_or(Cause::Truncated)?,
        };
        if len > rest.len() || (len == 0 && rest.is_empty()) { Err(Cause::Truncated) } else { Ok(len) }
    }

    /// How many bytes at the beginning of `rest` belong to the keyed values at `place`.
    fn group_extent(&self, kind: &Kind, place: usize, rest: &[u8]) -> Option<usize> {
        match kind.parts.get(place + 1) {
            None => Some(rest.len()),
            Some(Part::Literal(next)) => ends_at(rest, next),
            Some(_) => rest.len().checked_sub(self.least_from.get(place + 1).copied().unwrap_or(0)),
        }
    }

    fn free_extent(&self, kind: &Kind, place: usize, field: &Field, rest: &[u8]) -> Option<usize> {
        match (kind.parts.get(place + 1), &field.read) {
            (None, _) => Some(rest.len()),
            (Some(Part::Literal(next)), _) => ends_at(rest, next),
            (Some(Part::Field(next)), Read::Word) if kind.fields.get(*next).is_some_and(number::is_free_decimal) => {
                number::word_before(rest)
            }
            (Some(_), Read::Decimal { sign, .. }) => Some(number::extent(rest, 10, *sign)),
            (Some(_), _) => rest.len().checked_sub(self.least_from.get(place + 1).copied().unwrap_or(0)),
        }
    }

    /// Whether `body` begins as a frame of `kind` does: its first literal and, where that is short, behind it a byte
    /// its first field can have. A first literal of one byte alone is too little. Where a field comes first, it and the
    /// part behind it.
    pub(crate) fn begins(&self, kind: &Kind, body: &[u8], slots: &mut Vec<Slot>) -> bool {
        match kind.parts.first() {
            Some(Part::Literal(first)) => body
                .strip_prefix(first.as_slice())
                .is_some_and(|rest| first.len() >= PROOF || behind_short_literal(kind, first.len(), rest)),
            Some(Part::Field(index)) => {
                let first = kind.fields.get(*index).and_then(|field| {
                    let len = self.extent(kind, 0, field, body).ok()?;
                    leaf(field, body.get(..len)?, 0).ok()
                });
                first.is_some() && self.read(kind, body, slots).err().is_none_or(|failure| failure.parts >= 2)
            }
            Some(Part::Keyed(keyed)) => keyed.begins(kind, body),
            Some(Part::Check) | None => false,
        }
    }

    /// Whether the check at the end of `body` holds; `None` where `body` does not end as a frame of `kind` does.
    pub(crate) fn check_at_end(&self, kind: &Kind, body: &[u8]) -> Option<bool> {
        let ahead = body.strip_suffix(self.behind_check.as_deref()?)?;
        let at = ahead.len().checked_sub(kind.check.len())?;
        let on_wire = ahead.get(at..).filter(|on_wire| !on_wire.is_empty())?;
        kind.check.read(on_wire)?;
        let announced =
            self.announces.is_none_or(|byte| at.checked_sub(1).and_then(|place| body.get(place)) == Some(&byte));
        announced.then(|| check_holds(kind, body, at, on_wire))
    }
}

/// Place of the literal `next`, which ends a field.
fn ends_at(rest: &[u8], next: &[u8]) -> Option<usize> {
    let found = match next {
        [byte] => place_of(*byte, rest),
        _ => memmem::find(rest, next),
    };
    // Bytes before it are counted when the field is read.
    looked_at(if found.is_none() { rest.len() } else { 0 });
    found
}

/// Whether `rest` tells, behind a first literal of `len` bytes, that a frame of `kind` has begun.
fn behind_short_literal(kind: &Kind, len: usize, rest: &[u8]) -> bool {
    match (kind.parts.get(1), rest.first().copied()) {
        (None, _) => false,
        (Some(_), None) => len > 1,
        (Some(Part::Field(index)), Some(next)) => kind.fields.get(*index).is_some_and(|field| can_begin(field, next)),
        (Some(Part::Keyed(keyed)), Some(_)) => keyed.begins(kind, rest),
        (Some(_), Some(_)) => true,
    }
}

fn literals(parts: &[Part]) -> Option<Vec<u8>> {
    let mut all = Vec::new();
    for part in parts {
        let Part::Literal(bytes) = part else {
            return None;
        };
        all.extend(bytes);
    }
    Some(all)
}

pub(crate) fn literal(bytes: &[u8], rest: &[u8]) -> Result<usize, Cause> {
    looked_at(usize::from(rest.first() != bytes.first()));
    if rest.starts_with(bytes) {
        Ok(bytes.len())
    } else if bytes.starts_with(rest) {
        Err(Cause::Truncated)
    } else {
        Err(Cause::UnknownWord)
    }
}

fn check_holds(kind: &Kind, body: &[u8], at: usize, on_wire: &[u8]) -> bool {
    let span = at.checked_sub(kind.check.leave_out).and_then(|end| body.get(kind.check.skip..end));
    span.is_some_and(|span| kind.check.read(on_wire) == Some(kind.check.value(span)))
}

pub(crate) fn note(outcome: Result<Slot, Cause>, slot: Option<&mut Slot>, soft: &mut Option<Cause>) {
    match (outcome, slot) {
        (Ok(value), Some(slot)) => *slot = value,
        (Err(cause), _) => {
            soft.get_or_insert(cause);
        }
        (Ok(_), None) => {}
    }
}

/// Fewest and most bytes of a part.
fn size(kind: &Kind, part: &Part) -> (usize, usize) {
    match part {
        Part::Literal(bytes) => (bytes.len(), bytes.len()),
        Part::Check => (kind.check.len(), kind.check.len()),
        Part::Field(index) => kind.fields.get(*index).map_or((0, 0), field_size),
        Part::Keyed(keyed) => keyed.size(kind),
    }
}

pub(crate) fn field_size(field: &Field) -> (usize, usize) {
    let exact = |len: u8| (usize::from(len), usize::from(len));
    match field.read {
        Read::Decimal { digits: Some(digits), sign } => {
            let digits = usize::from(digits);
            (digits + usize::from(sign == Sign::Must), digits + usize::from(sign != Sign::Never))
        }
        Read::Hex { digits: Some(digits), .. } => exact(digits),
        Read::Word if !field.words.is_empty() => word_size(field),
        Read::Decimal { digits: None, .. } | Read::Hex { digits: None, .. } | Read::Word => (1, usize::MAX),
        Read::Binary { bytes, .. } => exact(bytes),
        Read::Float { .. } => exact(4),
        Read::Bits { .. } => exact(0),
    }
}

fn word_size(field: &Field) -> (usize, usize) {
    let lengths = field.words.iter().map(String::len);
    lengths.fold((usize::MAX, 0), |(least, most), len| (least.min(len), most.max(len)))
}

/// Length of a field whose shape alone says it. A word is never one: a wrong word may have any length.
pub(crate) fn fixed(field: &Field, rest: &[u8]) -> Option<usize> {
    match (field.read, field_size(field)) {
        (Read::Decimal { digits: Some(_), sign: Sign::May }, (least, _)) => {
            Some(least + usize::from(rest.first().is_some_and(|byte| matches!(byte, b'+' | b'-'))))
        }
        (Read::Word, _) => None,
        (_, (least, most)) => (least == most).then_some(least),
    }
}

pub(crate) fn can_begin(field: &Field, byte: u8) -> bool {
    match field.read {
        Read::Decimal { sign, .. } => {
            number::is_digit(byte, 10) || (sign != Sign::Never && matches!(byte, b'+' | b'-'))
        }
        Read::Hex { letters, .. } => number::is_digit(byte, 16) && letters.allow(byte),
        Read::Word if !field.words.is_empty() => field.words.iter().any(|word| word.as_bytes().first() == Some(&byte)),
        _ => true,
    }
}

/// The value of one field from exactly its bytes, which stand at `at`.
pub(crate) fn leaf(field: &Field, text: &[u8], at: usize) -> Result<Slot, Cause> {
    match field.read {
        Read::Decimal { digits, sign } => whole(field, number::decimal(text, digits, sign)),
        Read::Hex { digits, letters } => whole(field, number::hex(text, digits, letters)),
        Read::Word => word(field, text, at),
        Read::Binary { signed, big_endian, .. } => whole(field, Some(binary(text, signed, big_endian))),
        Read::Float { big_endian } => float(field, text, big_endian),
        Read::Bits { .. } => Err(Cause::UnknownWord),
    }
}

fn whole(field: &Field, number: Option<i64>) -> Result<Slot, Cause> {
    let number = number.ok_or(Cause::NotANumber)?;
    match field.range {
        Some((least, most)) if number < least || number > most => Err(Cause::OutOfRange),
        _ => Ok(Slot::Int(number)),
    }
}

fn word(field: &Field, text: &[u8], at: usize) -> Result<Slot, Cause> {
    if field.words.is_empty() {
        return match std::str::from_utf8(text) {
            Ok(word) if !word.is_empty() => Ok(Slot::Text(at, at + text.len())),
            _ => Err(Cause::UnknownWord),
        };
    }
    let known = field.words.iter().position(|word| word.as_bytes() == text);
    known.map(Slot::Word).ok_or(Cause::UnknownWord)
}

fn binary(bytes: &[u8], signed: bool, big_endian: bool) -> i64 {
    let join = |all: i64, byte: &u8| all << 8 | i64::from(*byte);
    let number = if big_endian { bytes.iter().fold(0, join) } else { bytes.iter().rev().fold(0, join) };
    let spare = 64 - 8 * bytes.len().clamp(1, 8) as u32;
    if signed { number << spare >> spare } else { number }
}

fn float(field: &Field, bytes: &[u8], big_endian: bool) -> Result<Slot, Cause> {
    let bytes: [u8; 4] = bytes.try_into().map_err(|_| Cause::NotANumber)?;
    let number = if big_endian { f32::from_be_bytes(bytes) } else { f32::from_le_bytes(bytes) };
    match field.range {
        _ if number.is_nan() => Err(Cause::NotANumber),
        Some((least, most)) if f64::from(number) < least as f64 || f64::from(number) > most as f64 => {
            Err(Cause::OutOfRange)
        }
        _ => Ok(Slot::Real(number)),
    }
}

/// Fills the fields made from bits of another.
fn bits(kind: &Kind, slots: &mut [Slot], soft: &mut Option<Cause>) {
    for (index, field) in kind.fields.iter().enumerate() {
        let Read::Bits { of, low, count } = field.read else {
            continue;
        };
        let Some(Slot::Int(whole_field)) = slots.get(of).copied() else {
            continue;
        };
        note(whole(field, Some(some_bits(whole_field, low, count))), slots.get_mut(index), soft);
    }
}

/// `count` bits of `number` from bit `low` on.
pub(crate) fn some_bits(number: i64, low: u8, count: u8) -> i64 {
    let mask = 1_i64.checked_shl(u32::from(count)).unwrap_or(0).wrapping_sub(1);
    number.checked_shr(u32::from(low)).unwrap_or(0) & mask
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::check::Check;
    use crate::fields::Letters;

    fn field(read: Read, words: &[&str]) -> Field {
        let words = words.iter().map(ToString::to_string).collect();
        Field { name: String::new(), read, range: None, words, offset: 0, multiply: 1, divide: 1 }
    }

    fn kind(parts: Vec<Part>, fields: Vec<Field>) -> Kind {
        Kind { name: String::new(), parts, fields, check: Check::none() }
    }

    fn literal(text: &str) -> Part {
        Part::Literal(text.as_bytes().to_vec())
    }

    fn read(kind: &Kind, body: &[u8]) -> Result<Vec<Slot>, Failure> {
        let mut slots = Vec::new();
        Layout::new(kind).read(kind, body, &mut slots).map(|()| slots)
    }

    fn begins(kind: &Kind, body: &str) -> bool {
        Layout::new(kind).begins(kind, body.as_bytes(), &mut Vec::new())
    }

    // IEEE 754: 3FC00000 is 1.5, 7FC00000 is no number.
    #[test]
    fn binary_numbers_in_both_orders() {
        let two = |signed, big_endian| field(Read::Binary { bytes: 2, signed, big_endian }, &[]);
        let rows = [
            (two(false, true), b"\xFE\x0C".as_slice(), Ok(Slot::Int(0xFE0C))),
            (two(false, false), b"\xFE\x0C", Ok(Slot::Int(0x0CFE))),
            (two(true, true), b"\xFE\x0C", Ok(Slot::Int(-500))),
            (field(Read::Float { big_endian: true }, &[]), b"\x3F\xC0\0\0", Ok(Slot::Real(1.5))),
            (field(Read::Float { big_endian: false }, &[]), b"\0\0\xC0\x3F", Ok(Slot::Real(1.5))),
            (field(Read::Float { big_endian: true }, &[]), b"\x7F\xC0\0\0", Err(Cause::NotANumber)),
            (two(false, true), b"\xFE", Err(Cause::Truncated)),
            (two(false, true), b"\xFE\x0C\0", Err(Cause::Overlong)),
        ];
        for (field, body, expected) in rows {
            let found = read(&kind(vec![Part::Field(0)], vec![field]), body);
            assert_eq!(found.map(|slots| slots[0]).map_err(|failure| failure.cause), expected, "{body:02X?}");
        }
    }

    #[test]
    fn bits_come_out_of_their_field() {
        let whole = field(Read::Hex { digits: Some(2), letters: Letters::Either }, &[]);
        let bits = |low, count| field(Read::Bits { of: 0, low, count }, &[]);
        let kind = kind(vec![Part::Field(0)], vec![whole, bits(0, 2), bits(2, 5), bits(7, 1)]);
        let expected = [0b1011_0110, 0b10, 0b0_1101, 1].map(Slot::Int);
        assert_eq!(read(&kind, b"B6").unwrap(), expected);
    }

    #[test]
    fn words_end_where_the_next_part_begins() {
        let word = field(Read::Word, &[]);
        let number = field(Read::Decimal { digits: Some(2), sign: Sign::Never }, &[]);
        let named = kind(vec![Part::Field(0), literal("="), Part::Field(1)], vec![word.clone(), number.clone()]);
        assert_eq!(read(&named, b"pace=12").unwrap(), [Slot::Text(0, 4), Slot::Int(12)]);
        assert_eq!(read(&named, b"pace").unwrap_err().cause, Cause::Truncated);
        assert_eq!(read(&named, b"=12").unwrap_err().cause, Cause::UnknownWord);
        let close = kind(vec![Part::Field(0), Part::Field(1)], vec![word, number]);
        assert_eq!(read(&close, b"pace12").unwrap(), [Slot::Text(0, 4), Slot::Int(12)]);
    }

    #[test]
    fn a_word_ends_where_a_free_number_begins() {
        let number = |sign| field(Read::Decimal { digits: None, sign }, &[]);
        let close =
            |sign| kind(vec![Part::Field(0), Part::Field(1)], vec![field(Read::Word, &["F", "go"]), number(sign)]);
        let rows = [
            (Sign::Never, "F180", Ok(vec![Slot::Word(0), Slot::Int(180)])),
            (Sign::May, "go-5", Ok(vec![Slot::Word(1), Slot::Int(-5)])),
            (Sign::Never, "go-5", Err(Cause::NotANumber)),
            (Sign::Never, "X1", Err(Cause::UnknownWord)),
            (Sign::Never, "F", Err(Cause::Truncated)),
            (Sign::Never, "5", Err(Cause::Truncated)),
        ];
        for (sign, body, expected) in rows {
            assert_eq!(read(&close(sign), body.as_bytes()).map_err(|failure| failure.cause), expected, "{body}");
        }
    }

    #[test]
    fn a_beginning_needs_more_than_one_letter() {
        let bare = kind(vec![literal("F")], Vec::new());
        let number = field(Read::Decimal { digits: None, sign: Sign::May }, &[]);
        let lettered = kind(vec![literal("F"), Part::Field(0)], vec![number.clone()]);
        let worded = kind(vec![literal("go"), Part::Field(0)], vec![field(Read::Word, &["N", "S"])]);
        let spoken = kind(vec![literal("pace,"), Part::Field(0)], vec![number.clone()]);
        let open = kind(vec![Part::Field(0), literal(","), Part::Field(1)], vec![field(Read::Word, &["way"]), number]);
        let rows = [
            (&bare, "Free heap", false),
            (&lettered, "Free heap", false),
            (&lettered, "F-3x", true),
            (&lettered, "F", false),
            (&worded, "goX", false),
            (&worded, "goNx", true),
            (&worded, "go", true),
            (&spoken, "pace,x", true),
            (&spoken, "pac", false),
            (&open, "way,x", true),
            (&open, "hello, world", false),
        ];
        for (kind, body, expected) in rows {
            assert_eq!(begins(kind, body), expected, "{body}");
        }
    }
}
