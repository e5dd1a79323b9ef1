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

/// Bytes that are searched at once.
pub(crate) const NEAR: usize = 64;

/// [`NEAR`] bytes of ones, as many zeros, and ones again.
const STRIPES: [u8; 3 * NEAR] = {
    let mut all = [0xFF; 3 * NEAR];
    let mut place = NEAR;
    while place < 2 * NEAR {
        all[place] = 0;
        place += 1;
    }
    all
};

/// `N` stripes, of which the last `len` are of the sort that begins at `border`, those before them of the other.
#[inline]
fn stripes<const N: usize>(border: usize, len: usize) -> &'static [u8; N] {
    let from = STRIPES.get(border.saturating_sub(N) + len.min(N)..);
    from.and_then(|from| from.first_chunk()).unwrap_or(&[0; N])
}

/// Whether none of the last `len` of `bytes` is `wanted`. Without a loop, whose end nobody can foresee.
#[inline]
pub(crate) fn lacks(bytes: &[u8; NEAR], len: usize, wanted: impl Fn(u8) -> bool) -> bool {
    let all = bytes.iter().zip(stripes::<NEAR>(2 * NEAR, len));
    all.fold(0, |has, (byte, inside)| has | if wanted(*byte) { *inside } else { 0 }) == 0
}

/// Place of the first `byte` among the last `len` of `bytes`. Without a decision that hangs on it, which nobody can foresee.
#[inline]
pub(crate) fn find_last(byte: u8, bytes: &[u8; 32], len: usize) -> Option<usize> {
    let (words, outside) = (bytes.as_chunks::<WORD>().0, stripes::<32>(NEAR, len).as_chunks::<WORD>().0);
    let here = |nth: usize| {
        let (word, outside) = (u64::from_le_bytes(words[nth]), u64::from_le_bytes(outside[nth]));
        zeros((word ^ each(byte)) | outside)
    };
    let place = (0..words.len()).rev().fold(bytes.len(), |place, nth| {
        let here = here(nth);
        if here == 0 { place } else { WORD * nth + before(here) }
    });
    (place < bytes.len()).then(|| place + len - bytes.len())
}

/// How many bytes stand before the first bit of `flags`.
#[inline]
pub(crate) fn before(flags: u64) -> usize {
    flags.trailing_zeros() as usize / 8
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
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

    /// Bytes of the same sort may stand before them.
    #[test]
    fn the_last_of_many_are_searched_alone() {
        for byte in [0, 1, 0x7F, 0x80, 0xFF] {
            for len in 0..=NEAR {
                for ahead in [byte, byte ^ 1] {
                    let mut bytes = [ahead; NEAR];
                    bytes[NEAR - len..].fill(byte ^ 1);
                    assert!(lacks(&bytes, len, |other| other == byte), "{byte:02X} in {len}");
                    let few = |bytes: &[u8; NEAR]| *bytes.last_chunk::<32>().unwrap();
                    assert_eq!(find_last(byte, &few(&bytes), len.min(32)), None, "{byte:02X} in {len}");
                    for place in (NEAR - len..NEAR).rev() {
                        bytes[place] = byte;
                        assert!(!lacks(&bytes, len, |other| other == byte), "{byte:02X} in {len}, at {place}");
                        if len <= 32 {
                            let found = find_last(byte, &few(&bytes), len);
                            assert_eq!(found, Some(place + len - NEAR), "{byte:02X} in {len}");
                        }
                    }
                }
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
