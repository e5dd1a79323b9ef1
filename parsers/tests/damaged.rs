//! Recovery from damage, on streams by a second program, written from the formats alone without sight of this decoder:
//! `damage/streams.py`, whose head says what each list holds and what counts as intact. `recovery.rs` is the first.
//!
//! It needs Python 3 and nothing beyond its standard library.
#![allow(clippy::unwrap_used)]

#[path = "../../tests/at_once/threads.rs"]
mod threads;
#[path = "links/wagon.rs"]
mod wagon;

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use threads::at_once;
use wheeltap_parsers::check::{Crc, Sum, Written};
use wheeltap_parsers::{Check, Framing, Part, Profile, Read, Record, What};

const FRAMES: usize = 5_000;
/// For the count of false accepts, and with `WHEELTAP_FRAMES=whole`.
const MANY: usize = 10_000;
const WHOLE: usize = 50_000;

/// A style as the generator names it, how it is decoded, bits of its check, bytes of lead and of end.
struct Style {
    name: &'static str,
    profile: Arc<Profile>,
    width: u32,
    lead: usize,
    end: usize,
}

fn styles() -> [Style; 8] {
    let style = |name, profile, width, lead, end| Style { name, profile, width, lead, end };
    [
        style("cue", wagon::cue(), 16, 0, 1),
        style("plain", wagon::plain(), 0, 0, 1),
        style("ladder", wagon::ladder(), 8, 2, 0),
        style("stave", wagon::stave(), 8, 0, 1),
        style("bead", wagon::bead(), 16, 0, 1),
        style("slip", of_duties(Framing::Slip, Crc::new(16, 0x1021, 0, false, false, 0), Written::BigEndian), 16, 0, 1),
        style("rfc1662", of_duties(Framing::Stuffed, fcs(), Written::LittleEndian), 16, 1, 1),
        style("fixed", fixed(), 8, 0, 0),
    ]
}

/// FCS-16 of RFC 1662.
fn fcs() -> Result<Crc, String> {
    Crc::new(16, 0x1021, 0xFFFF, true, true, 0xFFFF)
}

fn byte(name: &str, signed: bool, range: Option<(i64, i64)>) -> wheeltap_parsers::Field {
    wagon::field(name, Read::Binary { bytes: 1, signed, big_endian: false }, range, &[])
}

fn profile(framing: Framing, more: &[(i64, i64)], check: Check, longest: usize) -> Arc<Profile> {
    let mut fields = vec![byte("seq", false, None)];
    fields.extend(["FL", "FR", "RL", "RR"].map(|wheel| byte(wheel, true, Some((-100, 100)))));
    fields.extend(more.iter().map(|range| byte("more", false, Some(*range))));
    let mut parts: Vec<Part> = (0..fields.len()).map(Part::Field).collect();
    parts.push(Part::Check);
    let kinds = vec![wagon::kind("duties", parts, fields, check)];
    Arc::new(Profile { framing, kinds, longest, start_up: Vec::new(), idle: wagon::IDLE })
}

/// A sequence and four duties, with a check of 16 bits.
fn of_duties(framing: Framing, crc: Result<Crc, String>, written: Written) -> Arc<Profile> {
    let check = Check { sum: Sum::Crc(crc.unwrap()), written, skip: 0, leave_out: 0, mark: Vec::new() };
    profile(framing, &[], check, 16)
}

/// Eight bytes and nothing that tells where they begin.
fn fixed() -> Arc<Profile> {
    let check = Check { sum: Sum::Sum8, written: Written::BigEndian, skip: 0, leave_out: 0, mark: Vec::new() };
    profile(Framing::Fixed { sync: Vec::new(), len: 8 }, &[(0, 255), (0, 63)], check, 8)
}

/// Place and length of a frame's content: without lead and end.
type Place = (u64, u64);

/// A stream and what its lists say of it.
struct Stream {
    wire: Vec<u8>,
    intact: Vec<Place>,
    at_risk: Vec<Place>,
    /// Taken by a strict reader of the format although nobody sent it.
    misread: Vec<Place>,
    damages: usize,
    /// Frames of which something arrived, but not all.
    broken: usize,
}

/// The number behind `key` in one line of a list.
fn number(line: &str, key: &str) -> Option<u64> {
    let (_, rest) = line.split_once(&format!("\"{key}\": "))?;
    rest.split([',', '}']).next()?.parse().ok()
}

