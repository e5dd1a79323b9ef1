//! The veil: which bytes of each wire are overwritten, and what that takes away.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use wheeltap_parsers::{TextClass, Wire};

use super::secret;
use crate::engine::event::{Event, Happening};
use crate::engine::words::harmless;

/// A run of printable bytes in noise from which on it may be text.
const RUN: usize = 6;
/// How many examples are shown.
const EXAMPLES: usize = 5;
/// How many are kept: an event at the part's border may turn out to have no byte in it.
const EXAMPLES_KEPT: usize = 10;

/// A place on a wire that is overwritten.
#[derive(Clone, Debug)]
struct Place {
    range: Range<u64>,
    reason: &'static str,
    /// Where the good frame begins that it lies in.
    frame: Option<u64>,
    /// Which of the examples it is.
    example: Option<usize>,
}

/// Places to overwrite, by wire.
#[derive(Clone, Debug, Default)]
pub struct Veil {
    places: [Vec<Place>; 2],
    /// Pieces of text that are known as a board's start-up or crash text, and stay.
    known: [Vec<Range<u64>>; 2],
    /// The first few texts, as they stand in the session: for the person who decides, never for the bundle.
    examples: Vec<String>,
}

/// What the veil took away, and left, in the reads that it was drawn over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// Bytes that changed, for each reason.
    pub reasons: BTreeMap<&'static str, u64>,
    /// Good frames in which something changed: they will be read as damaged.
    pub frames: u64,
    /// Pieces of known start-up or crash text of which something stands in the reads.
    pub known: u64,
    examples: BTreeSet<usize>,
    last_frame: [Option<u64>; 2],
    last_known: [Option<u64>; 2],
}

impl Taken {
    /// The first few of the texts that were overwritten.
    pub fn examples<'v>(&self, veil: &'v Veil) -> Vec<&'v str> {
        self.examples.iter().take(EXAMPLES).filter_map(|at| veil.examples.get(*at)).map(String::as_str).collect()
    }

    fn count(&mut self, wire: Wire, place: &Place, changed: u64) {
        if changed == 0 {
            return;
        }
        *self.reasons.entry(place.reason).or_default() += changed;
        self.examples.extend(place.example);
        let last = &mut self.last_frame[wire.index()];
        if place.frame.is_some() && *last != place.frame {
            *last = place.frame;
            self.frames += 1;
        }
    }
}

impl Veil {
    /// Takes the next event: free text goes as a whole, from everything else what looks like a secret. `frame` holds all
    /// bytes of a good frame. What lies outside the part (`inside` is false) is covered all the same, since an event may
    /// reach into it, but is no example.
    pub fn see(&mut self, event: &Event, frame: Option<&[u8]>, inside: bool) {
        match &event.what {
            Happening::Text { class: TextClass::Free, raw } => {
                self.cover(event, 0..event.len, "free text", raw, inside);
            }
            Happening::Text { raw, .. } => {
                if let Some(wire) = event.wire {
                    self.known[wire.index()].push(event.offset..event.offset + event.len);
                }
                self.secrets(event, raw, "names and addresses in start-up text", inside);
                self.end(event, raw, "ends of long start-up text", inside);
            }
            Happening::Damage { raw, .. } => {
                self.secrets(event, raw, "names and addresses in damaged frames", inside);
                self.end(event, raw, "ends of long damaged pieces", inside);
            }
            Happening::Frame(kept) => {
                let raw = frame.unwrap_or_else(|| kept.raw.bytes());
                self.secrets(event, raw, "names and addresses in good frames", inside);
                self.end(event, raw, "ends of long frames", inside);
            }
            Happening::Noise { raw } => self.noise(event, raw, inside),
            _ => {}
        }
    }

    fn secrets(&mut self, event: &Event, raw: &[u8], reason: &'static str, inside: bool) {
        for place in secret::places(raw) {
            let shown = raw.get(place.clone()).unwrap_or_default();
            self.cover(event, place.start as u64..place.end as u64, reason, shown, inside);
        }
    }

    /// What the excerpt does not show may hold anything.
    fn end(&mut self, event: &Event, raw: &[u8], reason: &'static str, inside: bool) {
        if event.len > raw.len() as u64 {
            self.cover(event, raw.len() as u64..event.len, reason, b"", inside);
        }
    }

