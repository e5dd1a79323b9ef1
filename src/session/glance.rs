//! A look at one line of a session, no closer than the whole check needs: reads, nearly all there are, by their numbers
//! and by how many bytes they hold. It takes and refuses the same lines as [`parse`].

use wheeltap_parsers::Wire;

use super::escape::{self, Spaces};
use super::fields::LARGEST_NUMBER;
use super::line::{Fault, LARGEST_US, Line, checked, parse};
use super::line_reader::Text;

/// The figures of one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Glance {
    Read {
        wire: Wire,
        t_us: i64,
        offset: u64,
        length: u64,
    },
    Lost {
        wire: Wire,
        t_us: i64,
        count: u64,
    },
    Timed(i64),
    End {
        t_us: i64,
        records: u64,
    },
    Link(Wire),
    /// What may stand behind the closing line.
    Desk,
    Other,
}

impl Glance {
    /// Looks at one line; the error says why it cannot be taken.
    pub(super) fn at(text: &Text<'_>) -> Result<Self, String> {
        let text = match text {
            Text::Line(text) | Text::Unended(text) => text,
            Text::TooLong(length) => return Err(format!("a line of {length} bytes is too long to be one")),
        };
        let wire = match text {
            [b'>', b' ', ..] => Wire::ToDrive,
            [b'<', b' ', ..] => Wire::FromDrive,
            _ => return other(text),
        };
        let body = checked(text).map_err(|fault| fault.to_string())?;
        read(wire, body.get(2..).unwrap_or_default()).map_err(|fault| fault.to_string())
    }
}

/// `TIME SINCE OFFSET BYTES`.
fn read(wire: Wire, body: &[u8]) -> Result<Glance, Fault> {
    const LARGEST: u64 = LARGEST_US.unsigned_abs();
    let (t_us, rest) = number(body, LARGEST).ok_or(Fault::Field("time"))?;
    let (_, rest) = number(rest, LARGEST).ok_or(Fault::Field("time since nothing was waiting"))?;
    let (offset, bytes) = number(rest, LARGEST_NUMBER).ok_or(Fault::Field("offset"))?;
    let length = escape::length(bytes, Spaces::Plain).ok_or(Fault::Field("bytes"))?;
    Ok(Glance::Read { wire, t_us: t_us.cast_signed(), offset, length })
}

/// Most digits of a number that is looked at: it cannot overflow, and the largest time has sixteen.
const DIGITS: usize = 18;

/// A decimal number in its shortest form, at most `largest`, and what stands behind the space after it.
fn number(text: &[u8], largest: u64) -> Option<(u64, &[u8])> {
    let mut value = 0_u64;
    let mut count = 0;
    for &byte in text.iter().take(DIGITS) {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        value = value * 10 + u64::from(digit);
        count += 1;
    }
    let (digits, rest) = text.split_at_checked(count)?;
    let shortest = matches!(digits, [_] | [b'1'..=b'9', ..]);
    match rest {
        [b' ', rest @ ..] if shortest && value <= largest => Some((value, rest)),
        _ => None,
    }
}

fn other(text: &[u8]) -> Result<Glance, String> {
    Ok(match parse(text).map_err(|fault| fault.to_string())? {
        Line::Lost { wire, t_us, count } => Glance::Lost { wire, t_us, count },
        Line::End { t_us, records, .. } => Glance::End { t_us, records },
        Line::Link { wire, .. } => Glance::Link(wire),
        Line::Note { .. } | Line::Taught { .. } | Line::TaughtLine { .. } => Glance::Desk,
        Line::Session { .. } => return Err("a second session begins here: cut the file before this line".to_owned()),
        line => line.ordered_us().map_or(Glance::Other, Glance::Timed),
    })
}
