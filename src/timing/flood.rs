//! The most bytes that came within a stretch of time: what a receive buffer would have had to hold if nobody had read
//! it for so long.
//!
//! A buffer of N bytes that is empty at first and is not read while W bytes come drops W - N of them. The stretch may
//! begin anywhere, so the worst counts. *At least* counts records that certainly lie whole within one stretch; *at most*
//! all that may touch it, and never more than the wire can carry.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

/// The stretches of time that are looked at, milliseconds.
pub const STRETCHES_MS: [u32; 6] = [5, 10, 20, 50, 100, 500];
/// The most pieces kept; older ones leave the longest stretch early, and *at least* then says less.
const MOST: usize = 4096;

/// One record of the wire.
#[derive(Clone, Copy, Debug)]
struct Piece {
    begins: Interval,
    ends: Interval,
    len: u64,
}

/// The pieces of one stretch that ends with the newest one.
#[derive(Clone, Copy, Debug, Default)]
struct Window {
    /// Number of its first piece, counted from the beginning of the session.
    first: u64,
    bytes: u64,
    most: u64,
}

impl Window {
    fn take(&mut self, pieces: &VecDeque<Piece>, gone: u64, len: u64, fits: impl Fn(&Piece) -> bool) {
        self.bytes += len;
        while let Some(piece) = self.first.checked_sub(gone).and_then(|place| pieces.get(place as usize)) {
            if fits(piece) {
                break;
            }
            self.first += 1;
            self.bytes -= piece.len;
        }
        self.most = self.most.max(self.bytes);
    }

    /// The oldest piece is kept no longer.
    fn drop_front(&mut self, gone: u64, len: u64) {
        if self.first < gone {
            self.first = gone;
            self.bytes -= len;
        }
    }
}

/// Watches the bytes of one wire.
#[derive(Clone, Debug, Default)]
pub struct Flood {
    pieces: VecDeque<Piece>,
    /// How many pieces are kept no longer.
    gone: u64,
    certain: [Window; STRETCHES_MS.len()],
    possible: [Window; STRETCHES_MS.len()],
}

impl Flood {
    /// Takes the next record of the wire: when its first and its last byte were complete.
    pub fn take(&mut self, begins: Interval, ends: Interval, len: u64) {
        if self.pieces.len() == MOST {
            self.drop_front();
        }
        self.pieces.push_back(Piece { begins, ends, len });
        let Self { pieces, gone, certain, possible } = self;
        for ((ms, certain), possible) in STRETCHES_MS.iter().zip(certain).zip(possible) {
            let stretch = Nanos::from(*ms) * 1_000_000;
            certain.take(pieces, *gone, len, |piece| ends.hi - piece.begins.lo <= stretch);
            possible.take(pieces, *gone, len, |piece| begins.lo - piece.ends.hi <= stretch);
        }
        // The widest window of all begins with the oldest piece that can still count.
        let oldest = self.certain.iter().chain(&self.possible).map(|window| window.first).min();
        while oldest.is_some_and(|oldest| self.gone < oldest) {
            self.pieces.pop_front();
            self.gone += 1;
        }
    }

    fn drop_front(&mut self) {
        let Some(piece) = self.pieces.pop_front() else { return };
        self.gone += 1;
        let (gone, len) = (self.gone, piece.len);
        self.certain.iter_mut().chain(&mut self.possible).for_each(|window| window.drop_front(gone, len));
    }

    /// For each of [`STRETCHES_MS`]: at least and at most so many bytes came within the worst one. `byte` is the
    /// shortest time of a byte, nanoseconds, 0 when it is not known.
    pub fn most(&self, byte: Nanos) -> [[u64; 2]; STRETCHES_MS.len()] {
        let mut most = [[0; 2]; STRETCHES_MS.len()];
        let windows = self.certain.iter().zip(&self.possible);
        for ((most, ms), (certain, possible)) in most.iter_mut().zip(STRETCHES_MS).zip(windows) {
            let carried = match byte {
                0 => u64::MAX,
                byte => (Nanos::from(ms) * 1_000_000 / byte) as u64 + 1,
            };
            *most = [certain.most, possible.most.min(carried).max(certain.most)];
        }
        most
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Nanos = 1_000_000;

    fn at(ms: i64) -> Interval {
        Interval::new(ms * MS, ms * MS)
    }

    #[test]
    fn the_worst_stretch_counts() {
        let mut flood = Flood::default();
        // 40 bytes in 4 ms every 50 ms; once three frames one upon the other.
        for n in 0..20 {
            let from = n * 50;
            flood.take(at(from), at(from + 4), 40);
            if n == 7 {
                flood.take(at(from + 5), at(from + 9), 40);
                flood.take(at(from + 10), at(from + 14), 40);
            }
        }
        let most = flood.most(100_000);
        // In 5 ms one whole frame, and parts of two others, but no more than 51 bytes fit on the wire.
        assert_eq!(most[0], [40, 51]);
        assert_eq!(most[1], [80, 101]);
        assert_eq!(most[2], [120, 120]);
        // 100 ms: frames begun at 350, 355, 360, 400, and one of 300 or 450 touched.
        assert_eq!(most[4], [160, 200]);
    }

    #[test]
    fn what_may_have_come_together_is_told_from_what_did() {
        let mut flood = Flood::default();
        for n in 0..3 {
            let wide = |ms: i64| Interval::new((ms - 17) * MS, ms * MS);
            flood.take(wide(n * 20), wide(n * 20 + 4), 40);
        }
        assert_eq!(flood.most(100_000)[0], [0, 51]);
    }

    #[test]
    fn memory_is_bounded() {
        let mut flood = Flood::default();
        for n in 0..3 * MOST as i64 {
            flood.take(Interval::new(n, n), Interval::new(n, n), 1);
        }
        assert!(flood.pieces.len() <= MOST);
        assert_eq!(flood.most(0)[0], [MOST as u64; 2]);
    }
}
