//! Rigid layouts: where every part has one width, each stands at a place known beforehand and is read eight bytes at
//! a time.
//!
//! This is the short way for intact frames. It says only whether a frame is intact; why it is not, and everything
//! about layouts that are not rigid, is the business of [`crate::layout`], which agrees with it on every body.
//!
//! Eight digits are turned into a number by three multiplications, each joining neighbours: ten times the even places
//! plus the odd ones, then pairs by a hundred, then fours by ten thousand.

use crate::fields::{Field, Read, Sign, Value};
use crate::layout::{field_size, some_bits};
use crate::number::hex_value;
use crate::profile::{Kind, Part};

/// Bytes read at a time.
const WORD: usize = 8;
const ZEROS: u64 = 0x3030_3030_3030_3030;

/// The steps by which a kind of one length is read.
#[derive(Clone, Debug)]
pub(crate) struct Rigid {
    len: usize,
    steps: Vec<Step>,
    /// Place of the check, of its span's first byte and of the one behind it.
    check: Option<(usize, usize, usize)>,
    bits: Vec<Bits>,
    fields: usize,
}

/// Bytes that stand as they are and the value behind them, eight bytes at most together.
#[derive(Clone, Debug)]
struct Step {
    /// The word that holds them begins here.
    from: usize,
    /// Bits of that word before them.
    ahead: u32,
    literal: u64,
    mask: u64,
    /// Bits of the literal.
    behind: u32,
    take: Take,
    /// Where the value goes.
    slot: usize,
    least: i64,
    most: i64,
}

#[derive(Clone, Debug)]
enum Take {
    Nothing,
    /// `pad`: bits above the digits; `fill`: zeros written in their place.
    Digits {
        pad: u32,
        fill: u64,
        signed: bool,
    },
    Hex {
        digits: u32,
    },
    Words {
        mask: u64,
        words: Vec<u64>,
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
    Float {
        big_endian: bool,
    },
}

#[derive(Clone, Copy, Debug)]
struct Bits {
    of: usize,
    low: u8,
    count: u8,
    slot: usize,
    least: i64,
    most: i64,
}

impl Rigid {
    /// The steps of `kind`; `None` where it is not rigid, or shorter than a word.
    pub(crate) fn new(kind: &Kind) -> Option<Self> {
        let mut plan = Planned::default();
        for part in &kind.parts {
            plan.part(kind, part)?;
        }
        plan.literal();
        let len = plan.at;
        let steps = plan.steps.into_iter().map(|step| step.placed(len)).collect::<Option<Vec<_>>>()?;
        Some(Self { len, steps, check: plan.check, bits: bits(kind)?, fields: kind.fields.len() })
    }

    /// Whether `body` is an intact frame of `kind`, whose steps these are; its values stand in `values` then.
    #[inline]
    pub(crate) fn read(&self, kind: &Kind, body: &[u8], values: &mut Vec<Value<'static>>) -> bool {
        if body.len() != self.len {
            return false;
        }
        values.resize(self.fields, Value::Int(0));
        let intact = self.steps.iter().all(|step| step.take(body, values)) && self.checked(kind, body);
        intact && self.bits.iter().all(|bits| bits.take(values))
    }

