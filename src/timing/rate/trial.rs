//! What was heard at one trial rate, and whether it reads clean there.

use std::sync::Arc;

use wheeltap_parsers::{Chunk, Decoder, Profile, Record, What, Wire};

use super::uart::HeardByte;

/// The bursts heard at one rate: what came between two silences, one for each tap of a button.
#[derive(Clone, Debug)]
pub struct Trial {
    /// The rate, baud.
    pub rate: u32,
    /// The bursts, start-up text left out.
    pub bursts: Vec<Vec<HeardByte>>,
    /// How many of them read clean.
    pub clean: usize,
    /// Good frames in them, where a rover file says what a frame is.
    pub frames: usize,
    /// Complete lines in the clean ones.
    pub lines: usize,
}

impl Trial {
    /// A trial at `rate` before anything was heard.
    pub const fn new(rate: u32) -> Self {
        Self { rate, bursts: Vec::new(), clean: 0, frames: 0, lines: 0 }
    }

    /// Takes one burst; where it was `cut`, its first and last line or frame may be torn.
    pub fn take(&mut self, burst: &[HeardByte], cut: bool, profile: Option<&Arc<Profile>>) {
        let bytes: Vec<u8> = burst.iter().map(|heard| heard.byte).collect();
        let broken = burst.iter().any(|heard| heard.framing_error);
        let frames = profile.filter(|_| !broken).map_or(0, |profile| good_frames(profile, &bytes, cut));
        let whole = if cut { inner_lines(burst) } else { burst };
        let lines = if whole.iter().any(|heard| heard.framing_error) { 0 } else { complete_lines(whole) };
        self.clean += usize::from(frames > 0 || lines > 0);
        self.frames += frames;
        self.lines += lines;
        self.bursts.push(burst.to_vec());
    }

    /// All bytes heard.
    pub fn bytes(&self) -> usize {
        self.bursts.iter().map(Vec::len).sum()
    }

    /// Framing errors that the port told of.
    pub fn framing_errors(&self) -> usize {
        self.bursts.iter().flatten().filter(|heard| heard.framing_error).count()
    }

    /// Bursts that do not read clean.
    pub fn unclean(&self) -> usize {
        self.bursts.len() - self.clean
    }

    /// Whether enough reads clean here: several lines or frames, and at most one burst in five that does not (the
    /// first after the port was opened may have been cut).
    pub fn reads_clean(&self) -> bool {
        self.clean >= 2 && self.bytes() >= ENOUGH && self.unclean() * 4 <= self.clean
    }
}

/// Fewest bytes that can show that a rate reads clean.
const ENOUGH: usize = 12;

/// Frames of a burst that is nothing but good frames; 0 for any other. Of a cut burst the ends may be torn.
fn good_frames(profile: &Arc<Profile>, bytes: &[u8], cut: bool) -> usize {
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let (mut good, mut other) = (0, 0);
    let mut count = |record: &Record<'_>| match record.what {
        What::Frame { .. } => good += 1,
        What::Damage { .. } | What::Text { .. } | What::Noise { .. } => other += 1,
    };
    decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut count);
    decoder.cut(&mut count);
    if other <= if cut { 2 } else { 0 } { good } else { 0 }
}

/// The lines between the first end of a line and the last.
fn inner_lines(burst: &[HeardByte]) -> &[HeardByte] {
    let ends = |heard: &HeardByte| matches!(heard.byte, b'\n' | b'\r');
    let (first, last) = (burst.iter().position(ends), burst.iter().rposition(ends));
    first.zip(last).and_then(|(first, last)| burst.get(first + 1..=last)).unwrap_or_default()
}

/// Lines of a burst that is nothing but complete lines of readable text; 0 for any other. One readable byte proves
/// nothing (a wrong rate can give many), a whole burst of them that ends where a line ends does.
fn complete_lines(burst: &[HeardByte]) -> usize {
    let ends = |heard: &HeardByte| matches!(heard.byte, b'\n' | b'\r');
    let readable = |heard: &HeardByte| matches!(heard.byte, b' '..=b'~' | b'\t' | b'\r' | b'\n');
    if !burst.last().is_some_and(ends) || !burst.iter().all(readable) {
        return 0;
    }
    burst.split(ends).filter(|line| !line.is_empty()).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(bytes: &[u8]) -> Vec<HeardByte> {
        bytes.iter().map(|byte| HeardByte { byte: *byte, framing_error: false }).collect()
    }

    #[test]
    fn only_whole_lines_are_clean() {
        let mut trial = Trial::new(9600);
        for burst in [&b"way,port\n"[..], b"way,rest\r\nway,port\r\n"] {
            trial.take(&heard(burst), false, None);
        }
        assert!(trial.reads_clean());
        assert_eq!((trial.clean, trial.lines), (2, 3));
        for burst in [&b"way,po"[..], b"\x80ay,port\n", b"\n", b""] {
            let mut trial = Trial::new(9600);
            trial.take(&heard(burst), false, None);
            assert_eq!(trial.clean, 0, "{burst:?}");
        }
    }

    #[test]
    fn a_stream_cut_anywhere_still_shows_its_whole_lines() {
        let mut trial = Trial::new(9600);
        trial.take(&heard(b"\x81t\nway,rest\nway,port\nway,s"), true, None);
        assert_eq!((trial.clean, trial.lines), (1, 2));
        trial.take(&heard(b"\x81t\nway,\x80est\nway,s"), true, None);
        trial.take(&heard(b"way,rest"), true, None);
        assert_eq!((trial.clean, trial.lines), (1, 2));
    }

    #[test]
    fn a_framing_error_is_never_clean() {
        let mut burst = heard(b"way,port\n");
        burst[3].framing_error = true;
        let mut trial = Trial::new(9600);
        trial.take(&burst, false, None);
        assert_eq!((trial.clean, trial.framing_errors()), (0, 1));
    }
}
