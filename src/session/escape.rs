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
    read_into(text, spaces, &mut bytes)?;
    Ok(Cow::Owned(bytes))
}

/// A word of bytes that are all 1, and one of all high bits.
const EACH: u64 = 0x0101_0101_0101_0101;
const HIGH: u64 = 0x80 * EACH;

/// How many bytes the first `end` bytes of `text` stand for, spaces plain; `None` where [`read`] would refuse them, or
/// where fewer than eight bytes stand behind them. Eight bytes are looked at as one word, and each backslash once.
#[inline]
pub(super) fn length_before(text: &[u8], end: usize) -> Option<u64> {
    let mut escapes = 0;
    for at in (0..end).step_by(8) {
        let word = u64::from_le_bytes(*text.get(at..)?.first_chunk()?);
        let inside = HIGH >> (8 * (at + 8).saturating_sub(end));
        let low = word & !HIGH;
        // Each sum has the high bit of a byte where the byte is 0x20 or more; 0x7F; another than the backslash.
        let plain = (low + 0x60 * EACH) & !(low + EACH) & !word;
        let mut slashes = !((low ^ (u64::from(b'\\') * EACH)) + 0x7F * EACH) & inside;
        if plain & inside != inside {
            return None;
        }
        while slashes != 0 {
            one(text.get(at + slashes.trailing_zeros() as usize / 8..end)?, Spaces::Plain)?;
            slashes &= slashes - 1;
            escapes += 1;
        }
    }
    Some(end as u64 - 2 * escapes)
}

/// Appends the bytes that `text` stands for to `out`; the error as for [`read`].
pub fn read_into(text: &[u8], spaces: Spaces, out: &mut Vec<u8>) -> Result<(), usize> {
    let mut rest = text;
    while !rest.is_empty() {
        let plain = rest.iter().take_while(|&&byte| spaces.plain(byte)).count();
        let (before, after) = rest.split_at(plain);
        out.extend_from_slice(before);
        rest = after;
        if !rest.is_empty() {
            let (byte, after) = one(rest, spaces).ok_or(text.len() - rest.len())?;
            out.push(byte);
            rest = after;
        }
    }
    Ok(())
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
fn digit(byte: u8) -> Option<u8> {
    match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'A'..=b'F' => Some(byte - b'A' + 10),
        _ => None,
    }
}

/// No digit, in [`VALUES`].
const NONE: u8 = 0xFF;

/// The value of each byte as an upper-case hex digit.
const VALUES: [u8; 256] = {
    let mut values = [NONE; 256];
    let mut value = 0;
    while value < HEX.len() {
        values[HEX[value] as usize] = value as u8;
        value += 1;
    }
    values
};

/// The number that eight upper-case hex digits stand for. All eight are looked up without a decision between two.
pub(super) fn eight_digits(digits: [u8; 8]) -> Option<u32> {
    let values = digits.map(|digit| VALUES[usize::from(digit)]);
    let worst = values.iter().fold(0, |all, value| all | value);
    (worst < 16).then(|| values.iter().fold(0, |number, value| number << 4 | u32::from(*value)))
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
    fn lengths_are_known_without_reading() {
        let (mut pool, mut taken) = (vec![0_u8; 1], [0; 2]);
        // Texts of all sorts, right and wrong, from a multiplier: what one takes the other takes.
        for n in 1..60_000_usize {
            pool.push((n * 7_919 % 251) as u8 ^ (n >> 8) as u8);
            let from = pool.len().saturating_sub(n % 29);
            let mut text = pool[from..].to_vec();
            if n % 3 == 0 {
                text = written(&text, Spaces::Plain);
            }
            if n % 5 == 0 {
                text.extend([b'\\', HEX[n % 16], HEX[n / 16 % 16]]);
            }
            let whole = read(&text, Spaces::Plain).ok().map(|bytes| bytes.len() as u64);
            taken[usize::from(whole.is_some())] += 1;
            let end = text.len();
            text.extend(b" 01234567");
            assert_eq!(length_before(&text, end), whole, "{text:?}");
        }
        assert!(taken.iter().all(|count| *count > 5_000), "refused and taken: {taken:?}");
    }

    // The digits of checks in RFC 3720, appendix B.4, as numbers.
    #[test]
    fn eight_digits_are_one_number() {
        assert_eq!(eight_digits(*b"8A9136AA"), Some(0x8A91_36AA));
        assert_eq!(eight_digits(*b"E3069283"), Some(0xE306_9283));
        for wrong in [b"8a9136AA", b"8A9136A ", b"8A9136AG", b"/A9136AA"] {
            assert_eq!(eight_digits(*wrong), None);
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
