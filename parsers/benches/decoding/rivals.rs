//! What the decoder is measured against: two programs written for one link each, with the same code for the check.
//!
//! The first finds frames and checks them, and reads nothing. The second also reads every field and its range, as the
//! rover file asks, with each place and width written into the code. Neither says anything about what is no frame.

use std::ops::RangeInclusive;

use memchr::{memchr, memchr_iter};
use wheeltap_parsers::Check;

/// Cue lines whose check is right.
pub fn cue_checked(wire: &[u8], check: &Check) -> usize {
    lines(wire).filter(|line| cue_check(line, check)).count()
}

fn lines(wire: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut from = 0;
    memchr_iter(b'\n', wire).map(move |end| {
        let line = wire.get(from..end).unwrap_or_default();
        from = end + 1;
        line
    })
}

fn cue_check(line: &[u8], check: &Check) -> bool {
    let Some(at) = line.len().checked_sub(5) else { return false };
    let Some((span, [b'#', digits @ .., b'.'])) = line.split_at_checked(at - 1) else { return false };
    check.read(digits) == Some(check.value(span))
}

/// Sum over all good cue lines of all their fields.
pub fn cue_read(wire: &[u8], check: &Check) -> i64 {
    lines(wire)
        .filter(|line| cue_check(line, check))
        .filter_map(cue_fields)
        .map(|fields| fields.iter().sum::<i64>())
        .sum()
}

/// `c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.`
fn cue_fields(line: &[u8]) -> Option<[i64; 8]> {
    let line: &[u8; 44] = line.try_into().ok()?;
    let places = [(0, b'c'), (4, b' '), (5, b'p'), (8, b' '), (12, b' '), (13, b'f'), (18, b' '), (19, b's')];
    let others = [(24, b' '), (25, b't'), (30, b' '), (31, b'g'), (33, b' '), (34, b'd'), (37, b' ')];
    if places.iter().chain(&others).any(|(place, byte)| line[*place] != *byte) {
        return None;
    }
    let verb = match &line[9..12] {
        b"drv" => 0,
        b"hlt" => 1,
        b"one" => 2,
        b"ask" => 3,
        b"set" => 4,
        _ => return None,
    };
    let fields = [
        digits(&line[1..4])?,
        digits(&line[6..8])?,
        verb,
        signed(&line[14..18], -100..=100)?,
        signed(&line[20..24], -100..=100)?,
        signed(&line[26..30], -100..=100)?,
        digits(&line[32..33]).filter(|gear| (1..=3).contains(gear))?,
        digits(&line[35..37])?,
    ];
    Some(fields)
}

fn digits(text: &[u8]) -> Option<i64> {
    text.iter().try_fold(0, |all, byte| byte.is_ascii_digit().then(|| all * 10 + i64::from(byte - b'0')))
}

fn signed(text: &[u8], range: RangeInclusive<i64>) -> Option<i64> {
    let (sign, number) = text.split_first()?;
    let size = digits(number)?;
    let number = match sign {
        b'+' => size,
        b'-' => -size,
        _ => return None,
    };
    range.contains(&number).then_some(number)
}

/// Staves whose check is right.
pub fn stave_checked(wire: &[u8], check: &Check) -> usize {
    staves(wire).filter(|frame| stave_check(frame, check)).count()
}

/// Sum over all good staves of all their fields.
pub fn stave_read(wire: &[u8], check: &Check) -> i64 {
    let good = staves(wire).filter(|frame| stave_check(frame, check));
    good.filter_map(stave_fields).map(|fields| fields.iter().sum::<i64>()).sum()
}

fn staves(wire: &[u8]) -> impl Iterator<Item = &[u8; 11]> {
    let mut rest = wire;
    std::iter::from_fn(move || {
        loop {
            let place = memchr(0xF1, rest)?;
            let found = rest.get(place..)?.first_chunk::<11>()?;
            if found[10] == 0xFE {
                rest = &rest[place + 11..];
                return Some(found);
            }
            rest = &rest[place + 1..];
        }
    })
}

fn stave_check(frame: &[u8; 11], check: &Check) -> bool {
    check.read(&frame[8..10]) == Some(check.value(&frame[..8]))
}

fn stave_fields(frame: &[u8; 11]) -> Option<[i64; 8]> {
    let most = [0xDF, 200, 200, 200, 200, 200, 0x3F];
    let mut fields = [0; 8];
    for ((field, byte), most) in fields.iter_mut().zip(&frame[1..8]).zip(most) {
        *field = i64::from((*byte <= most).then_some(*byte)?);
    }
    fields[7] = fields[6] & 3;
    Some(fields)
}
