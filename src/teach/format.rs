//! The format of the link: a shipped file's frames as they are, its framing and check around other contents, or text
//! lines without a check that is known.

use std::sync::Arc;

use wheeltap_parsers::{Framing, What, Wire, foreign};

use super::body::{Body, Read};
use super::cell::{Cell, Cut, cells};
use super::probe;
use crate::rover::built_in::{self, BuiltIn};
use crate::rover::file::RoverFile;
use crate::rover::meaning::Means;

/// How a text line ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Line feed.
    Lf,
    /// Carriage return, line feed.
    CrLf,
    /// Carriage return.
    Cr,
}

impl End {
    /// All of them, longest first: a `CR LF` ends in an `LF` too.
    pub const ALL: [Self; 3] = [Self::CrLf, Self::Lf, Self::Cr];

    /// The bytes.
    pub const fn bytes(self) -> &'static [u8] {
        match self {
            Self::Lf => b"\n",
            Self::CrLf => b"\r\n",
            Self::Cr => b"\r",
        }
    }

    /// As a rover file writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Lf => "LF",
            Self::CrLf => "CR LF",
            Self::Cr => "CR",
        }
    }
}

/// The format.
#[derive(Clone, Debug)]
pub enum Format {
    /// Nothing that can be told apart yet.
    Unknown,
    /// Text lines without a known check.
    Lines(End),
    /// A shipped file's framing and check; the contents are this rover's own.
    Like(BuiltIn, Framing),
    /// A shipped file's frames as they are.
    Whole(BuiltIn, Arc<RoverFile>),
}

/// Format and bodies of everything heard.
#[derive(Clone, Debug)]
pub struct Heard {
    /// The format.
    pub format: Format,
    /// The bodies.
    pub bodies: Vec<Body>,
    /// The bodies taken apart less finely; the same for binary formats.
    pub coarse: Vec<Body>,
    /// Bytes that fit nothing, and all bytes.
    pub loose: [u64; 2],
}

/// Fewest frames with a right check before a format is believed: an 8-bit check is right by chance once in 256.
const BELIEVED: usize = 4;
/// The longest line taken for an order, bytes.
const LONGEST_ORDER: usize = 64;

/// A shipped file, loaded.
pub type Shipped = (BuiltIn, Arc<RoverFile>);

/// The shipped files, or the one named.
pub fn shipped(like: Option<BuiltIn>) -> Vec<Shipped> {
    let files: Vec<BuiltIn> = like.map_or_else(|| built_in::ALL.to_vec(), |one| vec![one]);
    let loaded = files.iter().filter_map(|file| Some((*file, Arc::new(RoverFile::load(file.name, file.text).ok()?))));
    loaded.collect()
}

/// Finds the format among the shipped ones, or the ends of text lines.
pub fn find(heard: &[Read], shipped: &[Shipped]) -> Heard {
    let whole = || shipped.iter().find_map(|(file, rover)| whole(*file, rover, heard));
    let framed = || shipped.iter().find_map(|(file, rover)| framed(*file, rover, heard));
    whole().or_else(framed).unwrap_or_else(|| lines(heard))
}

/// Whether good frames are nearly all there is.
const fn nearly_all(good: u64, bad: u64) -> bool {
    good >= 4 * bad
}

/// The shipped file as it is, where its orders state wheels or directions and need no move table.
fn whole(file: BuiltIn, rover: &Arc<RoverFile>, heard: &[Read]) -> Option<Heard> {
    let profile = rover.profile(Wire::ToDrive)?;
    let kinds = &rover.meaning.kinds[Wire::ToDrive.index()];
    let checked = profile.kinds.iter().all(|kind| !kind.check.is_none());
    if !checked || kinds.iter().any(|kind| kind.field(Means::Move).is_some()) {
        return None;
    }
    let (mut frames, mut good, mut bad) = (0, 0, 0);
    probe::decode(profile, heard, |_, record| match record.what {
        What::Frame { .. } => {
            frames += 1;
            good += record.len;
        }
        What::Damage { .. } | What::Noise { .. } => bad += record.len,
        What::Text { .. } => {}
    });
    let believed = frames >= BELIEVED && nearly_all(good, bad);
    let found = || Heard {
        format: Format::Whole(file, Arc::clone(rover)),
        bodies: Vec::new(),
        coarse: Vec::new(),
        loose: [bad, good + bad],
    };
    believed.then(found)
}

