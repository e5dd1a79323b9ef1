//! Numbers written as text: digits and signs, exactly as a field states them.

use nom::bytes::complete::take_while1;
use nom::character::complete::{char, one_of};
use nom::combinator::{all_consuming, opt, verify};
use nom::{IResult, Parser};

use crate::fields::{Field, Letters, Read, Sign};

/// Most decimal digits that always fit.
const MOST_DECIMAL: usize = 18;
/// Most hexadecimal digits that always fit.
const MOST_HEX: usize = 15;

/// The whole of `text` as a decimal number.
pub(crate) fn decimal(text: &[u8], digits: Option<u8>, sign: Sign) -> Option<i64> {
    let (_, (minus, number)) =
        all_consuming((|rest| signed(rest, sign), |rest| run(rest, 10, digits, MOST_DECIMAL))).parse(text).ok()?;
    let size = value(number, 10);
    Some(if minus { -size } else { size })
}

/// The whole of `text` as a hexadecimal number.
pub(crate) fn hex(text: &[u8], digits: Option<u8>, letters: Letters) -> Option<i64> {
    let (_, number) = all_consuming(|rest| run(rest, 16, digits, MOST_HEX)).parse(text).ok()?;
    number.iter().all(|digit| letters.allow(*digit)).then(|| value(number, 16))
}

/// How many bytes of `text` look like a number of this shape, sign included.
pub(crate) fn extent(text: &[u8], radix: u32, sign: Sign) -> usize {
    let signs = usize::from(sign != Sign::Never && text.first().is_some_and(|byte| matches!(byte, b'+' | b'-')));
    signs + text.iter().skip(signs).take_while(|byte| is_digit(**byte, radix)).count()
}

/// The value of a hexadecimal digit, where its case is allowed.
#[inline]
pub(crate) fn hex_value(digit: u8, letters: Letters) -> Option<u8> {
    Some(HEX[usize::from(digit)]).filter(|value| *value < 16 && letters.allow(digit))
}

/// For each byte, its value as a hexadecimal digit, or 255.
const HEX: [u8; 256] = {
    let mut all = [255; 256];
    let mut value = 0;
    while value < 16 {
        all[b"0123456789ABCDEF"[value] as usize] = value as u8;
        all[b"0123456789abcdef"[value] as usize] = value as u8;
        value += 1;
    }
    all
};

/// Decimal digits of any number: behind a word they need no literal between.
pub(crate) fn is_free_decimal(field: &Field) -> bool {
    matches!(field.read, Read::Decimal { digits: None, .. })
}

/// How many bytes stand before the first digit, and before the sign where one stands right before it.
pub(crate) fn word_before(rest: &[u8]) -> Option<usize> {
    let digit = rest.iter().position(u8::is_ascii_digit)?;
    let before = digit.checked_sub(1)?;
    let signed = rest.get(before).is_some_and(|byte| matches!(byte, b'+' | b'-'));
    Some(if signed { before } else { digit })
}

/// Whether `byte` is a digit.
pub(crate) fn is_digit(byte: u8, radix: u32) -> bool {
    char::from(byte).is_digit(radix)
}

fn signed(rest: &[u8], sign: Sign) -> IResult<&[u8], bool> {
    match sign {
        Sign::Never => Ok((rest, false)),
        Sign::May => opt(one_of("+-")).map(|found| found == Some('-')).parse(rest),
        Sign::Must => char('+').map(|_| false).or(char('-').map(|_| true)).parse(rest),
    }
}

fn run(rest: &[u8], radix: u32, digits: Option<u8>, most: usize) -> IResult<&[u8], &[u8]> {
    verify(take_while1(|byte| is_digit(byte, radix)), |found: &[u8]| {
        found.len() <= most && digits.is_none_or(|exact| found.len() == usize::from(exact))
    })
    .parse(rest)
}

fn value(digits: &[u8], radix: u32) -> i64 {
    digits
        .iter()
        .filter_map(|digit| char::from(*digit).to_digit(radix))
        .fold(0, |all, digit| all * i64::from(radix) + i64::from(digit))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn decimal_numbers_are_read_strictly() {
        let rows = [
            (b"180".as_slice(), None, Sign::Never, Some(180)),
            (b"-065", Some(3), Sign::Must, Some(-65)),
            (b"+000", Some(3), Sign::Must, Some(0)),
            (b"065", Some(3), Sign::Must, None),
            (b"-5", None, Sign::May, Some(-5)),
            (b"5", None, Sign::May, Some(5)),
            (b"-5", None, Sign::Never, None),
            (b"42", Some(3), Sign::Never, None),
            (b"4 2", None, Sign::Never, None),
            (b"", None, Sign::May, None),
            (b"999999999999999999", None, Sign::Never, Some(999_999_999_999_999_999)),
            (b"1000000000000000000", None, Sign::Never, None),
        ];
        for (text, digits, sign, expected) in rows {
            assert_eq!(decimal(text, digits, sign), expected, "{}", String::from_utf8_lossy(text));
        }
    }

    #[test]
    fn hex_numbers_take_the_letters_their_field_allows() {
        let rows = [
            (b"0F".as_slice(), Some(2), [Some(15), None, Some(15)]),
            (b"af", None, [None, Some(0xAF), Some(0xAF)]),
            (b"aF", None, [None, None, Some(0xAF)]),
            (b"90", None, [Some(0x90); 3]),
            (b"G0", None, [None; 3]),
            (b"1234567890ABCDEF", None, [None; 3]),
        ];
        for (text, digits, expected) in rows {
            let read = [Letters::Upper, Letters::Lower, Letters::Either].map(|letters| hex(text, digits, letters));
            assert_eq!(read, expected, "{}", text.escape_ascii());
        }
    }
}