fn place(line: &str) -> Place {
    (number(line, "content_offset").unwrap(), number(line, "content_len").unwrap())
}

fn generated(style: &str, frames: usize) -> Stream {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/damage/streams.py");
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("damaged-{frames}"));
    let mut program = Command::new("python3");
    program.arg(script).args([style, "--frames", &frames.to_string(), "--out"]).arg(&folder);
    let out = program.output().expect("this test needs python3 (standard library only): install it and run again");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    read(&folder, style)
}

fn read(folder: &Path, style: &str) -> Stream {
    let list = |name: &str| fs::read_to_string(folder.join(format!("{style}.{name}.jsonl"))).unwrap();
    let (frames, damages, misread) = (list("frames"), list("damage"), list("misread"));
    let of = |class: &str| -> Vec<Place> {
        frames.lines().filter(|line| line.contains(&format!("\"intact\": {class},"))).map(place).collect()
    };
    let broken = frames.lines().filter(|line| line.contains("\"intact\": false,") && !line.contains("\"len\": 0,"));
    Stream {
        wire: fs::read(folder.join(format!("{style}.bin"))).unwrap(),
        intact: of("true"),
        at_risk: of("\"at-risk\""),
        misread: misread.lines().map(place).collect(),
        damages: damages.lines().count(),
        broken: broken.count(),
    }
}

/// Contents of the frames the decoder finds.
fn found(style: &Style, wire: &[u8]) -> Vec<Place> {
    let mut all = Vec::new();
    let sink = |record: &Record<'_>| {
        if let What::Frame { bytes, .. } = record.what {
            // A C0 before a SLIP frame belongs to the frame here and not there.
            let lead = if style.name == "slip" { usize::from(bytes.first() == Some(&0xC0)) } else { style.lead };
            let begun = if style.name == "rfc1662" && bytes.first() != Some(&0x7E) { 0 } else { lead };
            all.push((record.offset + begun as u64, (bytes.len() - begun - style.end) as u64));
        }
    };
    wagon::decode_in_packets(&style.profile, wire, sink);
    all
}

/// What became of one stream.
struct Outcome {
    stream: Stream,
    found: usize,
    of_risk: usize,
    of_misread: usize,
    /// False accepts, those of zeros alone left out: they are a frame of `fixed` to the letter, and no matter of chance.
    wrong: usize,
    /// Bytes in no frame.
    tries: u64,
    /// Found, and in no list.
    own: Vec<Place>,
    /// Bytes of intact frames missed, for each run of them; ascending.
    lost: Vec<u64>,
}

/// Each style and what became of its stream; all at once.
fn outcomes(frames: usize) -> Vec<(Style, Outcome)> {
    let styles = styles();
    let each = at_once(&styles, |style| outcome(style, frames));
    styles.into_iter().zip(each).collect()
}

fn outcome(style: &Style, frames: usize) -> Outcome {
    let stream = generated(style.name, frames);
    let seen: HashSet<Place> = found(style, &stream.wire).into_iter().collect();
    let of = |places: &[Place]| places.iter().filter(|place| seen.contains(place)).count();
    let known: HashSet<&Place> = stream.intact.iter().chain(&stream.at_risk).chain(&stream.misread).collect();
    let mut own: Vec<Place> = seen.iter().filter(|place| !known.contains(place)).copied().collect();
    own.sort_unstable();
    let runs = stream.intact.chunk_by(|one, next| seen.contains(one) == seen.contains(next));
    let missed = runs.filter(|run| run.iter().any(|place| !seen.contains(place)));
    let mut lost: Vec<u64> = missed.map(|run| run.iter().map(|(_, len)| len).sum()).collect();
    lost.sort_unstable();
    let bytes = |place: &Place| stream.wire.get(place.0 as usize..(place.0 + place.1) as usize).unwrap_or_default();
    let zeros = |place: &&Place| style.name == "fixed" && bytes(place).iter().all(|byte| *byte == 0);
    let false_ones = seen.iter().filter(|place| stream.misread.contains(place) || own.contains(place));
    let wrong = false_ones.filter(|place| !zeros(place)).count();
    let tries = stream.wire.len() as u64 - seen.iter().map(|(_, len)| len).sum::<u64>();
    let (found, of_risk, of_misread) = (of(&stream.intact), of(&stream.at_risk), of(&stream.misread));
    Outcome { stream, found, of_risk, of_misread, wrong, tries, own, lost }
}

