//! Probes: profiles that know a shipped file's framing and check and nothing of what stands between.

use std::sync::Arc;

use wheeltap_parsers::{Check, Chunk, Decoder, Field, Framing, Kind, Nanos, Part, Profile, Read, Value, What, Wire};

use super::body::{Body, Read as Heard};
use super::cell::{Cell, Cut, cells};
use crate::rover::file::RoverFile;

/// Most bytes of a binary body, marks and check left out.
const MOST: usize = 14;
/// Longest frame a probe waits for.
const LONGEST: usize = 96;
/// Most sorts of marker bytes; with more of them it is noise.
const MOST_MARKERS: usize = 6;

/// A shipped format without its meaning.
pub struct Probe {
    profile: Arc<Profile>,
    /// By kind: what stands behind the body in the layout.
    suffixes: Vec<String>,
}

/// What came out of it.
pub struct Probed {
    /// Bodies whose check was right.
    pub bodies: Vec<Body>,
    /// Bytes in them, and bytes that were damage or noise.
    pub good: u64,
    /// Bytes that were damage or noise.
    pub bad: u64,
}

/// Probes for the format of `file`; text is tried with each of `ends`.
pub fn of(file: &RoverFile, end: &[u8], heard: &[Heard]) -> Option<Probe> {
    let profile = file.profile(Wire::ToDrive)?;
    let checked: Vec<&Kind> = profile.kinds.iter().filter(|kind| !kind.check.is_none()).collect();
    let check = &checked.first()?.check;
    let (kinds, suffixes): (Vec<Kind>, Vec<String>) = match &profile.framing {
        Framing::Lines { .. } => text_kinds(&checked),
        Framing::Markers { first } => marked_kinds(check, *first, &markers(*first, heard)),
        Framing::SyncLength { sync, beyond } => sized_kinds(check, sync.len(), *beyond),
        Framing::Fixed { .. } => return None,
        Framing::Cobs | Framing::Slip | Framing::Stuffed => binary_kinds(check),
    }
    .into_iter()
    .unzip();
    let framing = match &profile.framing {
        Framing::Lines { start, .. } => Framing::Lines { start: start.clone(), end: end.to_vec() },
        other => other.clone(),
    };
    let probe = Profile { framing, kinds, longest: LONGEST, start_up: Vec::new(), idle: profile.idle };
    let usable = !probe.kinds.is_empty() && probe.faults().is_empty();
    usable.then(|| Probe { profile: Arc::new(probe), suffixes })
}

impl Probe {
    /// The framing it looks for.
    pub fn framing(&self) -> &Framing {
        &self.profile.framing
    }

    /// Decodes everything heard.
    pub fn run(&self, heard: &[Heard], cut: Cut) -> Probed {
        let mut probed = Probed { bodies: Vec::new(), good: 0, bad: 0 };
        decode(&self.profile, heard, |read, record| match record.what {
            What::Frame { kind, values, .. } => {
                probed.good += record.len;
                probed.bodies.push(self.body(kind, values, read, record.at.hi, cut));
            }
            What::Damage { .. } | What::Noise { .. } => probed.bad += record.len,
            What::Text { .. } => {}
        });
        probed
    }

