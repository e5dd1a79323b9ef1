//! What was heard while the command board started, for a person.

use super::body::Read;

/// Longest piece of a line shown, characters.
const MOST: usize = 60;
/// A line shorter than this proves nothing.
const LEAST: usize = 4;

/// The lines that can be read, unreadable bytes left out.
pub(super) fn lines(reads: &[Read]) -> Vec<String> {
    let bytes = bytes(reads);
    let whole = bytes.iter().rposition(|byte| matches!(byte, b'\n' | b'\r')).map_or(0, |place| place + 1);
    let readable = |line: &[u8]| {
        let letters = line.iter().filter(|byte| matches!(byte, b' '..=b'~')).map(|byte| char::from(*byte));
        letters.take(MOST).collect::<String>().trim().to_owned()
    };
    let lines = bytes.get(..whole).unwrap_or_default().split(|byte| matches!(byte, b'\n' | b'\r'));
    lines.map(readable).filter(|line| line.len() >= LEAST).collect()
}

/// What follows from them.
pub(super) fn words(reads: &[Read]) -> &'static str {
    let bytes = bytes(reads);
    let odd = bytes.iter().filter(|byte| !matches!(byte, b' '..=b'~' | b'\t' | b'\r' | b'\n')).count();
    if odd * 5 <= bytes.len() && !lines(reads).is_empty() {
        "Text that can be read: lead, ground and line rate are right."
    } else {
        "Bytes come, but no text that can be read. On a link of binary orders that may be so. If the buttons \
         teach nothing, the line rate is another one: quit, and begin again with --rate find."
    }
}

fn bytes(reads: &[Read]) -> Vec<u8> {
    reads.iter().flat_map(|read| &read.bytes).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> Vec<Read> {
        vec![Read { at: 0, step: None, bytes: bytes.to_vec() }]
    }

    #[test]
    fn text_is_shown_without_the_rubbish_before_it() {
        let reads = read(b"\x00\xF8GC2 rom 1.4\r\nload ok\r\neye");
        assert_eq!(lines(&reads), ["GC2 rom 1.4", "load ok"]);
        assert!(words(&reads).contains("are right"));
        assert!(words(&read(b"\xA7\x3C\x09\x21\x00\x00")).contains("no text"));
    }
}
