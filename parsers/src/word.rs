//! Words: up to eight bytes at a time as one number, first byte lowest.

/// Bytes of a word.
pub(crate) const WORD: usize = 8;

/// The first eight bytes, or all where there are fewer, with zeros above them; and how many those are.
#[inline]
pub(crate) fn first(bytes: &[u8]) -> (u64, usize) {
    match bytes.first_chunk::<WORD>() {
        Some(word) => (u64::from_le_bytes(*word), WORD),
        None => (bytes.iter().rev().fold(0, |all, byte| all << 8 | u64::from(*byte)), bytes.len()),
    }
}

/// `bytes` word by word: each with how many bytes of it count. The others are 0.
#[inline]
pub(crate) fn all(bytes: &[u8]) -> impl Iterator<Item = (u64, usize)> {
    let (eights, rest) = bytes.as_chunks::<WORD>();
    let tail = match bytes.last_chunk::<WORD>() {
        _ if rest.is_empty() => 0,
        Some(last) => u64::from_le_bytes(*last) >> (64 - 8 * rest.len()),
        None => first(rest).0,
    };
    let whole = eights.iter().map(|eight| (u64::from_le_bytes(*eight), WORD));
    whole.chain((!rest.is_empty()).then_some((tail, rest.len())))
}

/// The lowest `len` bytes of a word, all ones.
#[inline]
pub(crate) fn low(len: usize) -> u64 {
    u64::MAX.checked_shr(64_u32.saturating_sub(8 * len as u32)).unwrap_or(0)
}

/// `byte` eight times.
#[inline]
pub(crate) const fn each(byte: u8) -> u64 {
    0x0101_0101_0101_0101 * byte as u64
}

/// A bit in the first byte of `word` that is 0, and perhaps in later ones; 0 where none is.
#[inline]
pub(crate) fn zeros(word: u64) -> u64 {
    word.wrapping_sub(each(1)) & !word & each(0x80)
}

/// How many bytes stand before the first bit of `flags`.
#[inline]
pub(crate) fn before(flags: u64) -> usize {
    flags.trailing_zeros() as usize / 8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_hold_all_bytes_in_order() {
        let bytes: Vec<u8> = (1..=20).collect();
        for len in 0..=20 {
            let part = &bytes[..len];
            let joined: Vec<u8> = all(part).flat_map(|(word, len)| word.to_le_bytes().into_iter().take(len)).collect();
            assert_eq!(joined, part);
            assert!(all(part).all(|(word, len)| word & !low(len) == 0));
        }
    }

    #[test]
    fn the_first_zero_is_found_wherever_it_stands() {
        for place in 0..8 {
            for other in [1, 0x7F, 0x80, 0x81, 0xFF] {
                let word = each(other) & !(0xFF << (8 * place));
                assert_eq!(before(zeros(word)), place, "{word:016X}");
            }
        }
        assert_eq!(before(zeros(each(0x80))), 8);
    }
}
