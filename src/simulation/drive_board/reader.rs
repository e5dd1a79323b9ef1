//! How the drive board takes bytes apart: one way for each build.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use super::error;
use crate::rover::wheels::{Duties, Wheel};
use crate::simulation::frames::{self, CUE_START, LADDER_SYNC, STAVE_END, stave_type};
use crate::simulation::mixer::mix;
use crate::simulation::script::Way;
use crate::simulation::{MS, Style};

/// How many bytes of a line it can keep.
const ROOM: usize = 192;
/// How long a reader of lines waits for the line end before it takes what it has.
const PATIENCE: Nanos = 1000 * MS;
/// Characters of a cue without its line end.
const CUE_LENGTH: usize = 44;

/// What the bytes said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Heard {
    /// A move of the plain line.
    Way(Way),
    /// The pace of the plain line.
    Pace(u8),
    /// Wheel duties to obey, for this long at most; `None` for ever.
    Drive { seq: u16, duties: Duties, deadline: Option<Nanos>, gear: u8, errors: u8 },
    /// An order that changes nothing.
    Question { seq: u16 },
    /// An order not obeyed; its number where it could be read.
    Refused { seq: Option<u16>, errors: u8 },
}

/// Bytes not yet understood.
#[derive(Clone, Debug)]
pub(super) struct Reader {
    style: Style,
    kept: Vec<u8>,
    overrun: bool,
    last: Nanos,
}

impl Reader {
    pub(super) const fn new(style: Style) -> Self {
        Self { style, kept: Vec::new(), overrun: false, last: 0 }
    }

    /// When a line without an end is taken as it is.
    pub(super) fn gives_up_at(&self) -> Option<Nanos> {
        let lines = matches!(self.style, Style::PlainLine | Style::CueLine);
        (lines && !self.kept.is_empty()).then_some(self.last + PATIENCE)
    }

    /// The line without an end, once patience is over.
    pub(super) fn give_up(&mut self, now: Nanos) -> Option<Heard> {
        if self.gives_up_at().is_none_or(|at| at > now) {
            return None;
        }
        self.line()
    }

    /// Takes bytes whose last was complete at `now`.
    pub(super) fn push(&mut self, now: Nanos, bytes: &[u8]) -> VecDeque<Heard> {
        self.last = now;
        bytes.iter().filter_map(|byte| self.byte(*byte)).collect()
    }

    fn byte(&mut self, byte: u8) -> Option<Heard> {
        match self.style {
            Style::PlainLine | Style::CueLine if byte == b'\n' => self.line(),
            Style::Stave => self.stave_byte(byte),
            Style::Bead if byte == 0 => bead(&std::mem::take(&mut self.kept)),
            Style::PlainLine | Style::CueLine | Style::Bead => self.keep(byte),
            Style::Ladder => self.ladder_byte(byte),
        }
    }

    fn keep(&mut self, byte: u8) -> Option<Heard> {
        if self.kept.len() < ROOM {
            self.kept.push(byte);
        } else {
            self.overrun = true;
        }
        None
    }

    fn line(&mut self) -> Option<Heard> {
        let line = std::mem::take(&mut self.kept);
        let overrun = std::mem::take(&mut self.overrun);
        match self.style {
            Style::PlainLine => plain(&line),
            _ if overrun => Some(Heard::Refused { seq: number_of(&line), errors: error::OVERRUN }),
            _ => cue(&line),
        }
    }

    fn stave_byte(&mut self, byte: u8) -> Option<Heard> {
        if byte >= 0xF0 && byte != STAVE_END {
            self.kept.clear();
        }
        if self.kept.is_empty() && !matches!(byte, stave_type::DRIVE | stave_type::STOP) {
            return None;
        }
        self.kept.push(byte);
        if byte == STAVE_END || self.kept.len() > 11 {
            return stave(&std::mem::take(&mut self.kept));
        }
        None
    }

    fn ladder_byte(&mut self, byte: u8) -> Option<Heard> {
        self.kept.push(byte);
        while !LADDER_SYNC.starts_with(&self.kept[..self.kept.len().min(2)]) {
            self.kept.remove(0);
        }
        if self.kept.len() < 13 {
            return None;
        }
        let heard = ladder(&self.kept);
        self.kept.drain(..if heard.is_some() { 13 } else { 2 });
        heard
    }
}

/// A line of the first build: a word, a comma, a value. Unknown words and moves are passed over.
fn plain(line: &[u8]) -> Option<Heard> {
    let text = std::str::from_utf8(line).ok()?;
    match text.split_once(',')? {
        ("way", name) => Way::from_name(name).map(Heard::Way),
        ("pace", value) => Some(Heard::Pace(lenient(value))),
        _ => None,
    }
}