    fn checked(&self, kind: &Kind, body: &[u8]) -> bool {
        let Some((at, from, to)) = self.check else { return true };
        let on_wire = body.get(at..at + kind.check.len());
        let span = body.get(from..to);
        let (Some(on_wire), Some(span)) = (on_wire, span) else { return false };
        kind.check.read(on_wire) == Some(kind.check.value(span))
    }
}

impl Step {
    /// The value goes to its place; `false` where the bytes are not as they should be.
    #[inline]
    fn take(&self, body: &[u8], values: &mut [Value<'static>]) -> bool {
        let Some(word) = body.get(self.from..).and_then(|rest| rest.first_chunk::<WORD>()) else { return false };
        let word = u64::from_le_bytes(*word) >> self.ahead;
        if (word ^ self.literal) & self.mask != 0 {
            return false;
        }
        let raw = word.checked_shr(self.behind).unwrap_or(0);
        let number = match &self.take {
            Take::Nothing => return true,
            Take::Digits { pad, fill, signed } => decimal(raw, *pad, *fill, *signed),
            Take::Hex { digits } => hex(raw, *digits),
            Take::Words { mask, words } => {
                let place = words.iter().position(|word| *word == raw & mask);
                return put(values, self.slot, place.map(Value::Word));
            }
            Take::Little { spare, signed } => Some(widened(raw << spare, *spare, *signed)),
            Take::Big { spare, signed } => Some(widened(raw.swap_bytes() >> spare << spare, *spare, *signed)),
            Take::Float { big_endian } => return put(values, self.slot, self.float(raw as u32, *big_endian)),
        };
        let number = number.filter(|number| (self.least..=self.most).contains(number));
        put(values, self.slot, number.map(Value::Int))
    }

    fn float(&self, raw: u32, big_endian: bool) -> Option<Value<'static>> {
        let number = f32::from_bits(if big_endian { raw.swap_bytes() } else { raw });
        let wide = f64::from(number);
        let within = self.least == i64::MIN || (wide >= self.least as f64 && wide <= self.most as f64);
        (!number.is_nan() && within).then_some(Value::Real(number))
    }

