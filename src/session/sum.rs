//! CRC-32C of a short text, in whole words.
//!
//! The library takes a text that begins or ends between two words byte by byte, and a line begins anywhere. So a short
//! text is first laid at the end of a row of words. Zeros in front change nothing for a register that begins with zero,
//! and to begin with 0xFFFFFFFF is to begin with zero and turn over the first 32 bits.

const WORD: usize = size_of::<u64>();

/// Words of the longest text that is laid so; with a longer one the library's own way is as good.
const WORDS: usize = 16;

/// A row of words, as the bytes they are made of.
#[repr(align(8))]
struct Row([[u8; WORD]; WORDS]);

/// CRC-32C of `text`.
pub(super) fn sum(text: &[u8]) -> u32 {
    let (true, Some(head)) = (text.len() >= 2 * WORD, text.first_chunk()) else { return crc32c::crc32c(text) };
    // How many bytes of the first word lie before the text, and which bits of the first two words are turned over.
    let before = text.len().wrapping_neg() % WORD;
    let turned = u128::from(u32::MAX) << (8 * before);
    let (rest, _) = text.get(WORD - before..).unwrap_or_default().as_chunks::<WORD>();
    let mut row = Row([[0; WORD]; WORDS]);
    let Some((first, others)) = row.0.get_mut(..=rest.len()).and_then(<[_]>::split_first_mut) else {
        return crc32c::crc32c(text);
    };
    *first = (u64::from_le_bytes(*head) << (8 * before) ^ turned as u64).to_le_bytes();
    others.copy_from_slice(rest);
    if let Some(second) = others.first_mut() {
        *second = (u64::from_le_bytes(*second) ^ (turned >> 64) as u64).to_le_bytes();
    }
    crc32c::crc32c_append(u32::MAX, row.0.as_flattened().get(..WORD * (rest.len() + 1)).unwrap_or_default())
}

/// A check as it stands in a line: eight upper-case hex digits, all eight made at once.
pub(super) fn digits(sum: u32) -> [u8; 8] {
    let spread = u64::from(sum);
    let spread = (spread << 16 | spread) & 0x0000_FFFF_0000_FFFF;
    let spread = (spread << 8 | spread) & 0x00FF_00FF_00FF_00FF;
    let spread = (spread << 4 | spread) & 0x0F0F_0F0F_0F0F_0F0F;
    let letters = ((spread + 0x0606_0606_0606_0606) >> 4) & 0x0101_0101_0101_0101;
    (spread + 0x3030_3030_3030_3030 + letters * u64::from(b'A' - b'9' - 1)).to_be_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against another library, for every length around the limits, at every place between two words.
    #[test]
    fn it_is_crc_32c_of_any_length_at_any_place() {
        let other = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
        let text: Vec<u8> = (0..400_u32).map(|n| (n * 89 + n / 7) as u8).collect();
        for start in 0..8 {
            for end in start..text.len() {
                let part = text.get(start..end).unwrap_or_default();
                assert_eq!(sum(part), other.checksum(part), "{start}..{end}");
            }
        }
        // RFC 3720, appendix B.4, and the check value of the polynomial.
        assert_eq!((sum(&[0; 32]), sum(b"123456789")), (0x8A91_36AA, 0xE306_9283));
    }

    #[test]
    fn digits_are_those_of_the_standard_library() {
        let mut sum = 1_u32;
        for _ in 0..100_000 {
            sum = sum.wrapping_mul(0x9E37_79B1).wrapping_add(7);
            assert_eq!(digits(sum), format!("{sum:08X}").as_bytes());
        }
        for sum in [0, u32::MAX, 0x0123_4567, 0x89AB_CDEF, 0x9999_9999, 0xAAAA_AAAA] {
            assert_eq!(digits(sum), format!("{sum:08X}").as_bytes());
        }
    }
}