/// Leading digits as a number, 0 without any, 255 at most.
fn lenient(value: &str) -> u8 {
    value.bytes().take_while(u8::is_ascii_digit).fold(0_u32, |sum, digit| (sum * 10 + u32::from(digit - b'0')).min(255))
        as u8
}

/// The number in the last `c` followed by three digits.
fn number_of(line: &[u8]) -> Option<u16> {
    let place = line.windows(4).rposition(|four| four[0] == b'c' && four[1..].iter().all(u8::is_ascii_digit))?;
    number(line.get(place + 1..place + 4)?)
}

/// Digits as a number.
fn number(digits: &[u8]) -> Option<u16> {
    std::str::from_utf8(digits).ok().filter(|text| text.bytes().all(|byte| byte.is_ascii_digit()))?.parse().ok()
}

/// A cue, or why it is not one. Lines that do not end with a point are passed over: they are not cues, or not whole.
fn cue(line: &[u8]) -> Option<Heard> {
    if !line.ends_with(b".") {
        return None;
    }
    let seq = number_of(line);
    let refused = |errors| Some(Heard::Refused { seq, errors });
    if !line.starts_with(b"c") {
        return refused(error::START);
    }
    let (Some(text), Some(check)) = (line.get(..CUE_LENGTH - 6), line.get(CUE_LENGTH - 6..)) else {
        return refused(error::CHECK);
    };
    if check != format!("#{:04X}.", frames::crc16(CUE_START, text)).as_bytes() {
        return refused(error::CHECK);
    }
    let Some(seq) = seq else {
        return refused(error::RANGE);
    };
    match whole_cue(seq, text) {
        Ok(heard) => Some(heard),
        Err(errors) => refused(errors),
    }
}

/// `c042 p17 drv f+030 s-065 t+000 g2 d30 `, whose check holds.
fn whole_cue(seq: u16, text: &[u8]) -> Result<Heard, u8> {
    let f = signed(text, 13, b'f')?;
    let s = signed(text, 19, b's')?;
    let t = signed(text, 25, b't')?;
    let gear = field(text, 31, b'g', 1)?;
    let deadline = field(text, 34, b'd', 2)?;
    if !(1..=3).contains(&gear) {
        return Err(error::RANGE);
    }
    let gear = gear as u8;
    let deadline = Some(Nanos::from(deadline) * 10 * MS);
    let drive = |duties, errors| Ok(Heard::Drive { seq, duties, deadline, gear, errors });
    match text.get(9..12) {
        Some(b"drv") => {
            let mixed = mix(f, s, t, gear);
            drive(mixed.duties, if mixed.scaled { error::SCALED } else { 0 })
        }
        Some(b"hlt") => drive([0; 4], 0),
        Some(b"one") if (1..=4).contains(&f) => {
            drive(Wheel::ALL.map(|wheel| if wheel.index() as i32 + 1 == f { s * 10 } else { 0 }), 0)
        }
        Some(b"one") => Err(error::RANGE),
        Some(b"ask" | b"set") => Ok(Heard::Question { seq }),
        _ => Err(error::VERB),
    }
}

/// `digits` digits after the letter at `place`.
fn field(text: &[u8], place: usize, letter: u8, digits: usize) -> Result<u16, u8> {
    let part = text.get(place..=place + digits).ok_or(error::RANGE)?;
    if part.first() == Some(&letter) { number(&part[1..]).ok_or(error::RANGE) } else { Err(error::RANGE) }
}

/// A sign and three digits after the letter at `place`, -100 to 100.
fn signed(text: &[u8], place: usize, letter: u8) -> Result<i32, u8> {
    if text.get(place) != Some(&letter) {
        return Err(error::RANGE);
    }
    let sign = match text.get(place + 1) {
        Some(b'+') => 1,
        Some(b'-') => -1,
        _ => return Err(error::RANGE),
    };
    let size = text.get(place + 2..place + 5).and_then(number).filter(|size| *size <= 100).ok_or(error::RANGE)?;
    Ok(sign * i32::from(size))
}

/// Eleven bytes from the type to the end.
fn stave(frame: &[u8]) -> Option<Heard> {
    let &[kind, seq, fl, fr, rl, rr, deadline, gear, high, low, STAVE_END] = frame else {
        return None;
    };
    let check = frames::stave_check(frame.get(..8)?);
    let in_range = seq <= 0xDF && [fl, fr, rl, rr, deadline].iter().all(|value| *value <= 200) && gear <= 0x3F;
    if [high, low] != [check >> 4, check & 0x0F] || !in_range {
        return None;
    }
    let ordered = [fl, fr, rl, rr].map(|duty| (i32::from(duty) - 100) * 10);
    let duties = if kind == stave_type::STOP { [0; 4] } else { ordered };
    let deadline = Some(Nanos::from(deadline) * 5 * MS);
    Some(Heard::Drive { seq: u16::from(seq), duties, deadline, gear, errors: 0 })
}