    /// With its word inside a body of `len` bytes.
    fn placed(self, len: usize) -> Option<Self> {
        let from = self.from.min(len.checked_sub(WORD)?);
        Some(Self { ahead: 8 * (self.from - from) as u32, from, ..self })
    }
}

#[inline]
fn put(values: &mut [Value<'static>], slot: usize, value: Option<Value<'static>>) -> bool {
    match (values.get_mut(slot), value) {
        (Some(place), Some(value)) => {
            *place = value;
            true
        }
        _ => false,
    }
}

#[inline]
fn decimal(raw: u64, pad: u32, fill: u64, signed: bool) -> Option<i64> {
    let (digits, minus) = match (signed, raw as u8) {
        (false, _) => (raw, false),
        (true, b'+') => (raw >> 8, false),
        (true, b'-') => (raw >> 8, true),
        (true, _) => return None,
    };
    let all = digits << pad | fill;
    let high = 0xF0F0_F0F0_F0F0_F0F0;
    if all & high != ZEROS || all.wrapping_add(0x0606_0606_0606_0606) & high != ZEROS {
        return None;
    }
    let ones = all & 0x0F0F_0F0F_0F0F_0F0F;
    let pairs = (ones.wrapping_mul(10 << 8 | 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 << 16 | 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    let number = (fours.wrapping_mul(10_000 << 32 | 1) >> 32) as i64;
    Some(if minus { -number } else { number })
}

fn hex(raw: u64, digits: u32) -> Option<i64> {
    let bytes = raw.to_le_bytes();
    let mut digits = bytes.iter().take(digits as usize);
    digits.try_fold(0, |all, digit| hex_value(*digit).map(|value| all << 4 | i64::from(value)))
}

#[inline]
fn widened(raised: u64, spare: u32, signed: bool) -> i64 {
    if signed { raised as i64 >> spare } else { (raised >> spare) as i64 }
}

impl Bits {
    fn take(self, values: &mut [Value<'static>]) -> bool {
        let Some(Value::Int(whole)) = values.get(self.of) else { return false };
        let number = some_bits(*whole, self.low, self.count);
        let within = (self.least..=self.most).contains(&number);
        put(values, self.slot, within.then_some(Value::Int(number)))
    }
}

fn bits(kind: &Kind) -> Option<Vec<Bits>> {
    let mut all = Vec::new();
    for (slot, field) in kind.fields.iter().enumerate() {
        if let Read::Bits { of, low, count } = field.read {
            let (least, most) = field.range.unwrap_or((i64::MIN, i64::MAX));
            all.push(Bits { of, low, count, slot, least, most });
        }
    }
    // Bits of a float, a word or a later field are a fault of the profile; the long way knows what to do with them.
    let whole = |of: usize| {
        matches!(kind.fields.get(of)?.read, Read::Decimal { .. } | Read::Hex { .. } | Read::Binary { .. }).then_some(())
    };
    all.iter().try_for_each(|bits| whole(bits.of))?;
    Some(all)
}

/// The steps so far.
#[derive(Default)]
struct Planned {
    at: usize,
    /// Literal bytes before `at` that stand in no step yet.
    open: Vec<u8>,
    steps: Vec<Step>,
    check: Option<(usize, usize, usize)>,
}

impl Planned {
    fn part(&mut self, kind: &Kind, part: &Part) -> Option<()> {
        match part {
            Part::Literal(bytes) => {
                self.open.extend_from_slice(bytes);
                self.at += bytes.len();
                Some(())
            }
            Part::Field(index) => self.field(*index, kind.fields.get(*index)?),
            Part::Check => {
                self.literal();
                let to = self.at.checked_sub(kind.check.leave_out)?;
                let from = Some(kind.check.skip).filter(|skip| *skip <= to)?;
                let known = self.check.replace((self.at, from, to));
                self.at += kind.check.len();
                known.is_none().then_some(())
            }
            Part::Keyed(_) => None,
        }
    }

    fn field(&mut self, slot: usize, field: &Field) -> Option<()> {
        let (len, most) = field_size(field);
        let take = take(field, len)?;
        if len == 0 || len != most || len > WORD {
            return None;
        }
        if self.open.len() + len > WORD {
            self.literal();
        }
        let (least, most) = field.range.unwrap_or((i64::MIN, i64::MAX));
        self.step(take, slot, least, most);
        self.at += len;
        Some(())
    }

    /// Steps for the literal bytes that no field follows closely.
    fn literal(&mut self) {
        let open = std::mem::take(&mut self.open);
        let end = self.at;
        self.at -= open.len();
        for piece in open.chunks(WORD) {
            self.at += piece.len();
            self.open = piece.to_vec();
            self.step(Take::Nothing, 0, 0, 0);
        }
        self.at = end;
    }

    fn step(&mut self, take: Take, slot: usize, least: i64, most: i64) {
        let open = std::mem::take(&mut self.open);
        let mut bytes = [0; WORD];
        bytes.iter_mut().zip(&open).for_each(|(place, byte)| *place = *byte);
        let behind = 8 * open.len() as u32;
        let mask = 1_u64.checked_shl(behind).unwrap_or(0).wrapping_sub(1);
        let from = self.at - open.len();
        let literal = u64::from_le_bytes(bytes);
        self.steps.push(Step { from, ahead: 0, literal, mask, behind, take, slot, least, most });
    }
}

fn take(field: &Field, len: usize) -> Option<Take> {
    let spare = 64_u32.checked_sub(8 * len as u32)?;
    Some(match field.read {
        Read::Decimal { digits: Some(digits @ 1..=8), sign } => {
            let pad = 64 - 8 * u32::from(digits);
            let fill = ZEROS & 1_u64.checked_shl(pad).unwrap_or(0).wrapping_sub(1);
            Take::Digits { pad, fill, signed: sign == Sign::Must }
        }
        Read::Hex { digits: Some(digits @ 1..=8) } => Take::Hex { digits: digits.into() },
        Read::Word if !field.words.is_empty() => Take::Words {
            mask: u64::MAX.checked_shr(spare)?,
            words: field.words.iter().map(|word| padded(word.as_bytes())).collect(),
        },
        Read::Binary { bytes: 1..=4, signed, big_endian: false } => Take::Little { spare, signed },
        Read::Binary { bytes: 1..=4, signed, big_endian: true } => Take::Big { spare, signed },
        Read::Float { big_endian } => Take::Float { big_endian },
        _ => return None,
    })
}

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
