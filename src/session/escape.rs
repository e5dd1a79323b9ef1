//! Escaping: how any byte stands in a session line that a person and a line tool can read.

use std::borrow::Cow;

/// Whether a space stands for itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spaces {
    /// Yes: the last field of a line.
    Plain,
    /// No, it is `\20`: a text field with more fields behind it.
    Escaped,
}

impl Spaces {
    /// Whether `byte` stands for itself.
    fn plain(self, byte: u8) -> bool {
        match byte {
            b'\\' => false,
            b' ' => self == Self::Plain,
            _ => (0x21..=0x7E).contains(&byte),
        }
    }
}

const HEX: &[u8; 16] = b"0123456789ABCDEF";

/// Appends `bytes` escaped to `out`.
pub fn write(bytes: &[u8], spaces: Spaces, out: &mut Vec<u8>) {
    for &byte in bytes {
        if spaces.plain(byte) {
            out.push(byte);
        } else {
            out.extend([b'\\', HEX[usize::from(byte >> 4)], HEX[usize::from(byte & 15)]]);
        }
    }
}

/// The bytes that `text` stands for. The error is the place in `text` that cannot stand there: a byte that should have
/// been escaped, a broken escape, or an escape of a byte that stands for itself (each value has one form only).
pub fn read(text: &[u8], spaces: Spaces) -> Result<Cow<'_, [u8]>, usize> {
    if text.iter().all(|&byte| spaces.plain(byte)) {
        return Ok(Cow::Borrowed(text));
    }
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text;
    while !rest.is_empty() {
        let (byte, after) = one(rest, spaces).ok_or(text.len() - rest.len())?;
        bytes.push(byte);
        rest = after;
    }
    Ok(Cow::Owned(bytes))
}

/// The first byte of `text` and what stands behind it; `None` where it is wrong.
fn one(text: &[u8], spaces: Spaces) -> Option<(u8, &[u8])> {
    match text {
        [b'\\', high, low, rest @ ..] => {
            let byte = digit(*high)? << 4 | digit(*low)?;
            (!spaces.plain(byte)).then_some((byte, rest))
        }
        [byte, rest @ ..] => spaces.plain(*byte).then_some((*byte, rest)),
        [] => None,
    }
}

/// The value of an upper-case hex digit.
pub(super) fn digit(byte: u8) -> Option<u8> {
    match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'A'..=b'F' => Some(byte - b'A' + 10),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn written(bytes: &[u8], spaces: Spaces) -> Vec<u8> {
        let mut out = Vec::new();
        write(bytes, spaces, &mut out);
        out
    }

    #[test]
    fn every_byte_value_comes_back() {
        let all: Vec<u8> = (0..=255).collect();
        for spaces in [Spaces::Plain, Spaces::Escaped] {
            let text = written(&all, spaces);
            assert!(text.iter().all(|byte| (0x20..=0x7E).contains(byte)));
            assert_eq!(read(&text, spaces).unwrap(), all);
        }
    }

    #[test]
    fn the_examples_of_the_format() {
        assert_eq!(written(b"\n\\", Spaces::Plain), b"\\0A\\5C");
        assert_eq!(written(b"a b", Spaces::Plain), b"a b");
        assert_eq!(written(b"a b", Spaces::Escaped), b"a\\20b");
    }

    #[test]
    fn wrong_forms_name_their_place() {
        for (text, place) in
            [("ab\\", 2), ("\\0", 0), ("a\\0a", 1), ("a\\41", 1), ("a\n", 1), ("\u{e9}", 0), ("a\\20", 1)]
        {
            assert_eq!(read(text.as_bytes(), Spaces::Plain), Err(place), "{text:?}");
        }
        assert_eq!(read(b"a b", Spaces::Escaped), Err(1));
    }
}
