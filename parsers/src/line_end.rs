//! Line ends that the wire has and the profile does not state: a CR more before each LF, or a CR less.

use crate::layout::Layout;
use crate::profile::{Framing, Profile};

/// An end mark that would make a broken line whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// CR LF, where the profile says LF.
    CrLf,
    /// LF, where the profile says CR LF.
    Lf,
}

impl LineEnd {
    /// As the rover file writes it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::CrLf => "CR LF",
            Self::Lf => "LF",
        }
    }
}

impl Profile {
    /// The end mark with which `line`, the first bytes of a broken frame, would begin with a whole one.
    pub fn other_line_end(&self, line: &[u8]) -> Option<LineEnd> {
        let Framing::Lines { start, end } = &self.framing else { return None };
        let body = line.strip_prefix(start.as_slice())?;
        let place = memchr::memchr(b'\n', body)?;
        let body = body.get(..place)?;
        let (body, other) = match (end.as_slice(), body.strip_suffix(b"\r")) {
            (b"\n", Some(shorter)) => (shorter, LineEnd::CrLf),
            (b"\r\n", None) => (body, LineEnd::Lf),
            _ => return None,
        };
        let mut slots = Vec::new();
        let whole = self.kinds.iter().any(|kind| Layout::new(kind).read(kind, body, &mut slots).is_ok());
        whole.then_some(other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Check;
    use crate::fields::{Field, Read, Sign};
    use crate::profile::{Kind, Part};

    fn profile(end: &[u8]) -> Profile {
        let read = Read::Decimal { digits: None, sign: Sign::Never };
        let field = Field { name: "pace".into(), read, range: None, words: vec![], offset: 0, multiply: 1, divide: 1 };
        let parts = vec![Part::Literal(b"pace,".to_vec()), Part::Field(0)];
        let kinds = vec![Kind { name: "pace".into(), parts, fields: vec![field], check: Check::none() }];
        let framing = Framing::Lines { start: Vec::new(), end: end.to_vec() };
        Profile { framing, kinds, longest: 16, start_up: Vec::new(), idle: 1 }
    }

    #[test]
    fn a_line_that_only_its_end_mark_breaks_is_known() {
        let rows: [(&[u8], &[u8], Option<LineEnd>); 6] = [
            (b"\n", b"pace,140\r\n", Some(LineEnd::CrLf)),
            (b"\n", b"pace,14x\r\n", None),
            (b"\n", b"pace,140\n", None),
            (b"\r\n", b"pace,140\npace,150\n", Some(LineEnd::Lf)),
            (b"\r\n", b"pace,140\r\n", None),
            (b"\r\n", b"pace,140", None),
        ];
        for (end, line, expected) in rows {
            assert_eq!(profile(end).other_line_end(line), expected, "{}", line.escape_ascii());
        }
    }
}
