//! A UART receiver that listens at one rate to a sender at another, as far as the shape of the bits decides.
//!
//! 8N1: the line rests high; a low start bit, eight data bits with the least significant first, a high stop bit: ten
//! bit times (Maxim tutorial 2141, excerpt; the order of the bits from memory). The receiver finds the falling edge of
//! the start bit and looks at the middle of each bit from there; a stop bit that is low is a framing error (the same
//! and Microchip's USART chapters, excerpts).

/// One byte as a port gave it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct HeardByte {
    /// Its value.
    pub byte: u8,
    /// The port says that its stop bit was low.
    pub framing_error: bool,
}

/// What a receiver does after a stop bit that was low. Both kinds are common.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AfterError {
    /// It waits until the line is high, then for the next falling edge.
    Waits,
    /// It takes the low stop bit for the next start bit.
    Restarts,
}

/// A sender and a receiver that may not agree.
#[derive(Clone, Copy, Debug)]
pub struct Mismatch {
    /// Bits a second of the sender.
    pub sender: f64,
    /// Bits a second of the receiver.
    pub receiver: f64,
    /// How late the receiver notices the edge, 0 to 1 sixteenths of its bit.
    pub phase: f64,
    /// What it does after a framing error.
    pub after: AfterError,
}

impl Mismatch {
    /// What the receiver makes of `bytes` sent without a pause; at most `most` bytes of it.
    pub fn hears(&self, bytes: &[u8], most: usize) -> Vec<HeardByte> {
        let line = Line::of(bytes);
        let step = self.sender / self.receiver;
        let mut heard = Vec::new();
        let mut from = 0.0;
        let mut forced = None;
        while heard.len() < most {
            let Some(edge) = forced.take().or_else(|| line.next_fall(from)) else { break };
            let begin = edge + self.phase / 16.0 * step;
            let at = |bit: u32| begin + (f64::from(bit) + 0.5) * step;
            if line.high(at(0)) {
                from = at(0);
                continue;
            }
            let byte = (1..=8).fold(0, |byte, bit| byte | u8::from(line.high(at(bit))) << (bit - 1));
            let stop = at(9);
            let framing_error = !line.high(stop);
            heard.push(HeardByte { byte, framing_error });
            from = stop;
            if framing_error && self.after == AfterError::Restarts && stop < line.end() {
                forced = Some(stop - 0.5 * step);
            }
        }
        heard
    }
}

/// The levels of a line, one a bit of the sender; high before and after.
struct Line(Vec<bool>);

impl Line {
    fn of(bytes: &[u8]) -> Self {
        let one = |byte: &u8| {
            let byte = *byte;
            let data = (0..8).map(move |bit| byte >> bit & 1 == 1);
            std::iter::once(false).chain(data).chain(std::iter::once(true))
        };
        Self(bytes.iter().flat_map(one).collect())
    }

    fn end(&self) -> f64 {
        self.0.len() as f64
    }

    fn high(&self, at: f64) -> bool {
        at < 0.0 || self.0.get(at as usize).copied().unwrap_or(true)
    }

    /// The first falling edge after `from`.
    fn next_fall(&self, from: f64) -> Option<f64> {
        let first = if from <= 0.0 { 0 } else { from as usize + 1 };
        let before = |index: usize| index.checked_sub(1).and_then(|index| self.0.get(index)).copied().unwrap_or(true);
        (first..self.0.len()).find(|index| !self.0[*index] && before(*index)).map(|index| index as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hears(bytes: &[u8], sender: f64, receiver: f64) -> Vec<(u8, bool)> {
        let mismatch = Mismatch { sender, receiver, phase: 0.5, after: AfterError::Waits };
        mismatch.hears(bytes, 1000).iter().map(|heard| (heard.byte, heard.framing_error)).collect()
    }

    /// Half a bit over the last sample, 9.5 bit times after the edge, is 5.26 % (Circuit Cellar, excerpt); a text is
    /// read right well inside and broken well outside.
    #[test]
    fn a_small_mismatch_does_no_harm() {
        let sent: Vec<(u8, bool)> = b"way,port\n".iter().map(|byte| (*byte, false)).collect();
        for off in [0.97, 0.98, 1.0, 1.02, 1.04] {
            assert_eq!(hears(b"way,port\n", 115_200.0 * off, 115_200.0), sent, "{off}");
        }
        for off in [0.93, 1.07] {
            assert_ne!(hears(b"way,port\n", 115_200.0 * off, 115_200.0), sent, "{off}");
        }
    }

    /// By hand: `U` is 0 1010 1010 1 on the line; at twice the rate each low bit spans two samples, so the first byte
    /// has start 0, then 0 11 00 11 0 (least significant first), and its stop bit falls into the low half behind.
    #[test]
    fn twice_as_fast_by_hand() {
        assert_eq!(hears(b"U", 1.0, 2.0)[0], (0b0110_0110, true));
    }

    #[test]
    fn far_faster_than_the_sender_everything_is_zero() {
        let heard = hears(b"way,rest\n", 1200.0, 115_200.0);
        assert!(heard.len() > 10 && heard.iter().all(|heard| *heard == (0, true)), "{heard:?}");
    }
}