    /// Text may hide in noise: runs of printable bytes go.
    fn noise(&mut self, event: &Event, raw: &[u8], inside: bool) {
        let mut at = 0;
        while at < raw.len() {
            let run = raw.get(at..).unwrap_or_default().iter().take_while(|byte| (0x20..=0x7E).contains(*byte)).count();
            if run >= RUN {
                let shown = raw.get(at..at + run).unwrap_or_default();
                self.cover(event, at as u64..(at + run) as u64, "text in noise", shown, inside);
            }
            at += run.max(1);
        }
        self.end(event, raw, "ends of long noise", inside);
    }

    fn cover(&mut self, event: &Event, place: Range<u64>, reason: &'static str, shown: &[u8], inside: bool) {
        let Some(wire) = event.wire else { return };
        let is_example = inside && !shown.is_empty() && self.examples.len() < EXAMPLES_KEPT;
        let example = is_example.then(|| {
            self.examples.push(harmless(shown.trim_ascii_end()));
            self.examples.len() - 1
        });
        let range = event.offset + place.start..event.offset + place.end;
        let frame = matches!(event.what, Happening::Frame(_)).then_some(event.offset);
        self.places[wire.index()].push(Place { range, reason, frame, example });
    }

    /// All events have been seen.
    pub fn close(&mut self) {
        for places in &mut self.places {
            places.sort_by_key(|place| place.range.start);
            // Each byte belongs to one place.
            let mut end = 0;
            for place in places.iter_mut() {
                place.range.start = place.range.start.max(end);
                end = place.range.end.max(end);
            }
            places.retain(|place| !place.range.is_empty());
        }
        for known in &mut self.known {
            known.sort_by_key(|place| place.start);
        }
    }

    /// Overwrites what is to be covered in a read of `wire` that begins at `offset`, and counts what that changes. Reads
    /// come in the order of the wire.
    pub fn draw_over(&self, wire: Wire, offset: u64, bytes: &mut [u8], taken: &mut Taken) {
        let end = offset + bytes.len() as u64;
        let places = &self.places[wire.index()];
        let first = places.partition_point(|place| place.range.end <= offset);
        for place in places.iter().skip(first).take_while(|place| place.range.start < end) {
            let from = place.range.start.saturating_sub(offset) as usize;
            let to = (place.range.end.min(end) - offset) as usize;
            let changed = secret::cover(bytes.get_mut(from..to).unwrap_or_default());
            taken.count(wire, place, changed);
        }
        let known = &self.known[wire.index()];
        let first = known.partition_point(|place| place.end <= offset);
        for place in known.iter().skip(first).take_while(|place| place.start < end) {
            let last = &mut taken.last_known[wire.index()];
            if *last != Some(place.start) {
                *last = Some(place.start);
                taken.known += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(range: Range<u64>, reason: &'static str, frame: Option<u64>) -> Place {
        Place { range, reason, frame, example: None }
    }

    #[test]
    fn a_place_across_two_reads_is_covered_in_both_and_counted_once() {
        let places = vec![place(8..9, "b", Some(7)), place(3..6, "a", None), place(4..6, "b", Some(4))];
        let mut veil = Veil { places: [places, Vec::new()], known: [vec![2..4, 9..12], Vec::new()], ..Veil::default() };
        veil.close();
        let mut taken = Taken::default();
        let (mut first, mut second) = (*b"abcdx", *b"f\nhij");
        veil.draw_over(Wire::ToDrive, 0, &mut first, &mut taken);
        veil.draw_over(Wire::ToDrive, 5, &mut second, &mut taken);
        assert_eq!((&first, &second), (b"abcxx", b"x\nhxj"));
        veil.draw_over(Wire::FromDrive, 5, &mut second, &mut taken);
        assert_eq!(&second, b"x\nhxj");
        // The letter that was an x before is no change; what two places cover counts for the first.
        assert_eq!(taken.reasons, BTreeMap::from([("a", 2), ("b", 1)]));
        assert_eq!((taken.frames, taken.known), (1, 2));
    }
}
