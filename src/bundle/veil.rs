//! The veil: which bytes of each wire are overwritten, and what that takes away.

use std::collections::BTreeMap;
use std::ops::Range;

use wheeltap_parsers::{TextClass, Wire};

use super::secret;
use crate::engine::event::{Event, Happening};
use crate::engine::words::harmless;

/// A run of printable bytes in noise from which on it may be text.
const RUN: usize = 6;
/// How many examples are kept.
const EXAMPLES: usize = 5;

/// Places to overwrite, by wire, and a count of each reason.
#[derive(Clone, Debug, Default)]
pub struct Veil {
    places: [Vec<Range<u64>>; 2],
    /// Bytes covered for each reason.
    pub reasons: BTreeMap<&'static str, u64>,
    /// Good frames in which something was covered: they will be read as damaged.
    pub frames: u64,
    /// Pieces of text that are known as a board's start-up or crash text, and stay.
    pub known: u64,
    /// The first few texts, as they stand in the session: for the person who decides, never for the bundle.
    pub examples: Vec<String>,
    /// Places that are covered but not told of: they lie outside the part.
    silent: bool,
}

impl Veil {
    /// Takes the next event: free text goes as a whole, from everything else what looks like a secret. What lies outside
    /// the part (`inside` is false) is covered all the same, since an event may reach into it, but not told of.
    pub fn see(&mut self, event: &Event, inside: bool) {
        self.silent = !inside;
        match &event.what {
            Happening::Text { class: TextClass::Free, raw } => {
                self.cover(event, 0..event.len, "free text", raw);
            }
            Happening::Text { raw, .. } => {
                self.known += u64::from(inside);
                self.secrets(event, raw, "names and addresses in start-up text");
            }
            Happening::Damage { raw, .. } => {
                self.secrets(event, raw, "names and addresses in damaged frames");
                if event.len > raw.len() as u64 {
                    self.cover(event, raw.len() as u64..event.len, "ends of long damaged pieces", b"");
                }
            }
            Happening::Frame(frame) => {
                let before = self.bytes();
                self.secrets(event, frame.raw.bytes(), "names and addresses in good frames");
                self.frames += u64::from(self.bytes() > before);
            }
            Happening::Noise { raw } => self.noise(event, raw),
            _ => {}
        }
    }

    fn secrets(&mut self, event: &Event, raw: &[u8], reason: &'static str) {
        for place in secret::places(raw) {
            let shown = raw.get(place.clone()).unwrap_or_default();
            self.cover(event, place.start as u64..place.end as u64, reason, shown);
        }
    }

    /// Text may hide in noise: runs of printable bytes go, and so does what the excerpt does not show.
    fn noise(&mut self, event: &Event, raw: &[u8]) {
        let mut at = 0;
        while at < raw.len() {
            let run = raw.get(at..).unwrap_or_default().iter().take_while(|byte| (0x20..=0x7E).contains(*byte)).count();
            if run >= RUN {
                let shown = raw.get(at..at + run).unwrap_or_default();
                self.cover(event, at as u64..(at + run) as u64, "text in noise", shown);
            }
            at += run.max(1);
        }
        if event.len > raw.len() as u64 {
            self.cover(event, raw.len() as u64..event.len, "ends of long noise", b"");
        }
    }

    fn cover(&mut self, event: &Event, place: Range<u64>, reason: &'static str, shown: &[u8]) {
        let Some(wire) = event.wire else { return };
        // Line ends stay; of what the excerpt does not show it is not known how many there are.
        let length = place.end - place.start;
        let length = if shown.len() as u64 == length { secret::coverable(shown) } else { length };
        self.places[wire.index()].push(event.offset + place.start..event.offset + place.end);
        if self.silent {
            return;
        }
        *self.reasons.entry(reason).or_default() += length;
        if self.examples.len() < EXAMPLES && !shown.is_empty() {
            self.examples.push(harmless(shown.trim_ascii_end()));
        }
    }

    /// All events have been seen.
    pub fn close(&mut self) {
        for places in &mut self.places {
            places.sort_by_key(|place| place.start);
        }
    }

    /// Bytes covered inside the part.
    pub fn bytes(&self) -> u64 {
        self.reasons.values().sum()
    }

    /// Overwrites what is to be covered in a read of `wire` that begins at `offset`.
    pub fn draw_over(&self, wire: Wire, offset: u64, bytes: &mut [u8]) {
        let places = &self.places[wire.index()];
        let end = offset + bytes.len() as u64;
        let first = places.partition_point(|place| place.end <= offset);
        for place in places.iter().skip(first).take_while(|place| place.start < end) {
            let from = place.start.saturating_sub(offset) as usize;
            let to = (place.end.min(end) - offset) as usize;
            secret::cover(bytes.get_mut(from..to).unwrap_or_default());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_across_two_reads_is_covered_in_both() {
        let veil = Veil { places: [vec![3..6, 8..9], Vec::new()], ..Veil::default() };
        let (mut first, mut second) = (*b"abcde", *b"fghij");
        veil.draw_over(Wire::ToDrive, 0, &mut first);
        veil.draw_over(Wire::ToDrive, 5, &mut second);
        assert_eq!((&first, &second), (b"abcxx", b"xghxj"));
        veil.draw_over(Wire::FromDrive, 5, &mut second);
        assert_eq!(&second, b"xghxj");
    }
}
