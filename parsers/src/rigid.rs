//! Rigid layouts: where every part has one width, each stands at a place known beforehand and is read eight bytes at
//! a time.
//!
//! This is the short way for intact frames. It says only whether a frame is intact; why it is not, and everything
//! about layouts that are not rigid, is the business of [`crate::layout`], which agrees with it on every body.
//!
//! Eight digits are turned into a number by three multiplications, each joining neighbours: ten times the even places
//! plus the odd ones, then pairs by a hundred, then fours by ten thousand.

use crate::examined::looked_at;
use crate::fields::{Field, Read, Sign, Value};
use crate::layout::{field_size, some_bits};
use crate::number::hex_value;
use crate::profile::{Kind, Part};

/// Bytes read at a time.
const WORD: usize = 8;
const ZEROS: u64 = 0x3030_3030_3030_3030;

/// How a kind of one length is read.
#[derive(Clone, Debug)]
pub(crate) struct Rigid {
    pub(crate) len: usize,
    literals: Vec<Literal>,
    /// One for each field, in the kind's order.
    steps: Vec<Step>,
    /// Place of the check, of the byte behind it, of its span's first byte and of the one behind that.
    check: Option<(usize, usize, usize, usize)>,
}

/// Where the word that holds some bytes begins, and how many of its bits are before them.
#[derive(Clone, Copy, Debug)]
struct Spot {
    from: usize,
    ahead: u32,
}

impl Spot {
    /// The bytes at `at` in a body of `len` bytes; `None` where that is shorter than a word.
    fn new(at: usize, len: usize) -> Option<Self> {
        let from = at.min(len.checked_sub(WORD)?);
        Some(Self { from, ahead: 8 * (at - from) as u32 })
    }

    /// The bytes there, first one lowest; 0 where `body` is too short.
    #[inline]
    fn word(self, body: &[u8]) -> u64 {
        let word = body.get(self.from..).and_then(|rest| rest.first_chunk::<WORD>());
        u64::from_le_bytes(*word.unwrap_or(&[0; WORD])) >> self.ahead
    }
}

/// Bytes that stand as they are.
#[derive(Clone, Copy, Debug)]
struct Literal {
    spot: Spot,
    bytes: u64,
    mask: u64,
}

impl Literal {
    #[inline]
    fn stands(self, body: &[u8]) -> bool {
        looked_at(self.mask.count_ones() as usize / 8);
        (self.spot.word(body) ^ self.bytes) & self.mask == 0
    }
}

/// One field.
#[derive(Clone, Debug)]
struct Step {
    spot: Spot,
    take: Take,
    least: i64,
    /// Largest value less the least.
    span: u64,
}

#[derive(Clone, Debug)]
enum Take {
    Byte,
    Whole(Whole),
    Words { mask: u64, words: Vec<u64> },
    Float { big_endian: bool },
    Bits { of: Whole, low: u8, count: u8 },
}

/// A whole number.
#[derive(Clone, Copy, Debug)]
enum Whole {
    /// `pad`: bits above the digits; `fill`: zeros written in their place.
    Digits {
        pad: u32,
        fill: u64,
        signed: bool,
    },
    Hex {
        digits: u32,
    },
    /// `spare`: bits of a word beyond the number.
    Little {
        spare: u32,
        signed: bool,
    },
    Big {
        spare: u32,
        signed: bool,
    },
}

impl Rigid {
    /// How `kind` is read; `None` where it is not rigid, or shorter than a word.
    pub(crate) fn new(kind: &Kind) -> Option<Self> {
        let mut plan = Planned { places: vec![None; kind.fields.len()], ..Planned::default() };
        for part in &kind.parts {
            plan.part(kind, part)?;
        }
        let len = plan.at;
        let literal = |(at, bytes): &(usize, Vec<u8>)| {
            let mask = 1_u64.checked_shl(8 * bytes.len() as u32).unwrap_or(0).wrapping_sub(1);
            Some(Literal { spot: Spot::new(*at, len)?, bytes: padded(bytes), mask })
        };
        let literals = plan.literals.iter().map(literal).collect::<Option<Vec<_>>>()?;
        let steps = (0..kind.fields.len()).map(|field| plan.step(kind, field, len)).collect::<Option<Vec<_>>>()?;
        Some(Self { len, literals, steps, check: plan.check })
    }

