//! The format of the link: a shipped file's frames as they are, its framing and check around other contents, or text
//! lines without a check that is known.

use std::sync::Arc;

use wheeltap_parsers::{Framing, What, Wire, foreign};

use super::body::{Body, Read};
use super::cell::{Cell, Cut, cells};
use super::probe;
use super::start_up::reads_like_text;
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

impl Heard {
    /// Nothing was heard yet.
    pub const fn nothing() -> Self {
        Self { format: Format::Unknown, bodies: Vec::new(), coarse: Vec::new(), loose: [0, 0] }
    }
}

/// Fewest frames with a right check before a format is believed: an 8-bit check is right by chance once in 256, a
/// 16-bit check once in 65,536.
fn believed(rover: &RoverFile) -> usize {
    let kinds = rover.profile(Wire::ToDrive).map(|profile| profile.kinds.as_slice()).unwrap_or_default();
    let width = kinds.iter().map(|kind| kind.check.sum.width()).max().unwrap_or(0);
    if width >= 16 { 2 } else { 4 }
}

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

/// So many bodies settle whether a link has a check that is known.
const SETTLED: usize = 12;

/// Finds the format among the shipped ones, or the ends of text lines. What was found `before` is tried first.
pub fn find(heard: &[Read], shipped: &[Shipped], before: &Heard) -> Heard {
    let again = |name: &str| shipped.iter().find(|(file, _)| file.name == name);
    let known = match &before.format {
        Format::Lines(_) if before.bodies.len() >= SETTLED => return lines(heard),
        Format::Like(file, _) => again(file.name).and_then(|(file, rover)| framed(*file, rover, heard)),
        Format::Whole(file, _) => again(file.name).and_then(|(file, rover)| whole(*file, rover, heard)),
        Format::Lines(_) | Format::Unknown => None,
    };
    known.or_else(|| among(heard, shipped)).unwrap_or_else(|| lines(heard))
}

fn among(heard: &[Read], shipped: &[Shipped]) -> Option<Heard> {
    let odd = heard.iter().flat_map(|read| &read.bytes).filter(|byte| !is_text(**byte)).count();
    // Two odd bytes stand before many a start-up text; binary frames are full of them.
    let text_only = odd * 50 < heard.iter().map(|read| read.bytes.len()).sum();
    let likely = |rover: &RoverFile| is_lines(rover) || !text_only;
    let likely = || shipped.iter().filter(|(_, rover)| likely(rover));
    let whole = likely().find_map(|(file, rover)| whole(*file, rover, heard));
    whole.or_else(|| likely().find_map(|(file, rover)| framed(*file, rover, heard)))
}

const fn is_text(byte: u8) -> bool {
    matches!(byte, b' '..=b'~' | b'\t' | b'\r' | b'\n')
}

fn is_lines(rover: &RoverFile) -> bool {
    rover.profile(Wire::ToDrive).is_some_and(|profile| matches!(profile.framing, Framing::Lines { .. }))
}

/// Whether good frames are nearly all there is, or so many that other text among them changes nothing.
const fn nearly_all(frames: usize, good: u64, bad: u64) -> bool {
    good >= 4 * bad || frames >= SETTLED
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
    let believed = frames >= believed(rover) && nearly_all(frames, good, bad);
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
    let is_text = is_lines(rover);
    let bytes = joined(heard);
    let end = if is_text { end(&bytes, heard)?.0 } else { End::Lf };
    let probe = probe::of(rover, end.bytes(), heard)?;
    let fine = probe.run(heard, Cut::Fine);
    if fine.bodies.len() < believed(rover) || !nearly_all(fine.bodies.len(), fine.good, fine.bad) {
        return None;
    }
    let coarse = if is_text { probe.run(heard, Cut::Coarse).bodies } else { fine.bodies.clone() };
    let format = Format::Like(file, probe.framing().clone());
    Some(Heard { format, bodies: fine.bodies, coarse, loose: [fine.bad, fine.good + fine.bad] })
}

/// Text lines, whatever they say.
fn lines(heard: &[Read]) -> Heard {
    let bytes = joined(heard);
    let all = bytes.len() as u64;
    let Some((end, lines)) = end(&bytes, heard) else {
        return Heard { format: Format::Unknown, bodies: Vec::new(), coarse: Vec::new(), loose: [all, all] };
    };
    let odd = bytes.iter().filter(|byte| !is_text(**byte)).count() as u64;
    let bodies = |cut| lines.iter().filter(|line| is_order(line.bytes)).map(|line| line.body(cut)).collect();
    Heard { format: Format::Lines(end), bodies: bodies(Cut::Fine), coarse: bodies(Cut::Coarse), loose: [odd, all] }
}

fn joined(heard: &[Read]) -> Vec<u8> {
    heard.iter().flat_map(|read| &read.bytes).copied().collect()
}

/// The end mark that gives most orders, with the lines it gives; of equals the longest.
fn end<'h>(bytes: &'h [u8], heard: &'h [Read]) -> Option<(End, Vec<Line<'h>>)> {
    let split = End::ALL.into_iter().map(|end| (end, split_lines(bytes, heard, end)));
    split.rev().max_by_key(|(_, lines)| votes(lines)).filter(|(_, lines)| votes(lines) > 0)
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
            // Other text may end in CR LF where orders end in CR.
            lines.push(Line { bytes: line.strip_prefix(b"\n").unwrap_or(line), read });
        }
        from = after;
    }
    lines
}

/// Lines heard while something was pressed, and that are no text for a person, speak first: a board's start-up text may
/// end its lines otherwise.
fn votes(lines: &[Line<'_>]) -> usize {
    let pressed = |line: &&Line<'_>| line.read.step.is_some() && !reads_like_text(&String::from_utf8_lossy(line.bytes));
    votes_of(lines.iter().filter(pressed)) * 10_000 + votes_of(lines.iter())
}

/// Lines that look like orders and come more than once: a rest does, a line of start-up text does not.
fn votes_of<'l>(lines: impl Iterator<Item = &'l Line<'l>>) -> usize {
    let mut orders: Vec<&[u8]> = lines.map(|line| line.bytes).filter(|line| is_order(line)).collect();
    orders.sort_unstable();
    let again = orders.windows(2).filter(|pair| pair.first() == pair.get(1)).count();
    if again > 0 { 1_000 + again.min(8_000) } else { orders.len().min(999) }
}

/// Printable, short, and not known as text that a chip prints by itself.
fn is_order(line: &[u8]) -> bool {
    let printable = line.iter().all(|byte| matches!(byte, b' '..=b'~'));
    !line.is_empty() && line.len() <= LONGEST_ORDER && printable && foreign::find(line, &[]).is_none()
}