const HEAD: &str = "style    intact  found per cent  at-risk   read  misread  read  own   p95  most times\n";

impl Outcome {
    fn row(&self, style: &Style) -> String {
        let Stream { intact, at_risk, misread, damages, .. } = &self.stream;
        let behind = self.lost.len().saturating_sub(1 + damages / 20);
        let p95 = if self.lost.len() * 20 > *damages { self.lost[behind] } else { 0 };
        let most = self.lost.last().copied().unwrap_or(0);
        let times = self.lost.iter().filter(|lost| **lost == most).count();
        format!(
            "{:8} {:6} {:6} {:8.3} {:8} {:6} {:8} {:5} {:4} {p95:5} {most:5} {times:5}\n",
            style.name,
            intact.len(),
            self.found,
            100.0 * self.found as f64 / intact.len() as f64,
            at_risk.len(),
            self.of_risk,
            misread.len(),
            self.of_misread,
            self.own.len()
        )
    }

    /// The most false accepts that chance explains. Without a check nothing is let through by chance. An 8-bit check: no
    /// more than four standard deviations above one try for each broken frame; a 16-bit check: at most 4. Where nothing
    /// tells where a frame begins, each byte that is in none is a try, and a try of chance succeeds as often as the head
    /// of `damage/streams.py` works out: duties, flags and sum fit.
    fn band(&self, style: &Style) -> Option<f64> {
        let mean = match (style.name, style.width) {
            (_, 0) => return None,
            (_, 16) => return Some(4.0),
            ("fixed", _) => self.tries as f64 * (201.0_f64 / 256.0).powi(4) / 4.0 / 256.0,
            (_, width) => self.stream.broken as f64 / f64::from(1_u32 << width),
        };
        Some((mean + 4.0 * mean.sqrt()).floor())
    }

    /// Whether 99.95 % of the frames that arrived intact were found.
    fn enough(&self) -> bool {
        self.found * 10_000 >= self.stream.intact.len() * 9_995
    }
}

/// `intact`: frames that must be read; `at-risk`: frames that a receiver may read or not; `misread`: what a strict reader
/// takes although nobody sent it; `own`: what this decoder takes beyond all these; `p95`, `most`, `times`: bytes of
/// intact frames missed after one damage, and how often the most.
#[test]
fn frames_that_arrived_intact_are_found() {
    let (mut table, mut faults) = (HEAD.to_owned(), Vec::new());
    for (style, outcome) in outcomes(FRAMES) {
        let row = outcome.row(&style);
        if !outcome.enough() || !outcome.own.is_empty() {
            faults.push(format!("{row}{:?}\n", outcome.own));
        }
        table += &row;
    }
    println!("{table}");
    insta::assert_snapshot!("damaged", table);
    assert!(faults.is_empty(), "\n{HEAD}{}", faults.concat());
}

/// Besides: `false`: those of `misread` and `own` that were taken, and how many chance explains; none is named where the
/// link has no check.
#[test]
fn false_frames_are_no_more_than_the_check_lets_through() {
    let (mut table, mut faults) = (format!("{} false  at most\n", HEAD.trim_end()), Vec::new());
    let whole = std::env::var("WHEELTAP_FRAMES").is_ok_and(|frames| frames == "whole");
    for (style, outcome) in outcomes(if whole { WHOLE } else { MANY }) {
        let row = outcome.row(&style);
        let most = outcome.band(&style);
        let chance = most.is_none_or(|most| outcome.wrong as f64 <= most);
        if !chance || !outcome.enough() || !outcome.own.is_empty() {
            faults.push(format!("{row}{} where {most:?} may be; {:?}\n", outcome.wrong, outcome.own));
        }
        let most = most.map_or("-".to_owned(), |most| most.to_string());
        table += &format!("{} {:6} {most:>8}\n", row.trim_end(), outcome.wrong);
    }
    println!("{table}");
    if whole {
        insta::assert_snapshot!("damaged_many", table);
    }
    assert!(faults.is_empty(), "\n{HEAD}{}", faults.concat());
}
