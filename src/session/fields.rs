//! The fields of one session line, taken one after the other.

use std::borrow::Cow;

use wheeltap_parsers::Wire;

use super::escape::{self, Spaces};
use super::line::{Fault, LARGEST_US};

/// The largest count or place: 256 TiB, more than any wire carries in a lifetime, so that sums of them never overflow.
pub const LARGEST_NUMBER: u64 = 1 << 48;

/// What is left of a line.
pub(super) struct Fields<'a> {
    rest: Option<&'a [u8]>,
}

impl<'a> Fields<'a> {
    /// The fields of a line without its check.
    pub(super) fn new(body: &'a [u8]) -> Self {
        Self { rest: Some(body) }
    }

    /// Whether nothing is left.
    pub(super) fn is_empty(&self) -> bool {
        self.rest.is_none()
    }

    /// The first word; empty when there is none.
    pub(super) fn first(&mut self) -> &'a [u8] {
        self.take().unwrap_or_default()
    }

    fn take(&mut self) -> Option<&'a [u8]> {
        let rest = self.rest?;
        let Some(space) = memchr::memchr(b' ', rest) else { return self.rest.take() };
        self.rest = rest.get(space + 1..);
        rest.get(..space)
    }

    /// A decimal number in its shortest form, no larger than [`LARGEST_NUMBER`].
    pub(super) fn number(&mut self, name: &'static str) -> Result<u64, Fault> {
        self.take().and_then(decimal).filter(|number| *number <= LARGEST_NUMBER).ok_or(Fault::Field(name))
    }

    /// A time or a length of time, microseconds.
    pub(super) fn time(&mut self, name: &'static str) -> Result<i64, Fault> {
        let number = self.take().and_then(decimal).and_then(|number| i64::try_from(number).ok());
        let number = number.ok_or(Fault::Field(name))?;
        if number <= LARGEST_US { Ok(number) } else { Err(Fault::Field(name)) }
    }

    /// `>` or `<`.
    pub(super) fn wire(&mut self) -> Result<Wire, Fault> {
        match self.take() {
            Some(b">") => Ok(Wire::ToDrive),
            Some(b"<") => Ok(Wire::FromDrive),
            _ => Err(Fault::Field("wire")),
        }
    }

    /// Baud or `-`.
    pub(super) fn rate(&mut self) -> Result<Option<u32>, Fault> {
        match self.take() {
            Some(b"-") => Ok(None),
            Some(text) => {
                let rate = decimal(text).and_then(|rate| u32::try_from(rate).ok());
                rate.map(Some).ok_or(Fault::Field("rate"))
            }
            None => Err(Fault::Field("rate")),
        }
    }

    /// A text field with more fields behind it.
    pub(super) fn word(&mut self, name: &'static str) -> Result<Cow<'a, str>, Fault> {
        let text = self.take().ok_or(Fault::Field(name))?;
        escape::read(text, Spaces::Escaped).ok().and_then(utf8).ok_or(Fault::Field(name))
    }

    /// Everything that is left, as bytes.
    pub(super) fn last_bytes(&mut self, name: &'static str) -> Result<Cow<'a, [u8]>, Fault> {
        let text = self.rest.take().ok_or(Fault::Field(name))?;
        escape::read(text, Spaces::Plain).map_err(|_| Fault::Field(name))
    }

    /// Everything that is left, as text.
    pub(super) fn last_text(&mut self, name: &'static str) -> Result<Cow<'a, str>, Fault> {
        self.last_bytes(name).ok().and_then(utf8).ok_or(Fault::Field(name))
    }
}

fn decimal(text: &[u8]) -> Option<u64> {
    if text.is_empty() || (text.len() > 1 && text.starts_with(b"0")) {
        return None;
    }
    text.iter().try_fold(0u64, |sum, &byte| {
        let digit = byte.is_ascii_digit().then(|| u64::from(byte - b'0'))?;
        sum.checked_mul(10)?.checked_add(digit)
    })
}

fn utf8(bytes: Cow<'_, [u8]>) -> Option<Cow<'_, str>> {
    match bytes {
        Cow::Borrowed(bytes) => std::str::from_utf8(bytes).ok().map(Cow::Borrowed),
        Cow::Owned(bytes) => String::from_utf8(bytes).ok().map(Cow::Owned),
    }
}