    /// Whether `body` is an intact frame of `kind`, whose layout this is; its values stand in `values` then.
    #[inline]
    pub(crate) fn read(&self, kind: &Kind, body: &[u8], values: &mut Vec<Value<'static>>) -> bool {
        if body.len() != self.len {
            return false;
        }
        if !self.literals.iter().all(|literal| literal.stands(body)) {
            return false;
        }
        looked_at(self.len);
        if values.len() != self.steps.len() {
            values.resize(self.steps.len(), Value::Int(0));
        }
        let mut good = true;
        for (step, value) in self.steps.iter().zip(values.iter_mut()) {
            good &= step.take(body, value);
        }
        good && self.checked(kind, body)
    }

    #[inline]
    fn checked(&self, kind: &Kind, body: &[u8]) -> bool {
        let Some((at, behind, from, to)) = self.check else { return true };
        match (body.get(at..behind), body.get(from..to)) {
            (Some(on_wire), Some(span)) => kind.check.read(on_wire) == Some(kind.check.value(span)),
            _ => false,
        }
    }
}

impl Step {
    /// Writes the value; `false` where it is none or out of range.
    #[inline]
    fn take(&self, body: &[u8], value: &mut Value<'static>) -> bool {
        let raw = self.spot.word(body);
        let (number, good) = match &self.take {
            Take::Byte => (raw as u8 as i64, true),
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
                return self.holds(number);
            }
        };
        *value = Value::Int(number);
        good & (number.wrapping_sub(self.least) as u64 <= self.span)
    }

    fn holds(&self, number: f32) -> bool {
        let wide = f64::from(number);
        let most = self.least.wrapping_add(self.span as i64);
        !number.is_nan() && (self.span == u64::MAX || (wide >= self.least as f64 && wide <= most as f64))
    }
}

impl Whole {
    /// The number in the lowest bytes of `raw`, and whether there is one.
    #[inline]
    fn read(self, raw: u64) -> (i64, bool) {
        match self {
            Self::Digits { pad, fill, signed: false } => decimal(raw << pad | fill),
            Self::Digits { pad, fill, signed: true } => {
                let (size, good) = decimal(raw >> 8 << pad | fill);
                let minus = raw as u8 == b'-';
                (if minus { -size } else { size }, good & (minus | (raw as u8 == b'+')))
            }
            Self::Hex { digits } => hex(raw, digits),
            Self::Little { spare, signed } => (widened(raw << spare, spare, signed), true),
            Self::Big { spare, signed } => (widened(raw.swap_bytes() >> spare << spare, spare, signed), true),
        }
    }
}

