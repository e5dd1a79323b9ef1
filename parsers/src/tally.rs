//! A tally: a check worked out while the bytes of a frame come by, so that nobody has to go over them again.

use crate::check::Check;

/// Bits of the bytes that are taken in at a time.
const WORD: u32 = 64;

/// The check over the bytes from `from` up to the one before `to`.
#[derive(Clone, Debug)]
pub(crate) struct Tally<'a> {
    check: Option<&'a Check>,
    from: usize,
    to: usize,
    register: u32,
    /// Bytes not taken in yet, first one lowest, and how many bits they are.
    word: u64,
    bits: u32,
}

impl<'a> Tally<'a> {
    /// Nothing came by yet. Without a check nothing is worked out.
    #[inline]
    pub(crate) fn new(check: Option<(&'a Check, usize, usize)>) -> Self {
        let register = check.map_or(0, |(check, ..)| check.begun());
        let (check, from, to) = check.map_or((None, 0, 0), |(check, from, to)| (Some(check), from, to));
        Self { check, from, to, register, word: 0, bits: 0 }
    }

    /// Byte number `place` comes by; they come in order.
    #[inline]
    pub(crate) fn take(&mut self, place: usize, byte: u8) {
        if place < self.from || place >= self.to {
            return;
        }
        self.word |= u64::from(byte) << self.bits;
        self.bits += 8;
        if self.bits == WORD {
            self.register = self.ended();
            (self.word, self.bits) = (0, 0);
        }
    }

    /// The register behind the last byte that came by.
    #[inline]
    pub(crate) fn ended(&self) -> u32 {
        match self.check {
            Some(check) if self.bits > 0 => check.step(self.register, self.word, self.bits as usize / 8),
            _ => self.register,
        }
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
            let bytes = [vec![b'x'; ahead], b"123456789".to_vec(), vec![b'y'; behind]].concat();
            let mut tally = Tally::new(Some((&check, ahead, ahead + 9)));
            bytes.iter().enumerate().for_each(|(place, byte)| tally.take(place, *byte));
            assert_eq!(check.ended(tally.ended()), 0x906E, "{ahead} ahead, {behind} behind");
        }
    }
}