/// Everything between two zeros.
fn bead(stuffed: &[u8]) -> Option<Heard> {
    let body = unstuffed(stuffed)?;
    let &[0x11, seq, f, s, t, deadline, low, high] = body.as_slice() else {
        return None;
    };
    if u16::from_le_bytes([low, high]) != frames::crc16_sdlc(body.get(..6)?) {
        return None;
    }
    let [f, s, t] = [f, s, t].map(|value| i32::from(value as i8));
    if [f, s, t].iter().any(|value| value.abs() > 100) {
        return None;
    }
    let deadline = Some(Nanos::from(deadline) * 10 * MS);
    Some(Heard::Drive { seq: u16::from(seq), duties: mix(f, s, t, 3).duties, deadline, gear: 3, errors: 0 })
}

/// Takes byte stuffing off again.
fn unstuffed(mut stuffed: &[u8]) -> Option<Vec<u8>> {
    let mut body = Vec::new();
    while let Some((code, rest)) = stuffed.split_first() {
        let run = usize::from(*code).checked_sub(1)?;
        body.extend_from_slice(rest.get(..run)?);
        stuffed = &rest[run..];
        if !stuffed.is_empty() && *code < 0xFF {
            body.push(0);
        }
    }
    Some(body)
}

/// Thirteen bytes from the sync on; `None` when they are not a whole frame.
fn ladder(frame: &[u8]) -> Option<Heard> {
    let payload = frame.get(2..12)?;
    let [9, 0x21, duties @ ..] = payload else {
        return None;
    };
    if frame.get(12) != Some(&frames::ladder_check(payload)) {
        return None;
    }
    let mut wheels = [0; 4];
    for (wheel, pair) in wheels.iter_mut().zip(duties.chunks_exact(2)) {
        *wheel = i32::from(i16::from_le_bytes([pair[0], pair[1]]));
    }
    if wheels.iter().any(|duty| duty.abs() > 1000) {
        return None;
    }
    // This build states no deadline and keeps none.
    Some(Heard::Drive { seq: 0, duties: wheels, deadline: None, gear: 0, errors: 0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drives(style: Style, bytes: &[u8]) -> usize {
        let heard = Reader::new(style).push(0, bytes);
        heard.iter().filter(|heard| matches!(heard, Heard::Drive { .. })).count()
    }

    #[test]
    fn a_hit_costs_one_frame_at_most() {
        let staves: Vec<u8> = (0..4).flat_map(|seq| frames::stave(0xF1, seq, [500, -500, 0, 1000], 60, 2)).collect();
        let beads: Vec<u8> = (0..4).flat_map(|seq| frames::bead(seq, [30, -65, 1], 30)).collect();
        let ladders: Vec<u8> = (0..4).flat_map(|_| frames::ladder([620, -230, -230, 620])).collect();
        for (style, bytes, frame) in
            [(Style::Stave, staves, 11), (Style::Bead, beads, 10), (Style::Ladder, ladders, 13)]
        {
            assert_eq!(drives(style, &bytes), 4, "{}", style.name());
            for place in frame..2 * frame {
                for bit in 0..8 {
                    let mut hit = bytes.clone();
                    hit[place] ^= 1 << bit;
                    let left = drives(style, &hit);
                    // A bead whose end is hit takes the next one with it; a hit may also turn a byte into an end.
                    let least = if style == Style::Bead && place == 2 * frame - 1 { 2 } else { 3 };
                    assert!((least..4).contains(&left), "{} byte {place} bit {bit}: {left}", style.name());
                }
            }
        }
    }

    #[test]
    fn start_up_text_is_no_order() {
        let text = b"\x00\xF8GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\nload @3F40 len 6144 ok\r\n";
        for style in Style::ALL {
            assert!(Reader::new(style).push(0, text).is_empty(), "{}", style.name());
        }
    }

    #[test]
    fn a_line_without_end_is_taken_after_a_second() {
        let mut reader = Reader::new(Style::PlainLine);
        assert!(reader.push(5 * MS, b"way,port").is_empty());
        assert_eq!(reader.give_up(1004 * MS), None);
        assert_eq!(reader.gives_up_at(), Some(1005 * MS));
        assert_eq!(reader.give_up(1005 * MS), Some(Heard::Way(Way::Port)));
        assert_eq!(reader.gives_up_at(), None);
    }
}