/// The shipped file's framing and check.
fn framed(file: BuiltIn, rover: &RoverFile, heard: &[Read]) -> Option<Heard> {
    let is_text = matches!(rover.profile(Wire::ToDrive)?.framing, Framing::Lines { .. });
    let ends: &[End] = if is_text { &End::ALL } else { &[End::Lf] };
    ends.iter().find_map(|end| {
        let probe = probe::of(rover, end.bytes(), heard)?;
        let fine = probe.run(heard, Cut::Fine);
        if fine.bodies.len() < BELIEVED || !nearly_all(fine.good, fine.bad) {
            return None;
        }
        let coarse = if is_text { probe.run(heard, Cut::Coarse).bodies } else { fine.bodies.clone() };
        let format = Format::Like(file, probe.framing().clone());
        Some(Heard { format, bodies: fine.bodies, coarse, loose: [fine.bad, fine.good + fine.bad] })
    })
}

/// Text lines, whatever they say.
fn lines(heard: &[Read]) -> Heard {
    let all: u64 = heard.iter().map(|read| read.bytes.len() as u64).sum();

    let bytes: Vec<u8> = heard.iter().flat_map(|read| &read.bytes).copied().collect();
    let split = End::ALL.into_iter().map(|end| (end, split_lines(&bytes, heard, end)));
    // Of ends with equal votes the longest counts: it comes first.
    let best = split.rev().max_by_key(|(_, lines)| votes(lines));
    let Some((end, lines)) = best.filter(|(_, lines)| votes(lines) > 0) else {
        return Heard { format: Format::Unknown, bodies: Vec::new(), coarse: Vec::new(), loose: [all, all] };
    };
    let loose = lines.iter().filter(|line| !is_readable(line.bytes)).map(|line| line.bytes.len() as u64).sum();
    let bodies = |cut| lines.iter().filter(|line| is_order(line.bytes)).map(|line| line.body(cut)).collect();
    Heard { format: Format::Lines(end), bodies: bodies(Cut::Fine), coarse: bodies(Cut::Coarse), loose: [loose, all] }
}

/// A line without its end mark, and the read that held its last byte.
struct Line<'h> {
    bytes: &'h [u8],
    read: &'h Read,
}

impl Line<'_> {
    fn body(&self, cut: Cut) -> Body {
        let text = String::from_utf8_lossy(self.bytes);
        let cells: Vec<Cell> = cells(&text, cut);
        Body { at: self.read.at, step: self.read.step, cells, suffix: String::new() }
    }
}

fn split_lines<'h>(bytes: &'h [u8], heard: &'h [Read], end: End) -> Vec<Line<'h>> {
    let mut lines = Vec::new();
    let (mut from, mut read, mut read_ends) = (0, 0, heard.first().map_or(0, |read| read.bytes.len()));
    for place in memchr::memmem::find_iter(bytes, end.bytes()) {
        let after = place + end.bytes().len();
        while read_ends < after && read + 1 < heard.len() {
            read += 1;
            read_ends += heard.get(read).map_or(0, |read| read.bytes.len());
        }
        if let (Some(line), Some(read)) = (bytes.get(from..place), heard.get(read)) {
            lines.push(Line { bytes: line, read });
        }
        from = after;
    }
    lines
}

/// Lines that look like orders and come more than once: a rest does, a line of start-up text does not.
fn votes(lines: &[Line<'_>]) -> usize {
    let mut orders: Vec<&[u8]> = lines.iter().map(|line| line.bytes).filter(|line| is_order(line)).collect();
    orders.sort_unstable();
    let again = orders.windows(2).filter(|pair| pair.first() == pair.get(1)).count();
    if again > 0 { again + 1 } else { usize::from(!orders.is_empty()) }
}

fn is_readable(line: &[u8]) -> bool {
    line.iter().all(|byte| matches!(byte, b' '..=b'~' | b'\t' | b'\r'))
}

/// Printable, short, and not known as text that a chip prints by itself.
fn is_order(line: &[u8]) -> bool {
    let printable = line.iter().all(|byte| matches!(byte, b' '..=b'~'));
    !line.is_empty() && line.len() <= LONGEST_ORDER && printable && foreign::find(line, &[]).is_none()
}
