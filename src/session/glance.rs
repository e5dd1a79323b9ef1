//! A look at one line of a session, no closer than the whole check needs: reads, nearly all there are, by their numbers
//! and by how many bytes they hold. It takes and refuses the same lines as [`parse`], which judges whatever is not as usual.

use wheeltap_parsers::Wire;

use super::escape;
use super::fields::LARGEST_NUMBER;
use super::line::{Line, checked, parse};
use super::line_reader::Text;
use super::taught::Piece;

/// The figures of a read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Read {
    pub(super) wire: Wire,
    pub(super) t_us: i64,
    pub(super) offset: u64,
    pub(super) length: u64,
}

/// The figures of one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Glance {
    Read(Read),
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
    /// A note, which may stand behind the closing line.
    Desk,
    /// A line of a taught rover file, which may too.
    Taught(Piece),
    Other,
}

impl Glance {
    /// Looks at one line; the error says why it cannot be taken.
    pub(super) fn at(text: &Text<'_>) -> Result<Self, String> {
        match text {
            Text::Line(text) | Text::Unended(text) => whole(text),
            Text::TooLong(length) => Err(format!("a line of {length} bytes is too long to be one")),
        }
    }
}

impl Read {
    /// Looks at a line where it is a read as nearly all are. `None` is no verdict: then [`Glance::at`] is to look.
    #[inline]
    pub(super) fn usual(text: &[u8]) -> Option<Self> {
        let wire = match text {
            [b'>', b' ', ..] => Wire::ToDrive,
            [b'<', b' ', ..] => Wire::FromDrive,
            _ => return None,
        };
        checked(text).ok()?;
        let (t_us, rest) = number(text.get(2..)?)?;
        let (_, rest) = number(rest)?;
        let (offset, rest) = number(rest)?;
        let length = escape::length_before(rest, rest.len().checked_sub(CHECK)?)?;
        (offset <= LARGEST_NUMBER).then_some(Self { wire, t_us: t_us.cast_signed(), offset, length })
    }
}

/// Bytes of a space and a check.
const CHECK: usize = 9;

/// By how much a number grows with so many more digits.
const TENS: [u64; 8] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000];

/// A decimal number of up to fifteen digits in its shortest form, which any time can be, and what stands behind the space
/// after it.
#[inline]
fn number(text: &[u8]) -> Option<(u64, &[u8])> {
    let (eight, behind) = text.split_first_chunk()?;
    let (value, count) = digits(*eight);
    let (value, rest) = if count < 8 {
        (value, text.get(count..)?)
    } else {
        let (part, more) = digits(*behind.first_chunk()?);
        let value = value * *TENS.get(more)? + if more == 0 { 0 } else { part };
        (value, behind.get(more..)?)
    };
    match rest {
        [b' ', rest @ ..] if count == 1 || (eight[0] != b'0' && count > 0) => Some((value, rest)),
        _ => None,
    }
}

/// The number that the digits at the beginning stand for, and how many there are: all eight bytes are looked at as one
/// word, then pairs, fours and eights of digits are put together. Where there is none, the number is void.
#[inline]
fn digits(eight: [u8; 8]) -> (u64, usize) {
    let word = u64::from_le_bytes(eight) ^ 0x3030_3030_3030_3030;
    // The high bit of every byte that is more than nine.
    let others = (((word & 0x7F7F_7F7F_7F7F_7F7F) + 0x7676_7676_7676_7676) | word) & 0x8080_8080_8080_8080;
    // How many bits the digits take; the first one goes where it is worth most.
    let bits = others.trailing_zeros() & !7;
    let word = word << (bits.wrapping_neg() % 64);
    let pairs = (word.wrapping_mul(10 << 8 | 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 << 16 | 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    (fours.wrapping_mul(10_000 << 32 | 1) >> 32, bits as usize / 8)
}

fn whole(text: &[u8]) -> Result<Glance, String> {
    Ok(match parse(text).map_err(|fault| fault.to_string())? {
        Line::Read { wire, t_us, offset, bytes, .. } => {
            Glance::Read(Read { wire, t_us, offset, length: bytes.len() as u64 })
        }
        Line::Lost { wire, t_us, count } => Glance::Lost { wire, t_us, count },
        Line::End { t_us, records, .. } => Glance::End { t_us, records },
        Line::Link { wire, .. } => Glance::Link(wire),
        Line::Note { .. } => Glance::Desk,
        Line::Session { .. } => return Err("a second session begins here: cut the file before this line".to_owned()),
        line => match (Piece::of(&line), line.ordered_us()) {
            (Some(piece), _) => Glance::Taught(piece),
            (None, Some(t_us)) => Glance::Timed(t_us),
            (None, None) => Glance::Other,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line with its check, made by another library.
    fn sealed(body: &str) -> Vec<u8> {
        format!("{body} {:08X}", crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(body.as_bytes())).into()
    }

    /// What [`parse`] makes of a line, as far as a look goes.
    fn parsed(text: &[u8]) -> Option<Read> {
        let Ok(Line::Read { wire, t_us, offset, bytes, .. }) = parse(text) else { return None };
        Some(Read { wire, t_us, offset, length: bytes.len() as u64 })
    }

    #[test]
    fn a_look_sees_what_the_whole_reader_reads() {
        let numbers = [
            "0",
            "1",
            "9",
            "10",
            "4012",
            "9999999",
            "10000000",
            "12345678",
            "99999999",
            "123456789",
            "281474976710656",
            "281474976710657",
            "999999999999999",
            "2305843009213693",
            "2305843009213694",
            "18446744073709551616",
            "",
            "01",
            "00",
            "000000001",
            "1a",
            "-1",
            "+1",
            "12345678a",
            "123456789:",
            "/",
        ];
        let bytes =
            ["", "a", " ", "way,port\\0A", "\\0A\\0A\\00\\FF", "\\41", "a\\0", "~}| x", "\u{7F}", "D,A,60*03\\0A"];
        let (mut looked, mut left) = (0, 0);
        for (n, time) in numbers.iter().enumerate() {
            for (m, offset) in numbers.iter().enumerate() {
                let since = numbers.get((n * 7 + m * 3) % numbers.len()).copied().unwrap_or_default();
                for bytes in bytes {
                    let text = sealed(&format!("> {time} {since} {offset} {bytes}"));
                    match Read::usual(&text) {
                        Some(read) => {
                            assert_eq!(Some(read), parsed(&text), "{}", String::from_utf8_lossy(&text));
                            looked += 1;
                        }
                        None => left += u32::from(parsed(&text).is_some()),
                    }
                }
            }
        }
        // Only times of sixteen digits are left to the whole reader.
        assert!(looked > 300 && left * 3 < looked, "{looked} looked at, {left} left");
        for cut in ["> 1 2 3", "> 1 2", ">", "> ", "> 1 2 3 4 5", "<  1 2 3 a", "> 1  2 3 a", "tick 5"] {
            let text = sealed(cut);
            assert_eq!(Read::usual(&text).filter(|_| parsed(&text).is_none()), None, "{cut}");
        }
    }

    #[test]
    fn no_flipped_bit_is_seen_as_a_read() {
        let text = sealed("< 1012345 4012 100 way,port\\0A");
        assert_eq!(Read::usual(&text).map(|read| (read.t_us, read.offset, read.length)), Some((1_012_345, 100, 9)));
        for bit in 0..text.len() * 8 {
            let mut flipped = text.clone();
            if let Some(byte) = flipped.get_mut(bit / 8) {
                *byte ^= 1 << (bit % 8);
            }
            assert_eq!(Read::usual(&flipped), None, "bit {bit}");
        }
    }
}
