//! Bursts cut into small pieces, each with the time at which a real wire would have delivered it.

use std::collections::BTreeMap;

use wheeltap_parsers::{Nanos, Wire};

use crate::simulation::Burst;

/// Longest piece, nanoseconds on the wire.
const PIECE: Nanos = 1_000_000;

/// Bytes that may be written together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// When its last byte is complete, nanoseconds since the first burst's time 0.
    pub due: Nanos,
    /// The wire.
    pub wire: Wire,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// Pieces of both wires in the order in which they are due.
pub struct Pieces<I> {
    bursts: I,
    /// The burst that begins next.
    next: Option<Burst>,
    /// By the time they are due, then in the order they were cut.
    waiting: BTreeMap<(Nanos, u64), Piece>,
    count: u64,
}

impl<I: Iterator<Item = Burst>> Pieces<I> {
    /// Pieces of bursts that come in the order of their beginning.
    pub fn new(mut bursts: I) -> Self {
        let next = bursts.next();
        Self { bursts, next, waiting: BTreeMap::new(), count: 0 }
    }

    /// Cuts every burst that could give a piece before the earliest one known.
    fn cut_more(&mut self) {
        while let Some(burst) = self.next.take() {
            if self.waiting.first_key_value().is_some_and(|((due, _), _)| *due <= burst.begins) {
                self.next = Some(burst);
                return;
            }
            for piece in cut(&burst) {
                self.waiting.insert((piece.due, self.count), piece);
                self.count += 1;
            }
            self.next = self.bursts.next();
        }
    }
}

impl<I: Iterator<Item = Burst>> Iterator for Pieces<I> {
    type Item = Piece;

    fn next(&mut self) -> Option<Piece> {
        self.cut_more();
        self.waiting.pop_first().map(|(_, piece)| piece)
    }
}

/// The pieces of one burst: at most one millisecond of the line long each, but never less than a byte.
pub fn cut(burst: &Burst) -> Vec<Piece> {
    let count = burst.bytes.len() as Nanos;
    let complete = |byte: Nanos| burst.begins + (burst.ends - burst.begins) * byte / count.max(1);
    let per_piece = (count * PIECE / (burst.ends - burst.begins).max(1)).clamp(1, count.max(1));
    let chunks = burst.bytes.chunks(per_piece as usize);
    let pieces = chunks.scan(0, |sent, bytes| {
        *sent += bytes.len() as Nanos;
        Some(Piece { due: complete(*sent), wire: burst.wire, bytes: bytes.to_vec() })
    });
    pieces.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn burst(wire: Wire, begins: Nanos, length: usize) -> Burst {
        // 115200 baud 8N1: ten bits a byte, 86,806 ns.
        Burst { wire, begins, ends: begins + length as Nanos * 86_806, bytes: (0..length).map(|n| n as u8).collect() }
    }

    #[test]
    fn a_piece_is_due_when_its_last_byte_is_complete_and_lasts_a_millisecond_at_most() {
        let pieces: Vec<Piece> = Pieces::new(std::iter::once(burst(Wire::ToDrive, 5_000_000, 45))).collect();
        assert_eq!(pieces.iter().map(|piece| piece.bytes.len()).collect::<Vec<_>>(), [11, 11, 11, 11, 1]);
        let dues: Vec<Nanos> = pieces.iter().map(|piece| piece.due).collect();
        assert_eq!(dues, [11, 22, 33, 44, 45].map(|bytes| 5_000_000 + bytes * 86_806));
        assert_eq!(pieces.concat_bytes(), (0..45).collect::<Vec<u8>>());
    }

    trait Concat {
        fn concat_bytes(&self) -> Vec<u8>;
    }

    impl Concat for Vec<Piece> {
        fn concat_bytes(&self) -> Vec<u8> {
            self.iter().flat_map(|piece| piece.bytes.iter().copied()).collect()
        }
    }

    #[test]
    fn two_wires_that_overlap_come_in_the_order_of_time() {
        let bursts = [
            burst(Wire::ToDrive, 0, 100),
            burst(Wire::FromDrive, 1_000_000, 100),
            burst(Wire::ToDrive, 20_000_000, 1),
            burst(Wire::FromDrive, 20_000_001, 0),
        ];
        let pieces: Vec<Piece> = Pieces::new(bursts.into_iter()).collect();
        assert!(pieces.is_sorted_by_key(|piece| piece.due));
        for wire in Wire::BOTH {
            let of: Vec<Piece> = pieces.iter().filter(|piece| piece.wire == wire).cloned().collect();
            assert_eq!(of.concat_bytes().get(..100), Some(&(0..100).collect::<Vec<u8>>()[..]));
        }
    }
}
