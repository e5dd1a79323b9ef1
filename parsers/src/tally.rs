//! A tally: a check worked out while the bytes of a frame come by, so that nobody has to go over them again.

use crate::check::Check;
use crate::word;

/// The check over the bytes from `from` up to the one before `to`.
#[derive(Clone, Debug)]
pub(crate) struct Tally<'a> {
    check: Option<&'a Check>,
    from: usize,
    to: usize,
    /// Bytes that came by.
    at: usize,
    register: u32,
}

impl<'a> Tally<'a> {
    /// Nothing came by yet: the check, its register before the span, and the span. Without a check nothing is worked out.
    #[inline]
    pub(crate) fn new(check: Option<(&'a Check, u32, (usize, usize))>) -> Self {
        let Some((check, register, (from, to))) = check else {
            return Self { check: None, from: 0, to: 0, at: 0, register: 0 };
        };
        Self { check: Some(check), from, to, at: 0, register }
    }

    /// The lowest `len` bytes of `word` come by, at most eight; the others are 0.
    #[inline]
    pub(crate) fn take(&mut self, word: u64, len: usize) {
        let from = self.from.saturating_sub(self.at).min(len);
        let to = self.to.saturating_sub(self.at).min(len);
        self.at += len;
        if let Some(check) = self.check.filter(|_| from < to) {
            self.register = check.step(self.register, (word & word::low(to)) >> (8 * from), to - from);
        }
    }

    /// The register behind the last byte that came by.
    #[inline]
    pub(crate) fn ended(&self) -> u32 {
        self.register
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::check::{Crc, Sum, Written};

    /// The value for the nine digits is that of the catalogue cited in `tests/checks/catalogue.rs`: CRC-16/IBM-SDLC 906E.
    #[test]
    fn the_bytes_of_the_span_alone_count() {
        let sum = Sum::Crc(Crc::new(16, 0x1021, 0xFFFF, true, true, 0xFFFF).unwrap());
        let check = Check { sum, written: Written::BigEndian, skip: 0, leave_out: 0, mark: Vec::new() };
        for (ahead, behind) in [(0, 0), (0, 3), (2, 0), (7, 9), (8, 1)] {
            for piece in 1..=8 {
                let bytes = [vec![b'x'; ahead], b"123456789".to_vec(), vec![b'y'; behind]].concat();
                let mut tally = Tally::new(Some((&check, check.begun(), (ahead, ahead + 9))));
                bytes.chunks(piece).for_each(|piece| tally.take(word::first(piece).0, piece.len()));
                assert_eq!(check.ended(tally.ended()), 0x906E, "{ahead} ahead, {behind} behind, by {piece}");
            }
        }
    }
}
