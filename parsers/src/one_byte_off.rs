//! Lines that are no frame, and would be one if a single byte of their head were another, or were there, or were not.

use crate::profile::{Framing, Kind, Part, Profile};

/// Of a shorter head too little is left to know it by.
const SHORTEST: usize = 3;

impl Profile {
    /// The line, without its end mark, that this one would be with one byte of its head put right, where that makes it a
    /// whole frame with its check; `None` where it is a frame as it stands, or where nothing makes it one. The head is
    /// what stands before the first value, three bytes or more.
    pub fn one_byte_off(&self, line: &[u8]) -> Option<Vec<u8>> {
        let Framing::Lines { start, end } = &self.framing else { return None };
        let start = start.as_slice();
        let line = line.strip_suffix(end.as_slice()).unwrap_or(line);
        let whole = |line: &[u8]| line.strip_prefix(start).is_some_and(|body| self.is_whole(body));
        if line.len() > self.longest + start.len() || whole(line) {
            return None;
        }
        let heads = self.kinds.iter().filter_map(|kind| literal(kind).map(|head| [start, head].concat()));
        let long = heads.filter(|head| head.len() >= SHORTEST);
        let mut mended = long.flat_map(|head| {
            rests(line, &head).into_iter().flatten().map(|rest| [head.as_slice(), rest].concat()).collect::<Vec<_>>()
        });
        mended.find(|line| whole(line))
    }
}

impl Profile {
    /// The line, without its end mark, that this one would be with all its letters small, or all of them capital, where
    /// that makes it a whole frame; `None` where it is one as it stands.
    pub fn in_another_case(&self, line: &[u8]) -> Option<Vec<u8>> {
        let Framing::Lines { start, end } = &self.framing else { return None };
        let line = line.strip_suffix(end.as_slice()).unwrap_or(line);
        let whole = |line: &[u8]| line.strip_prefix(start.as_slice()).is_some_and(|body| self.is_whole(body));
        if line.len() > self.longest + start.len() || whole(line) {
            return None;
        }
        [line.to_ascii_lowercase(), line.to_ascii_uppercase()].into_iter().find(|line| whole(line))
    }
}

/// Bytes that are put in where one may be missing, or in the place of one: those that words and numbers are made of.
const LIKELY: &[u8] = b"0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ +-,.:;=#$";

impl Profile {
    /// Whether a line that is no frame would be one with a single byte anywhere taken out, put in or changed. Work: the
    /// square of the longest frame, so this is for damage on links that nothing checks.
    pub fn one_byte_wrong(&self, line: &[u8]) -> bool {
        let Framing::Lines { start, end } = &self.framing else { return false };
        let line = line.strip_suffix(end.as_slice()).unwrap_or(line);
        let Some(body) = line.strip_prefix(start.as_slice()).filter(|body| body.len() <= self.longest + 1) else {
            return false;
        };
        let mut edited = Vec::with_capacity(body.len() + 1);
        let mut whole = |before: &[u8], byte: Option<u8>, behind: &[u8]| {
            edited.clear();
            edited.extend_from_slice(before);
            edited.extend(byte);
            edited.extend_from_slice(behind);
            self.is_whole(&edited)
        };
        (0..=body.len()).any(|place| {
            let (before, behind) = body.split_at(place);
            let without = behind.get(1..);
            without.is_some_and(|rest| whole(before, None, rest))
                || LIKELY.iter().any(|byte| {
                    whole(before, Some(*byte), behind) || without.is_some_and(|rest| whole(before, Some(*byte), rest))
                })
        })
    }
}

fn literal(kind: &Kind) -> Option<&[u8]> {
    match kind.parts.first() {
        Some(Part::Literal(bytes)) => Some(bytes),
        _ => None,
    }
}

