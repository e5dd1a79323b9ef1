//! Why a frame is broken, as far as the frame itself and those before it tell: hit, without its end mark, sent so, or of
//! another link altogether.

use std::collections::BTreeMap;

use wheeltap_parsers::check::Sum;
use wheeltap_parsers::{Cause as Broken, Profile, Wire};

use super::cause::Cause;
use crate::findings::View;

/// From so many frames on that lack nothing but their end mark it is no lost byte.
const UNENDED: u64 = 3;
/// From so many broken frames and runs on, without one that is whole, nothing on that wire fits.
const UNFIT: u64 = 8;
/// A run of so many bytes is enough alone.
const LONG: u64 = 1024;
/// Fewest lines with nothing wrong but their highest bits before the sender's clock is named.
const FAST: u64 = 8;
/// Fewest numbers out of range that were sent so, where hardly anything else is broken.
const BEYOND: u64 = 3;
/// A line that comes so often letter by letter was sent so, even where it is a single byte off an order.
const AGAIN: u32 = 4;
/// So many different lines are kept to know one again.
const KEPT: usize = 64;

/// What broken frames have in common so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Breaks {
    /// Broken frames, and those that lack nothing but their end mark.
    frames: [u64; 2],
    /// Broken lines that would be whole without the highest bits of their bytes.
    high: u64,
    /// Numbers out of their range, or of another form, on a link that nothing checks.
    beyond: u64,
    /// For each wire: whether anything on it was ever whole.
    fits: [bool; 2],
    /// For each wire: what was broken until then.
    unfit: [u64; 2],
    /// Lines with an unknown word or number, and how often each came.
    lines: BTreeMap<Box<[u8]>, u32>,
}

impl Breaks {
    /// A frame on this wire was whole.
    pub(super) fn fits(&mut self, wire: Wire) {
        self.fits[wire.index()] = true;
    }

    /// The likeliest cause of a frame that is broken in this way.
    pub(super) fn likely(&mut self, wire: Wire, (way, raw, len): (Broken, &[u8], u64), view: &View<'_>) -> Cause {
        let Some(profile) = view.rover.and_then(|rover| rover.profile(wire)) else { return Cause::Wire };
        let other = profile.other_line_end(raw).is_some();
        let lacks = profile.lacks_end(raw);
        // A run that nothing ends is one broken frame, however many orders stand in it.
        self.frames[usize::from(lacks.is_some())] += lacks.map_or(1, |one| (len / one.max(1) as u64).max(1));
        let lacks = lacks.is_some();
        if other || lacks && self.frames[1] >= UNENDED && self.frames[1] > self.frames[0] {
            return Cause::EndMark;
        }
        if lacks {
            return Cause::EndMarkOrHit;
        }
        if way == Broken::BadCheck && profile.whole_in_other_letters(raw) {
            return if wire == Wire::ToDrive { Cause::NotInFile } else { Cause::AnswerNotInFile };
        }
        self.high += u64::from(profile.whole_in_seven_bits(raw));
        if self.high >= FAST && 2 * self.high >= self.frames.iter().sum() {
            return Cause::FastClock;
        }
        let strange = matches!(way, Broken::UnknownWord | Broken::OutOfRange | Broken::NotANumber);
        if strange && !checked(profile) && wire == Wire::ToDrive {
            return self.of_value(way, raw, profile);
        }
        // A check that is wrong comes before a value that is: these bytes are as they were sent.
        if checked(profile) && strange {
            return if wire == Wire::ToDrive { Cause::NotInFile } else { Cause::AnswerNotInFile };
        }
        self.of_bytes(wire, len, view)
    }

    /// The likeliest cause of bytes that are no frame.
    pub(super) fn of_bytes(&mut self, wire: Wire, len: u64, view: &View<'_>) -> Cause {
        let known = view.rover.is_some_and(|rover| rover.profile(wire).is_some());
        if self.fits[wire.index()] || !known {
            return Cause::Wire;
        }
        let unfit = &mut self.unfit[wire.index()];
        *unfit += 1;
        if *unfit >= UNFIT || len >= LONG { Cause::NothingFits } else { Cause::NothingYet }
    }

    /// The likeliest cause of a line of text that would be this order but for a single byte, or for the case of its
    /// letters. The same wrong beginning again and again was sent so.
    pub(super) fn of_line(&mut self, line: &[u8], order: &[u8]) -> Cause {
        let line = line.trim_ascii_end();
        let same = line.iter().rev().zip(order.iter().rev()).take_while(|(a, b)| a == b).count();
        let wrong = line.get(..line.len() - same).unwrap_or_default();
        let right = order.get(..order.len() - same).unwrap_or_default();
        let again = self.again(&[wrong, b"\n", right].concat());
        // One hit turns the case of one letter.
        let differ = line.iter().zip(order).filter(|(a, b)| a != b).count();
        let other_case = differ > 1 && line.eq_ignore_ascii_case(order);
        if again >= AGAIN || other_case { Cause::NotInFile } else { Cause::Wire }
    }

    /// Nothing checks this line: what comes again letter by letter was sent so; what is a single byte off a sound one was
    /// most likely hit. A number out of its range may be either.
    fn of_value(&mut self, way: Broken, raw: &[u8], profile: &Profile) -> Cause {
        let again = self.again(raw);
        let near = profile.one_byte_wrong(raw);
        let beyond = way == Broken::OutOfRange || another_number(raw);
        self.beyond += u64::from(beyond);
        // Noise hits other things as well.
        let only = self.beyond >= BEYOND && 2 * self.beyond > self.frames.iter().sum();
        match (near, again) {
            (true, AGAIN..) | (false, 2..) => Cause::NotInFile,
            _ if beyond && only => Cause::NotInFile,
            (true, _) if !beyond => Cause::Wire,
            _ => Cause::SentOrHit,
        }
    }

    /// How often this line has come, this time included.
    fn again(&mut self, line: &[u8]) -> u32 {
        if let Some(count) = self.lines.get_mut(line) {
            *count = count.saturating_add(1);
            return *count;
        }
        if self.lines.len() < KEPT {
            self.lines.insert(line.into(), 1);
        }
        1
    }
}

/// Whether the line ends with a number of a form that the field does not have: with a sign, or a fraction.
fn another_number(line: &[u8]) -> bool {
    let line = line.trim_ascii_end();
    let begin = line.iter().rposition(|byte| !matches!(byte, b'0'..=b'9' | b'.' | b'-' | b'+')).map_or(0, |at| at + 1);
    let number = line.get(begin..).and_then(|number| std::str::from_utf8(number).ok());
    let other = number.filter(|number| number.contains(['-', '+', '.']));
    other.is_some_and(|number| number.parse::<f64>().is_ok())
}

fn checked(profile: &Profile) -> bool {
    profile.kinds.iter().any(|kind| kind.check.sum != Sum::None)
}
