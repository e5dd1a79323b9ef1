//! How a kind of one length is read, worked out part by part.

use super::{Few, Literals, Little, Range, Run, Spot, Step, Take, Whole, ZEROS};
use crate::fields::{Field, Read, Sign};
use crate::layout::field_size;
use crate::profile::{Kind, Part};
use crate::word::{WORD, low};

/// The parts so far.
#[derive(Default)]
pub(super) struct Planned {
    /// For each byte so far, what stands there; `None` where that is not the same in every frame.
    pub(super) stands: Vec<Option<u8>>,
    /// Place of each field.
    pub(super) places: Vec<Option<usize>>,
    /// Place of the check, of its span's first byte and of the one behind that.
    pub(super) check: Option<(usize, usize, usize)>,
}

impl Planned {
    pub(super) fn part(&mut self, kind: &Kind, part: &Part) -> Option<()> {
        let at = self.stands.len();
        match part {
            Part::Literal(bytes) => self.stands.extend(bytes.iter().copied().map(Some)),
            Part::Field(index) => {
                let (len, most) = field_size(kind.fields.get(*index)?);
                let rigid = len == most && (1..=WORD).contains(&len);
                let known = self.places.get_mut(*index)?.replace(at);
                self.stands.extend(std::iter::repeat_n(None, if rigid { len } else { 0 }));
                return (rigid && known.is_none()).then_some(());
            }
            Part::Check => {
                let to = at.checked_sub(kind.check.leave_out)?;
                let from = Some(kind.check.skip).filter(|skip| *skip <= to)?;
                let known = self.check.replace((at, from, to));
                self.stands.extend(std::iter::repeat_n(None, kind.check.len()));
                return known.is_none().then_some(());
            }
            Part::Keyed(_) => return None,
        }
        Some(())
    }

    /// All literals, by the word.
    pub(super) fn literals(&self) -> Option<Vec<Literals>> {
        let last = self.stands.len().checked_sub(WORD)?;
        let mut all = Vec::new();
        for from in (0..self.stands.len()).step_by(WORD) {
            let spot = Spot::new(from, self.stands.len())?;
            let stands = self.stands.get(spot.from as usize..)?.iter().take(WORD).enumerate();
            let (mut bytes, mut mask) = (0, 0);
            for (place, byte) in stands.skip(from.saturating_sub(last)) {
                bytes |= u64::from(byte.unwrap_or(0)) << (8 * place);
                mask |= if byte.is_some() { 0xFF << (8 * place) } else { 0 };
            }
            if mask > 0 {
                all.push(Literals { from: spot.from, bytes, mask });
            }
        }
        Some(all)
    }

    pub(super) fn step(&self, kind: &Kind, index: usize, len: usize) -> Option<Step> {
        let field = kind.fields.get(index)?;
        let spot = |index: usize| Spot::new((*self.places.get(index)?)?, len);
        let (place, take) = match (field.read, whole(field, spot(index))) {
            (Read::Bits { of, low, count }, _) => {
                let parent = kind.fields.get(of).filter(|_| of < index)?;
                (of, bits(whole(parent, spot(of))?, low, count, Range::of(field)))
            }
            (_, Some(whole)) => (index, Take::Whole(whole)),
            (Read::Float { big_endian }, _) => (index, Take::Float { big_endian }),
            (Read::Word, _) => (index, words(field)?),
            _ => return None,
        };
        Some(Step { spot: spot(place)?, take, range: Range::of(field) })
    }
}

/// Adds a field to the last run, where it is read as that is, or begins another.
pub(super) fn add(runs: &mut Vec<Run>, step: Step) {
    let one_byte = match &step.take {
        Take::Whole(Whole::Little(little)) => little.one_byte(),
        _ => None,
    };
    match (runs.last_mut(), step, one_byte) {
        (Some(Run::Bytes(all)), _, Some(one)) => all.push(one),
        (_, _, Some(one)) => runs.push(Run::Bytes(vec![one])),
        (Some(Run::Little(all)), Step { take: Take::Whole(Whole::Little(little)), .. }, _) => all.push(little),
        (Some(Run::Few(all)), Step { take: Take::Whole(Whole::Few(few)), .. }, _) => all.push(few),
        (_, Step { take: Take::Whole(Whole::Little(little)), .. }, _) => runs.push(Run::Little(vec![little])),
        (_, Step { take: Take::Whole(Whole::Few(few)), .. }, _) => runs.push(Run::Few(vec![few])),
        (Some(Run::Other(all)), step, _) => all.push(step),
        (_, step, _) => runs.push(Run::Other(vec![step])),
    }
}

/// How a whole number that stands at `spot` is read; `None` where `field` is none, or of no fixed width.
fn whole(field: &Field, spot: Option<Spot>) -> Option<Whole> {
    let (spot, range) = (spot?, Range::of(field));
    match field.read {
        Read::Decimal { digits: Some(digits @ 1..=8), sign: sign @ (Sign::Never | Sign::Must) } => {
            Some(decimal(spot, digits.into(), sign == Sign::Must, range))
        }
        Read::Hex { digits: Some(digits @ 1..=8), letters } => Some(Whole::Hex { digits: digits.into(), letters }),
        Read::Binary { bytes: bytes @ 1..=4, signed, big_endian } => {
            let top = if signed { 1 << (8 * u32::from(bytes) - 1) } else { 0 };
            let little = Whole::Little(Little { spot, mask: low(bytes.into()), top, range });
            Some(if big_endian { Whole::Big { spare: 64 - 8 * u32::from(bytes), top } } else { little })
        }
        _ => None,
    }
}

fn decimal(spot: Spot, digits: usize, signed: bool, range: Range) -> Whole {
    let spare = |room: usize| (8 * (room - digits) as u32, ZEROS & low(room - digits));
    if digits > 4 {
        let (pad, fill) = spare(8);
        return Whole::Many { pad, fill, signed };
    }
    let (pad, fill) = spare(4);
    let (sign, signs) = if signed { (0xFF, 8) } else { (0, 0) };
    Whole::Few(Few { spot, sign, signs, pad, fill: fill as u32, range })
}

/// Bits of `of`: the lowest ones of bytes, lowest first, are a smaller number of that shape.
fn bits(of: Whole, low: u8, count: u8, range: Range) -> Take {
    match of {
        Whole::Little(Little { spot, mask, top: 0, .. }) if low == 0 => {
            let fewer = 1_u64.checked_shl(count.into()).map_or(u64::MAX, |bit| bit - 1);
            Take::Whole(Whole::Little(Little { spot, mask: mask & fewer, top: 0, range }))
        }
        _ => Take::Bits { of, low, count },
    }
}

fn words(field: &Field) -> Option<Take> {
    let len = field.words.first()?.len();
    let words = field.words.iter().map(|word| padded(word.as_bytes())).collect();
    (1..=WORD).contains(&len).then_some(Take::Words { mask: low(len), words })
}

/// The bytes of `word` as a number, first one lowest.
fn padded(word: &[u8]) -> u64 {
    word.iter().take(WORD).rev().fold(0, |all, byte| all << 8 | u64::from(*byte))
}