    fn body(&self, kind: usize, values: &[Value<'_>], read: Option<&Heard>, at: Nanos, cut: Cut) -> Body {
        let lead = self.profile.kinds.get(kind).and_then(|kind| match kind.parts.first() {
            Some(Part::Literal(bytes)) => Some(bytes.clone()),
            _ => None,
        });
        let binary = lead.into_iter().flatten().map(Cell::Byte);
        let cells = values.iter().fold(binary.collect(), |mut all: Vec<Cell>, value| {
            match value {
                Value::Int(number) => all.push(Cell::Byte(*number as u8)),
                Value::Text(text) => all.extend(cells(text, cut)),
                Value::Real(_) | Value::Word(_) => {}
            }
            all
        });
        let suffix = self.suffixes.get(kind).cloned().unwrap_or_default();
        Body { at, step: read.and_then(|read| read.step), cells, suffix }
    }
}

/// Runs `heard` through a decoder; `each` gets the read in which a record's last byte came.
pub fn decode(
    profile: &Arc<Profile>,
    heard: &[Heard],
    mut each: impl FnMut(Option<&Heard>, &wheeltap_parsers::Record<'_>),
) {
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    let mut ends = Vec::with_capacity(heard.len());
    let mut offset = 0;
    for read in heard {
        ends.push(offset + read.bytes.len() as u64);
        offset += read.bytes.len() as u64;
    }
    let mut sink = |record: &wheeltap_parsers::Record<'_>| {
        let place = ends.partition_point(|end| *end < record.offset + record.len);
        each(heard.get(place), record);
    };
    let mut offset = 0;
    for read in heard {
        let chunk = Chunk { wire: Wire::ToDrive, offset, bytes: &read.bytes, lo: read.at, hi: read.at, byte_ns: 0 };
        decoder.push(&chunk, &mut sink);
        offset += read.bytes.len() as u64;
    }
    decoder.cut(&mut sink);
}

fn kind(parts: Vec<Part>, fields: Vec<Field>, check: &Check) -> Kind {
    Kind { name: "probe".to_owned(), parts, fields, check: check.clone() }
}

fn field(read: Read) -> Field {
    Field { name: String::new(), read, range: None, words: Vec::new(), offset: 0, multiply: 1, divide: 1 }
}

/// Bytes below `most`, where some cannot be data.
fn byte_fields(count: usize, most: Option<u8>) -> Vec<Field> {
    let range = most.map(|most| (0, i64::from(most)));
    let byte = || Field { range, ..field(Read::Binary { bytes: 1, signed: false, big_endian: false }) };
    (0..count).map(|_| byte()).collect()
}

/// Anything up to what announces the check.
fn text_kinds(checked: &[&Kind]) -> Vec<(Kind, String)> {
    let mut all: Vec<(Kind, String)> = Vec::new();
    for shipped in checked {
        let Some(place) = shipped.parts.iter().position(|part| *part == Part::Check) else { continue };
        let announcer = place.checked_sub(1).and_then(|place| literal(shipped.parts.get(place)));
        let announcer = announcer.map(|bytes| bytes[bytes.len().saturating_sub(shipped.check.leave_out)..].to_vec());
        let tail = literal(shipped.parts.get(place + 1)).unwrap_or_default();
        let mut parts = vec![Part::Field(0)];
        let announcer = announcer.unwrap_or_default();
        let suffix = format!("{}<check>{}", String::from_utf8_lossy(&announcer), String::from_utf8_lossy(&tail));
        let wanted = [Part::Literal(announcer), Part::Check, Part::Literal(tail)];
        parts.extend(wanted.into_iter().filter(|part| *part != Part::Literal(Vec::new())));
        if all.iter().all(|(_, known)| *known != suffix) {
            all.push((kind(parts, vec![field(Read::Word)], &shipped.check), suffix));
        }
    }
    all
}

fn literal(part: Option<&Part>) -> Option<Vec<u8>> {
    match part {
        Some(Part::Literal(bytes)) => Some(bytes.clone()),
        _ => None,
    }
}

fn fields_then(lead: Option<u8>, count: usize, check: &Check, end: Option<(u8, u8)>) -> (Kind, String) {
    let (end, most) = (end.map(|(end, _)| end), end.map(|(_, first)| first.saturating_sub(1)));
    let bytes = |byte: Option<u8>| byte.map(|byte| Part::Literal(vec![byte])).into_iter();
    let fields = (0..count).map(Part::Field);
    let parts = bytes(lead).chain(fields).chain([Part::Check]).chain(bytes(end)).collect();
    let end = end.map(|byte| format!(" {byte:02X}")).unwrap_or_default();
    (kind(parts, byte_fields(count, most), check), format!("<check>{end}"))
}

fn binary_kinds(check: &Check) -> Vec<(Kind, String)> {
    (1..=MOST).map(|count| fields_then(None, count, check, None)).collect()
}

fn sized_kinds(check: &Check, sync: usize, beyond: usize) -> Vec<(Kind, String)> {
    let length = |count: usize| u8::try_from((sync + 1 + count + check.len()).checked_sub(beyond)?).ok();
    (1..=MOST).filter_map(|count| Some(fields_then(Some(length(count)?), count, check, None))).collect()
}

fn marked_kinds(check: &Check, first: u8, markers: &Markers) -> Vec<(Kind, String)> {
    let pairs = markers.starts.iter().flat_map(|start| markers.ends.iter().map(move |end| (*start, *end)));
    let kind = |(start, end), count| fields_then(Some(start), count, check, Some((end, first)));
    pairs.flat_map(|pair| (1..=MOST).map(move |count| kind(pair, count))).collect()
}

/// Marker bytes heard: before data, and behind data.
struct Markers {
    starts: Vec<u8>,
    ends: Vec<u8>,
}

/// The marker bytes heard; none where there are too many sorts.
fn markers(first: u8, heard: &[Heard]) -> Markers {
    let bytes: Vec<u8> = heard.iter().flat_map(|read| &read.bytes).copied().collect();
    let pairs = || bytes.iter().copied().zip(bytes.iter().copied().skip(1));
    let starts = counted(pairs().filter(|(a, b)| *a >= first && *b < first).map(|(a, _)| a));
    let ends = counted(pairs().filter(|(a, b)| *a < first && *b >= first).map(|(_, b)| b));
    Markers { starts: mostly(&starts, &ends), ends: mostly(&ends, &starts) }
}

/// How often each byte comes, the most frequent first: of two layouts that fit, that one is tried first.
fn counted(found: impl Iterator<Item = u8>) -> Vec<(usize, u8)> {
    let mut counts = [0_usize; 256];
    found.for_each(|byte| counts[usize::from(byte)] += 1);
    let mut counted: Vec<(usize, u8)> = (0..=u8::MAX).map(|byte| (counts[usize::from(byte)], byte)).collect();
    counted.retain(|(count, _)| *count > 0);
    counted.sort_by_key(|(count, byte)| (std::cmp::Reverse(*count), *byte));
    counted
}

/// The bytes that stand on this side, without those that mostly stand on the other: where other text follows a frame,
/// the frame's last byte looks like a first one.
fn mostly(these: &[(usize, u8)], others: &[(usize, u8)]) -> Vec<u8> {
    let there = |byte: u8| others.iter().find(|(_, other)| *other == byte).map_or(0, |(count, _)| *count);
    let kept: Vec<u8> = these.iter().filter(|(count, byte)| count * 4 > there(*byte)).map(|(_, byte)| *byte).collect();
    if kept.len() > MOST_MARKERS { Vec::new() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rover::built_in;

    /// Two frames of the Moonwagon's stave, its check worked out apart (the rover's own golden frames).
    #[test]
    fn a_stave_is_found_without_its_layout() {
        let stave = built_in::find("stave").unwrap();
        let rover = RoverFile::load("stave", stave.text).unwrap();
        let bytes =
            b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00\xFE\xF1\x2B\x30\x98\x98\x30\x3C\x02\x0E\x0B\xFE".to_vec();
        let heard = [Heard { at: 1, step: None, bytes }];
        let probe = of(&rover, b"\n", &heard).unwrap();
        let probed = probe.run(&heard, Cut::Fine);
        assert_eq!((probed.bodies.len(), probed.good, probed.bad), (2, 22, 0));
        assert_eq!(probed.bodies[0].cells.len(), 8);
        assert_eq!(probed.bodies[0].suffix, "<check> FE");
    }
}