/// What stands behind the head where one bit of it differs, where a byte of it is missing, where there is one too many,
/// where a byte is another: the likelier first.
fn rests<'a>(line: &'a [u8], head: &[u8]) -> [Option<&'a [u8]>; 4] {
    let same = line.iter().zip(head).take_while(|(a, b)| a == b).count();
    let (tail, left) = (line.get(same..).unwrap_or(&[]), head.get(same..).unwrap_or(&[]));
    let (Some((first, left_behind)), Some((other, behind))) = (left.split_first(), tail.split_first()) else {
        return [None; 4];
    };
    let another = behind.strip_prefix(left_behind);
    let one_bit = another.filter(|_| (first ^ other).is_power_of_two());
    [one_bit, tail.strip_prefix(left_behind), behind.strip_prefix(left), another]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Check;
    use crate::fields::{Field, Read, Sign};

    fn profile(start: &[u8], head: &[u8]) -> Profile {
        let read = Read::Decimal { digits: None, sign: Sign::Never };
        let range = Some((0, 255));
        let field = Field { name: "pace".into(), read, range, words: vec![], offset: 0, multiply: 1, divide: 1 };
        let parts = vec![Part::Literal(head.to_vec()), Part::Field(0)];
        let kinds = vec![Kind { name: "pace".into(), parts, fields: vec![field], check: Check::none() }];
        let framing = Framing::Lines { start: start.to_vec(), end: b"\n".to_vec() };
        Profile { framing, kinds, longest: 16, start_up: Vec::new(), idle: 1 }
    }

    /// Edits of one byte, from the definition: put in, left out, put in its place.
    #[test]
    fn one_byte_of_the_head_may_be_wrong() {
        let rows: [(&[u8], Option<&[u8]>); 14] = [
            (b"pbce,140\n", Some(b"pace,140")),
            (b"pbce,140", Some(b"pace,140")),
            (b"ace,140\n", Some(b"pace,140")),
            (b"pce,140\n", Some(b"pace,140")),
            (b"pace140\n", Some(b"pace,140")),
            (b"ppace,140\n", Some(b"pace,140")),
            (b"pa\x00ce,140\n", Some(b"pace,140")),
            (b"pace.140\n", Some(b"pace,140")),
            (b"pace,140\n", None),
            (b"pbse,140\n", None),
            (b"pbce,14x\n", None),
            (b"pbce,999\n", None),
            (b"pbce,\n", None),
            (b"\n", None),
        ];
        for (line, due) in rows {
            assert_eq!(profile(b"", b"pace,").one_byte_off(line).as_deref(), due, "{}", line.escape_ascii());
        }
    }

    #[test]
    fn letters_may_have_another_case() {
        let rows: [(&[u8], Option<&[u8]>); 4] = [
            (b"PACE,140\n", Some(b"pace,140")),
            (b"Pace,9", Some(b"pace,9")),
            (b"pace,9\n", None),
            (b"PACED,9\n", None),
        ];
        for (line, due) in rows {
            assert_eq!(profile(b"", b"pace,").in_another_case(line).as_deref(), due, "{}", line.escape_ascii());
        }
    }

    /// A byte put in, left out, or put in its place, anywhere.
    #[test]
    fn one_byte_anywhere_may_be_wrong() {
        let rows: [(&[u8], bool); 9] = [
            (b"pbce,140\n", true),
            (b"pace,14x\n", true),
            (b"pace,1x40\n", true),
            (b"pace,\n", true),
            (b"pace140\n", true),
            (b"pace,999\n", true),
            (b"pace,9999\n", false),
            (b"pace,1xx\n", false),
            (b"volume up\n", false),
        ];
        for (line, due) in rows {
            assert_eq!(profile(b"", b"pace,").one_byte_wrong(line), due, "{}", line.escape_ascii());
        }
    }

    #[test]
    fn the_start_mark_belongs_to_the_head() {
        let rows: [(&[u8], Option<&[u8]>); 3] =
            [(b"%pace,9\n", Some(b"$pace,9")), (b"pace,9\n", Some(b"$pace,9")), (b"$pace,9\n", None)];
        for (line, due) in rows {
            assert_eq!(profile(b"$", b"pace,").one_byte_off(line).as_deref(), due, "{}", line.escape_ascii());
        }
    }

    /// `9` is no wrong `F`: of a head of two bytes one would be left, and anything looks like that.
    #[test]
    fn a_short_head_tells_nothing() {
        assert_eq!(profile(b"", b"F,").one_byte_off(b"9,140\n"), None);
        assert_eq!(profile(b"", b"").one_byte_off(b"x140\n"), None);
    }
}
