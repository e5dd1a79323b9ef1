//! Line ends that the wire has and the profile does not state: CR, LF or both, where the profile says another of them.

use crate::check::{Check, Written};
use crate::layout::Layout;
use crate::profile::{Framing, Kind, Part, Profile};

/// An end mark that would make a broken line whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// CR LF, where the profile says LF.
    CrLf,
    /// LF, where the profile says CR LF or CR.
    Lf,
    /// CR, where the profile says LF or CR LF.
    Cr,
}

impl LineEnd {
    /// As the rover file writes it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::CrLf => "CR LF",
            Self::Lf => "LF",
            Self::Cr => "CR",
        }
    }
}

impl Profile {
    /// The end mark with which `line`, the first bytes of a broken frame, would begin with a whole one.
    pub fn other_line_end(&self, line: &[u8]) -> Option<LineEnd> {
        let Framing::Lines { start, end } = &self.framing else { return None };
        let body = line.strip_prefix(start.as_slice())?;
        let place = memchr::memchr2(b'\r', b'\n', body)?;
        let (body, behind) = body.split_at(place);
        let other = match (end.as_slice(), behind) {
            (b"\n", [b'\r', b'\n', ..]) => LineEnd::CrLf,
            (b"\r\n" | b"\r", [b'\n', ..]) => LineEnd::Lf,
            (b"\r\n", [b'\r', b'\n', ..]) => return None,
            (b"\n" | b"\r\n", [b'\r', ..]) => LineEnd::Cr,
            _ => return None,
        };
        self.is_whole(body).then_some(other)
    }

    /// How many of the first bytes of a broken line are a whole frame that lacks nothing but its end mark: the most
    /// that are, with nothing behind them or the beginning of another frame. So too of frames that end with a marker, up
    /// to the next marker. `None` where there is no such frame.
    pub fn lacks_end(&self, line: &[u8]) -> Option<usize> {
        if let Framing::Markers { first } = self.framing {
            let next = line.iter().skip(1).position(|byte| *byte >= first);
            let len = next.map_or(line.len(), |place| place + 1);
            return line.get(..len).filter(|frame| self.lacks_marker(frame, first)).map(<[u8]>::len);
        }
        let Framing::Lines { start, .. } = &self.framing else { return None };
        let body = line.strip_prefix(start.as_slice())?;
        let mut lens = (1..=body.len().min(self.longest)).rev();
        let whole = lens.find(|len| {
            let (frame, rest) = body.split_at(*len);
            (rest.is_empty() || self.begins(rest.strip_prefix(start.as_slice()))) && self.is_whole(frame)
        });
        whole.map(|len| start.len() + len)
    }

    /// Whether a line would be a whole frame if the highest bit of each of its bytes were 0, and is none as it stands.
    pub fn whole_in_seven_bits(&self, line: &[u8]) -> bool {
        let Framing::Lines { start, end } = &self.framing else { return false };
        let low: Vec<u8> = line.iter().map(|byte| byte & 0x7F).collect();
        let body = low.strip_prefix(start.as_slice()).and_then(|body| body.strip_suffix(end.as_slice()));
        low != line && body.is_some_and(|body| self.is_whole(body))
    }

    /// Whether a line is no frame but for the case of the letters in its check.
    pub fn whole_in_other_letters(&self, line: &[u8]) -> bool {
        let Framing::Lines { start, end } = &self.framing else { return false };
        let body = line.strip_prefix(start.as_slice());
        let Some(body) = body.map(|body| body.strip_suffix(end.as_slice()).unwrap_or(body)) else { return false };
        let mut slots = Vec::new();
        !self.is_whole(body)
            && self.kinds.iter().filter(|kind| kind.check.written.letters().is_some()).any(|kind| {
                let check = Check { written: Written::HexDigits, ..kind.check.clone() };
                let lenient = Kind { check, ..kind.clone() };
                Layout::new(&lenient).read(&lenient, body, &mut slots).is_ok()
            })
    }

    fn lacks_marker(&self, frame: &[u8], first: u8) -> bool {
        let mut slots = Vec::new();
        self.kinds.iter().any(|kind| {
            let Some(Part::Literal(mark)) = kind.parts.last() else { return false };
            let ended = [frame, mark.as_slice()].concat();
            matches!(mark.as_slice(), [marker] if *marker >= first)
                && Layout::new(kind).read(kind, &ended, &mut slots).is_ok()
        })
    }

    fn begins(&self, body: Option<&[u8]>) -> bool {
        let mut slots = Vec::new();
        body.is_some_and(|body| self.kinds.iter().any(|kind| Layout::new(kind).begins(kind, body, &mut slots)))
    }