/// The number that eight digits are, first one lowest, and whether they are digits.
#[inline]
fn decimal(text: u64) -> (i64, bool) {
    let high = 0xF0F0_F0F0_F0F0_F0F0;
    let good = (text & high) | ((text.wrapping_add(0x0606_0606_0606_0606) & high) >> 4) == ZEROS | (ZEROS >> 4);
    let ones = text & 0x0F0F_0F0F_0F0F_0F0F;
    let pairs = (ones.wrapping_mul(10 << 8 | 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 << 16 | 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    ((fours.wrapping_mul(10_000 << 32 | 1) >> 32) as i64, good)
}

fn hex(raw: u64, digits: u32) -> (i64, bool) {
    let bytes = raw.to_le_bytes();
    let mut digits = bytes.iter().take(digits as usize);
    let number = digits.try_fold(0, |all, digit| hex_value(*digit).map(|value| all << 4 | i64::from(value)));
    (number.unwrap_or(0), number.is_some())
}

#[inline]
fn widened(raised: u64, spare: u32, signed: bool) -> i64 {
    if signed { raised as i64 >> spare } else { (raised >> spare) as i64 }
}

/// The parts so far.
#[derive(Default)]
struct Planned {
    at: usize,
    literals: Vec<(usize, Vec<u8>)>,
    /// Place of each field.
    places: Vec<Option<usize>>,
    check: Option<(usize, usize, usize, usize)>,
}

impl Planned {
    fn part(&mut self, kind: &Kind, part: &Part) -> Option<()> {
        match part {
            Part::Literal(bytes) => {
                for piece in bytes.chunks(WORD) {
                    self.literals.push((self.at, piece.to_vec()));
                    self.at += piece.len();
                }
            }
            Part::Field(index) => {
                let (len, most) = field_size(kind.fields.get(*index)?);
                let rigid = len == most && (1..=WORD).contains(&len);
                let known = self.places.get_mut(*index)?.replace(self.at);
                self.at += len;
                return (rigid && known.is_none()).then_some(());
            }
            Part::Check => {
                let to = self.at.checked_sub(kind.check.leave_out)?;
                let from = Some(kind.check.skip).filter(|skip| *skip <= to)?;
                let behind = self.at + kind.check.len();
                let known = self.check.replace((self.at, behind, from, to));
                self.at = behind;
                return known.is_none().then_some(());
            }
            Part::Keyed(_) => return None,
        }
        Some(())
    }

    fn step(&self, kind: &Kind, index: usize, len: usize) -> Option<Step> {
        let field = kind.fields.get(index)?;
        let (place, take) = match (field.read, whole(field)) {
            (Read::Bits { of, low, count }, _) => {
                let parent = kind.fields.get(of).filter(|_| of < index)?;
                (of, Take::Bits { of: whole(parent)?, low, count })
            }
            (Read::Binary { bytes: 1, signed: false, .. }, _) => (index, Take::Byte),
            (_, Some(whole)) => (index, Take::Whole(whole)),
            (Read::Float { big_endian }, _) => (index, Take::Float { big_endian }),
            (Read::Word, _) => (index, words(field)?),
            _ => return None,
        };
        let spot = Spot::new((*self.places.get(place)?)?, len)?;
        let (least, most) = field.range.filter(|(least, most)| least <= most).unwrap_or((i64::MIN, i64::MAX));
        Some(Step { spot, take, least, span: most.wrapping_sub(least) as u64 })
    }
}

/// How a whole number is read; `None` where `field` is none, or of no fixed width.
fn whole(field: &Field) -> Option<Whole> {
    match field.read {
        Read::Decimal { digits: Some(digits @ 1..=8), sign: sign @ (Sign::Never | Sign::Must) } => {
            let pad = 64 - 8 * u32::from(digits);
            let fill = ZEROS & 1_u64.checked_shl(pad).unwrap_or(0).wrapping_sub(1);
            Some(Whole::Digits { pad, fill, signed: sign == Sign::Must })
        }
        Read::Hex { digits: Some(digits @ 1..=8) } => Some(Whole::Hex { digits: digits.into() }),
        Read::Binary { bytes: bytes @ 1..=4, signed, big_endian } => {
            let spare = 64 - 8 * u32::from(bytes);
            Some(if big_endian { Whole::Big { spare, signed } } else { Whole::Little { spare, signed } })
        }
        _ => None,
    }
}

fn words(field: &Field) -> Option<Take> {
    let bits = 8 * field.words.first()?.len() as u32;
    let mask = u64::MAX.checked_shr(64_u32.checked_sub(bits)?)?;
    Some(Take::Words { mask, words: field.words.iter().map(|word| padded(word.as_bytes())).collect() })
}

/// The bytes of `word` as a number, first one lowest.
fn padded(word: &[u8]) -> u64 {
    word.iter().take(WORD).rev().fold(0, |all, byte| all << 8 | u64::from(*byte))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::check::{Check, Sum, Written};
    use crate::layout::Layout;

    fn read() -> impl Strategy<Value = Read> {
        let sign = prop_oneof![Just(Sign::Never), Just(Sign::Must), Just(Sign::May)];
        prop_oneof![
            (1..10_u8, sign).prop_map(|(digits, sign)| Read::Decimal { digits: Some(digits), sign }),
            (1..10_u8).prop_map(|digits| Read::Hex { digits: Some(digits) }),
            Just(Read::Word),
            (1..5_u8, any::<bool>(), any::<bool>()).prop_map(|(bytes, signed, big_endian)| Read::Binary {
                bytes,
                signed,
                big_endian
            }),
            any::<bool>().prop_map(|big_endian| Read::Float { big_endian }),
        ]
    }

    fn field() -> impl Strategy<Value = Field> {
        let range = proptest::option::of((-40..0_i64, 0..40_i64));
        let words = prop_oneof![Just(vec!["go", "no"]), Just(vec!["ahead", "astern"]), Just(vec![])];
        (read(), range, words).prop_map(|(read, range, words)| Field {
            name: String::new(),
            read,
            range,
            words: words.into_iter().map(str::to_owned).collect(),
            offset: 0,
            multiply: 1,
            divide: 1,
        })
    }

    fn kind() -> impl Strategy<Value = Kind> {
        let literal = proptest::collection::vec(prop_oneof![Just(b'+'), Just(b'1'), any::<u8>()], 0..11);
        let piece = (literal, field());
        let check = (0..3_usize, 0..3_usize, any::<bool>()).prop_map(|(skip, leave_out, none)| Check {
            sum: if none { Sum::None } else { Sum::Xor8 },
            written: Written::HexDigits,
            skip,
            leave_out,
            mark: Vec::new(),
        });
        (proptest::collection::vec(piece, 1..5), check, any::<bool>()).prop_map(|(pieces, check, bits)| {
            let (mut parts, mut fields) = (Vec::new(), Vec::new());
            for (literal, field) in pieces {
                if !literal.is_empty() {
                    parts.push(Part::Literal(literal));
                }
                parts.push(Part::Field(fields.len()));
                fields.push(field);
            }
            if bits {
                let read = Read::Bits { of: 0, low: 1, count: 3 };
                fields.push(Field { read, words: Vec::new(), range: Some((0, 5)), ..fields[0].clone() });
            }
            if !check.is_none() {
                parts.push(Part::Check);
            }
            Kind { name: String::new(), parts, fields, check }
        })
    }

    /// Bytes that often have the shape of `kind`.
    fn body(kind: &Kind, mut draw: u64) -> Vec<u8> {
        let mut next = || {
            draw = draw.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (draw >> 33) as usize
        };
        let mut all = Vec::new();
        for part in &kind.parts {
            match part {
                Part::Literal(bytes) => all.extend_from_slice(bytes),
                Part::Field(index) => {
                    let field = &kind.fields[*index];
                    let (len, _) = field_size(field);
                    match field.read {
                        Read::Word => all.extend(field.words.first().map_or("word", String::as_str).bytes()),
                        Read::Decimal { .. } | Read::Hex { .. } => {
                            all.extend((0..len).map(|_| b"+-0000112379aF"[next() % 14]));
                        }
                        _ => all.extend((0..len).map(|_| [0, 1, 2, 0xFF, 0x7F, 0xC0][next() % 6])),
                    }
                }
                Part::Check => {
                    let span =
                        all.len().checked_sub(kind.check.leave_out).and_then(|end| all.get(kind.check.skip..end));
                    let value = span.map_or(0, |span| kind.check.value(span));
                    kind.check.write(value, &mut all);
                }
                Part::Keyed(_) => {}
            }
        }
        if next() % 4 == 0 && !all.is_empty() {
            let at = next() % all.len();
            all[at] ^= 1 << (next() % 8);
        }
        all
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 20_000, ..ProptestConfig::default() })]

        #[test]
        fn the_short_way_says_what_the_long_way_says(kind in kind(), draw in any::<u64>()) {
            let layout = Layout::new(&kind);
            let body = body(&kind, draw);
            let (mut slots, mut values) = (Vec::new(), Vec::new());
            let long = layout.read(&kind, &body, &mut slots).is_ok();
            if let Some(rigid) = &layout.rigid {
                prop_assert_eq!(rigid.read(&kind, &body, &mut values), long, "{:?} {}", kind, body.escape_ascii());
                if long {
                    let same = slots.iter().map(|slot| slot.value(&body)).eq(values.iter().copied());
                    prop_assert!(same, "{:?} {:?}", slots, values);
                }
            }
        }
    }

    #[test]
    fn a_kind_of_one_width_is_rigid_and_others_are_not() {
        let number = |read| Field {
            name: String::new(),
            read,
            range: None,
            words: Vec::new(),
            offset: 0,
            multiply: 1,
            divide: 1,
        };
        let of = |read| {
            let parts = vec![Part::Literal(b"pace of ".to_vec()), Part::Field(0)];
            Rigid::new(&Kind { name: String::new(), parts, fields: vec![number(read)], check: Check::none() }).is_some()
        };
        assert!(of(Read::Decimal { digits: Some(3), sign: Sign::Must }) && of(Read::Float { big_endian: true }));
        assert!(!of(Read::Decimal { digits: None, sign: Sign::Never }));
        assert!(!of(Read::Decimal { digits: Some(3), sign: Sign::May }) && !of(Read::Word));
    }
}
