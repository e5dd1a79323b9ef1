//! Orders as the rig's own eye reads them from the bytes that were sent: short, and unlike wheeltap's parsers.

use wheeltap_parsers::Wire;

use crate::truth::{Byte, Truth};

/// Which link a case speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Link {
    Cue,
    Stave,
    Plain,
}

impl Link {
    /// The firmware's macro.
    pub const fn macro_name(self) -> &'static str {
        match self {
            Self::Cue => "LINK_CUE",
            Self::Stave => "LINK_STAVE",
            Self::Plain => "LINK_PLAIN",
        }
    }

    /// The rover file.
    pub const fn rover(self) -> &'static str {
        match self {
            Self::Cue => "cue-line",
            Self::Stave => "stave",
            Self::Plain => "plain-line",
        }
    }
}

/// One whole order as it was sent.
#[derive(Clone, Debug)]
pub struct Order {
    /// When its last byte was complete, nanoseconds.
    pub at: i64,
    /// When its first byte was.
    pub begins: i64,
    pub bytes: Vec<u8>,
    /// Its numbers in their order; for a plain line its value, when that is a number.
    pub numbers: Vec<i64>,
}

/// Every whole order that stood on the wire to the drive board.
pub fn sent(truth: &Truth, link: Link) -> Vec<Order> {
    let bytes = &truth.sent[Wire::ToDrive.index()];
    let ends: Vec<usize> = (0..bytes.len()).filter(|at| is_end(link, bytes[*at].byte)).collect();
    ends.into_iter().filter_map(|end| order(&bytes[..=end], link)).collect()
}

fn is_end(link: Link, byte: u8) -> bool {
    byte == if link == Link::Stave { 0xFE } else { b'\n' }
}

/// The order that these bytes end with.
fn order(bytes: &[Byte], link: Link) -> Option<Order> {
    let length = match link {
        Link::Cue => 45 + usize::from(bytes.iter().rev().nth(1).is_some_and(|byte| byte.byte == b'\r')),
        Link::Stave => 11,
        Link::Plain => last_plain(bytes)?,
    };
    let bytes = bytes.get(bytes.len().checked_sub(length)?..)?;
    let raw: Vec<u8> = bytes.iter().map(|byte| byte.byte).collect();
    let numbers = match link {
        Link::Cue => cue(&raw)?,
        Link::Stave => stave(&raw)?,
        Link::Plain => plain(&raw)?,
    };
    Some(Order { at: bytes.last()?.at, begins: bytes.first()?.at, bytes: raw, numbers })
}

/// How long the last plain line is; it may stand behind foreign text, or behind a line without an end mark.
fn last_plain(bytes: &[Byte]) -> Option<usize> {
    let before = bytes[..bytes.len() - 1].iter().rposition(|byte| byte.byte == b'\n').map_or(0, |end| end + 1);
    let line: Vec<u8> = bytes[before..].iter().map(|byte| byte.byte).collect();
    let begins = |word: &str| line.windows(word.len()).rposition(|window| window == word.as_bytes());
    let begin = ["way,", "pace,", "lamp,"].into_iter().filter_map(begins).max()?;
    Some(line.len() - begin)
}

/// seq, panel, f, s, t, gear: by their places in `c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.`
fn cue(raw: &[u8]) -> Option<Vec<i64>> {
    let text = std::str::from_utf8(raw).ok()?;
    let places =
        [(0, 'c', 1..4), (5, 'p', 6..8), (13, 'f', 14..18), (19, 's', 20..24), (25, 't', 26..30), (31, 'g', 32..33)];
    let number = |(at, letter, digits): &(usize, char, std::ops::Range<usize>)| {
        (text.chars().nth(*at) == Some(*letter)).then(|| text.get(digits.clone())?.parse().ok()).flatten()
    };
    places.iter().map(number).collect()
}

/// seq, then FL FR RL RR in per cent plus 100, as they stand on the wire.
fn stave(raw: &[u8]) -> Option<Vec<i64>> {
    (raw[0] == 0xF1).then(|| raw[1..6].iter().copied().map(i64::from).collect())
}

fn plain(raw: &[u8]) -> Option<Vec<i64>> {
    let text = std::str::from_utf8(raw).ok()?.trim_end();
    let (word, value) = text.split_once(',')?;
    ["way", "pace", "lamp"].contains(&word).then(|| value.parse().into_iter().collect())
}

/// Golden frames of the link formats, worked out before any of this was written.
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn golden_frames_are_read() {
        let line = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
        assert_eq!(cue(line), Some(vec![42, 17, 30, -65, 0, 2]));
        let frame = [0xF1, 0x2A, 0xA2, 0x4D, 0x4D, 0xA2, 0x3C, 0x02, 0x04, 0x00, 0xFE];
        assert_eq!(stave(&frame), Some(vec![42, 162, 77, 77, 162]));
        assert_eq!(plain(b"pace,180\n"), Some(vec![180]));
        assert_eq!(plain(b"way,port\n"), Some(vec![]));
        assert_eq!(plain(b"load @3F40 len 6144 ok\r\n"), None);
    }
}