    pub(crate) fn is_whole(&self, body: &[u8]) -> bool {
        let mut slots = Vec::new();
        self.kinds.iter().any(|kind| Layout::new(kind).read(kind, body, &mut slots).is_ok())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fields::{Field, Read, Sign};

    fn profile(end: &[u8]) -> Profile {
        let read = Read::Decimal { digits: None, sign: Sign::Never };
        let field = Field { name: "pace".into(), read, range: None, words: vec![], offset: 0, multiply: 1, divide: 1 };
        let parts = vec![Part::Literal(b"pace,".to_vec()), Part::Field(0)];
        let kinds = vec![Kind { name: "pace".into(), parts, fields: vec![field], check: Check::none() }];
        let framing = Framing::Lines { start: Vec::new(), end: end.to_vec() };
        Profile { framing, kinds, longest: 16, start_up: Vec::new(), idle: 1 }
    }

    /// A frame of the stave that ends with the marker FE: its bytes up to there, alone or before another frame.
    #[test]
    fn a_marker_at_the_end_may_be_missing() {
        let part = |byte: u8| Part::Literal(vec![byte]);
        let read = Read::Binary { bytes: 1, signed: false, big_endian: false };
        let field = Field {
            name: "pace".into(),
            read,
            range: Some((0, 200)),
            words: vec![],
            offset: 0,
            multiply: 1,
            divide: 1,
        };
        let parts = vec![part(0xF1), Part::Field(0), part(0xFE)];
        let kinds = vec![Kind { name: "pace".into(), parts, fields: vec![field], check: Check::none() }];
        let framing = Framing::Markers { first: 0xF0 };
        let profile = Profile { framing, kinds, longest: 3, start_up: Vec::new(), idle: 1 };
        let rows: [(&[u8], Option<usize>); 5] = [
            (&[0xF1, 7], Some(2)),
            (&[0xF1, 7, 0xF1, 8], Some(2)),
            (&[0xF1, 201, 0xF1, 8], None),
            (&[0xF1, 7, 7, 0xF1], None),
            (&[0xF1], None),
        ];
        for (line, due) in rows {
            assert_eq!(profile.lacks_end(line), due, "{line:X?}");
        }
    }

    #[test]
    fn a_frame_that_lacks_only_its_end_mark_is_known() {
        let rows: [(&[u8], Option<usize>); 7] = [
            (b"pace,140", Some(8)),
            (b"pace,140pace,150", Some(8)),
            (b"pace,140\n", None),
            (b"pace,140\r\n", None),
            (b"pace,", None),
            (b"pac", None),
            (b"", None),
        ];
        for (line, due) in rows {
            assert_eq!(profile(b"\n").lacks_end(line), due, "{line:?}");
        }
    }

    #[test]
    fn a_check_in_letters_of_the_other_case_is_known() {
        let mut profile = profile(b"\n");
        let kind = &mut profile.kinds[0];
        kind.parts.extend([Part::Literal(b"*".to_vec()), Part::Check]);
        // The exclusive-or of these eight bytes, worked out by hand: 70^61^63^65 = 17, ^2C = 3B, ^31 = 0A, ^34 = 3E, ^30 = 0E.
        kind.check =
            Check { sum: crate::check::Sum::Xor8, written: Written::UpperHexDigits, leave_out: 1, ..Check::none() };
        let rows: [(&[u8], bool); 5] = [
            (b"pace,140*0e\n", true),
            (b"pace,140*0e", true),
            (b"pace,140*0E\n", false),
            (b"pace,140*0f\n", false),
            (b"pace,1x0*0e\n", false),
        ];
        for (line, due) in rows {
            assert_eq!(profile.whole_in_other_letters(line), due, "{}", line.escape_ascii());
        }
    }

    /// A receiver that samples a little late reads the stop bit, which is 1, in place of the highest bit.
    #[test]
    fn a_line_that_only_its_highest_bits_break_is_known() {
        let rows: [(&[u8], bool); 4] =
            [(b"pace,\xB140\n", true), (b"pace,140\n", false), (b"pace,\xB1x0\n", false), (b"\xF0ace,140", false)];
        for (line, due) in rows {
            assert_eq!(profile(b"\n").whole_in_seven_bits(line), due, "{line:?}");
        }
    }

    #[test]
    fn a_line_that_only_its_end_mark_breaks_is_known() {
        let rows: [(&[u8], &[u8], Option<LineEnd>); 12] = [
            (b"\n", b"pace,140\r\n", Some(LineEnd::CrLf)),
            (b"\n", b"pace,14x\r\n", None),
            (b"\n", b"pace,140\n", None),
            (b"\r\n", b"pace,140\npace,150\n", Some(LineEnd::Lf)),
            (b"\r\n", b"pace,140\r\n", None),
            (b"\r\n", b"pace,140", None),
            (b"\n", b"pace,140\r", Some(LineEnd::Cr)),
            (b"\n", b"pace,140\rpace,150\r", Some(LineEnd::Cr)),
            (b"\n", b"pace,14\r0\n", Some(LineEnd::Cr)),
            (b"\r\n", b"pace,140\rpace,150\r\n", Some(LineEnd::Cr)),
            (b"\r", b"pace,140\npace,150\n", Some(LineEnd::Lf)),
            (b"\r", b"pace,140\r", None),
        ];
        for (end, line, expected) in rows {
            assert_eq!(profile(end).other_line_end(line), expected, "{}", line.escape_ascii());
        }
    }
}
