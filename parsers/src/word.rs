//! Words: up to eight bytes at a time as one number, first byte lowest.

/// Bytes of a word.
pub(crate) const WORD: usize = 8;

/// The first eight bytes, or all where there are fewer, with zeros above them; and how many those are.
#[inline]
pub(crate) fn first(bytes: &[u8]) -> (u64, usize) {
    match bytes.first_chunk::<WORD>() {
        Some(word) => (u64::from_le_bytes(*word), WORD),
        None => (few(bytes), bytes.len()),
    }
}

/// Fewer than eight bytes, with zeros above them; without a loop, whose end nobody can foresee.
#[inline]
fn few(bytes: &[u8]) -> u64 {
    if let (Some(front), Some(back)) = (bytes.first_chunk::<4>(), bytes.last_chunk::<4>()) {
        // Where they overlap both hold the same bytes.
        let (front, back) = (u32::from_le_bytes(*front), u32::from_le_bytes(*back));
        return u64::from(front) | u64::from(back) << (8 * (bytes.len() - 4));
    }
    let at = |place: usize| bytes.get(place).map_or(0, |byte| u64::from(*byte) << (8 * place));
    at(0) + at(1) + at(2)
}

/// Takes `bytes` word by word: each with how many bytes of it count. The others are 0.
#[inline]
pub(crate) fn fold<T>(bytes: &[u8], start: T, mut take: impl FnMut(T, u64, usize) -> T) -> T {
    let (eights, rest) = bytes.as_chunks::<WORD>();
    let taken = eights.iter().fold(start, |all, eight| take(all, u64::from_le_bytes(*eight), WORD));
    if rest.is_empty() {
        return taken;
    }
    let tail = match bytes.last_chunk::<WORD>() {
        Some(last) => u64::from_le_bytes(*last) >> (64 - 8 * rest.len()),
        None => first(rest).0,
    };
    take(taken, tail, rest.len())
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

/// Place of the first `byte` among at most sixteen `bytes`.
#[inline]
pub(crate) fn find(byte: u8, bytes: &[u8]) -> Option<usize> {
    let place = |word: u64| before(zeros(word ^ each(byte)));
    let (word, len) = first(bytes);
    let found = Some(place(word)).filter(|place| *place < len);
    found.or_else(|| {
        let behind = bytes.len().checked_sub(WORD + 1)?;
        let found = place(u64::from_le_bytes(*bytes.last_chunk::<WORD>()?));
        Some(behind + 1 + found).filter(|_| found < WORD)
    })
}

/// Whether none of `bytes` is `wanted`; where they are more than 64, or 0 is wanted, `false` says nothing. Without a loop,
/// whose end nobody can foresee.
#[inline]
pub(crate) fn lacks(bytes: &[u8], wanted: impl Fn(u8) -> bool + Copy) -> bool {
    if let (Some(front), Some(back)) = (bytes.first_chunk::<32>(), bytes.last_chunk::<32>()) {
        bytes.len() <= 64 && !(has(front, wanted) | has(back, wanted))
    } else if let (Some(front), Some(back)) = (bytes.first_chunk::<16>(), bytes.last_chunk::<16>()) {
        !(has(front, wanted) | has(back, wanted))
    } else if let (Some(front), Some(back)) = (bytes.first_chunk::<WORD>(), bytes.last_chunk::<WORD>()) {
        !(has(front, wanted) | has(back, wanted))
    } else {
        !has(&few(bytes).to_le_bytes(), wanted)
    }
}

#[inline]
fn has<const N: usize>(bytes: &[u8; N], wanted: impl Fn(u8) -> bool) -> bool {
    bytes.iter().fold(false, |has, byte| has | wanted(*byte))
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
            let mut joined = Vec::new();
            fold(part, (), |(), word, len| {
                joined.extend(word.to_le_bytes().into_iter().take(len));
                assert_eq!(word & !low(len), 0);
            });
            assert_eq!(joined, part);
        }
    }

    /// Against a plain loop over the bytes.
    #[test]
    fn the_first_of_a_byte_is_found_among_up_to_sixteen() {
        for byte in [0, 1, 0x7E, 0x80, 0xFF] {
            for len in 0..=16 {
                let none = vec![byte ^ 1; len];
                assert_eq!(find(byte, &none), None, "{byte:02X} in {len}");
                for place in 0..len {
                    for later in place..len {
                        let mut bytes = none.clone();
                        (bytes[place], bytes[later]) = (byte, byte);
                        assert_eq!(find(byte, &bytes), Some(place), "{byte:02X} in {len}, again at {later}");
                    }
                }
            }
        }
    }

    #[test]
    fn what_lacks_a_byte_has_it_nowhere() {
        for len in 0..=80 {
            let none = vec![b'x'; len];
            assert_eq!(lacks(&none, |byte| byte == b'\n'), len <= 64, "{len}");
            for place in 0..len {
                let mut bytes = none.clone();
                bytes[place] = b'\n';
                assert!(!lacks(&bytes, |byte| byte == b'\n'), "{len}, at {place}");
            }
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
