//! Recovery from damage, on streams made by a program that shares nothing with the decoder: `damaged_streams.py`
//! writes the bytes and the list of the frames that arrived intact.
//!
//! It needs Python 3 and nothing beyond its standard library.
#![allow(clippy::unwrap_used)]

#[path = "../../tests/at_once/threads.rs"]
mod threads;
#[path = "links/wagon.rs"]
mod wagon;

use std::collections::HashSet;
use std::process::Command;
use std::sync::Arc;

use threads::at_once;
use wheeltap_parsers::check::{Sum, Written};
use wheeltap_parsers::{Check, Framing, Part, Profile, Read, Record, What};

/// Frames for each row of the table, for the count of false accepts, and for that with `WHEELTAP_FRAMES=whole`.
const FRAMES: usize = 5_000;
const MANY: usize = 10_000;
const WHOLE: usize = 50_000;
/// One frame in so many is damaged.
const EACH: usize = 20;

const DAMAGES: [&str; 8] = ["clean", "bits", "lost", "added", "cut", "boot", "twice", "gaps"];

/// Seven bytes without sync: number, four duties, a gear, and the sum of these.
fn summed() -> Arc<Profile> {
    let byte = Read::Binary { bytes: 1, signed: false, big_endian: false };
    let mut fields = vec![wagon::field("seq", byte, None, &[])];
    fields.extend(["FL", "FR", "RL", "RR"].map(|wheel| wagon::field(wheel, byte, Some((0, 200)), &[])));
    fields.push(wagon::field("gear", byte, Some((0, 3)), &[]));
    let mut parts: Vec<Part> = (0..6).map(Part::Field).collect();
    parts.push(Part::Check);
    let check = Check { sum: Sum::Sum8, written: Written::BigEndian, skip: 0, leave_out: 0, mark: Vec::new() };
    let kinds = vec![wagon::kind("duties", parts, fields, check)];
    let framing = Framing::Fixed { sync: Vec::new(), len: 7 };
    Arc::new(Profile { framing, kinds, longest: 7, start_up: Vec::new(), idle: wagon::IDLE })
}

/// Name, profile, width of the check, and how many of a million intact frames must be found.
fn links() -> [(&'static str, Arc<Profile>, u32, usize); 8] {
    let most = 999_500;
    [
        ("cue", wagon::cue(), 16, most),
        ("starred", wagon::starred(), 8, most),
        ("stave", wagon::stave(), 8, most),
        ("bead", wagon::bead(), 16, most),
        ("slipped", wagon::slipped(), 16, most),
        ("stuffed", wagon::stuffed(), 16, most),
        ("ladder", wagon::ladder(), 8, most),
        ("summed", summed(), 8, 997_000),
    ]
}

type Places = Vec<(u64, u64)>;

/// A damaged stream and the places of its intact frames.
fn stream(link: &str, damage: &str, frames: usize) -> (Vec<u8>, Places) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/recovery/damaged_streams.py");
    let out = Command::new("python3").args([script, link, damage, &frames.to_string(), "1"]).output();
    let out = out.expect("this test needs python3 (standard library only): install it and run again");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let number = |at: usize| u64::from_le_bytes(out.stdout[at..at + 8].try_into().unwrap());
    let behind = 8 + number(0) as usize;
    let places = out.stdout[behind + 8..].chunks_exact(16).map(|pair| {
        let half = |at: usize| u64::from_le_bytes(pair[at..at + 8].try_into().unwrap());
        (half(0), half(8))
    });
    let places: Places = places.collect();
    assert_eq!(places.len() as u64, number(behind));
    (out.stdout[8..behind].to_vec(), places)
}

/// Places of the frames the decoder finds, without the marks that frames may share.
fn found(profile: &Arc<Profile>, wire: &[u8]) -> Places {
    let marks: &[u8] = match &profile.framing {
        Framing::Lines { .. } => b"\n",
        Framing::Cobs => b"\0",
        Framing::Slip => b"\xC0",
        Framing::Stuffed => b"\x7E",
        _ => b"",
    };
    let mut all = Vec::new();
    let sink = |record: &Record<'_>| {
        if let What::Frame { bytes, .. } = record.what {
            let front = bytes.iter().take_while(|byte| marks.contains(byte)).count();
            let back = bytes.iter().rev().take_while(|byte| marks.contains(byte)).count();
            all.push((record.offset + front as u64, (bytes.len() - front - back) as u64));
        }
    };
    wagon::decode_in_packets(profile, wire, sink);
    all
}

/// What became of one stream.
struct Outcome {
    intact: usize,
    found: usize,
    wrong: usize,
    /// Bytes of intact frames missed, for each run of them; ascending.
    lost: Vec<u64>,
}

fn outcome(profile: &Arc<Profile>, link: &str, damage: &str, frames: usize) -> Outcome {
    let (wire, intact) = stream(link, damage, frames);
    let seen: HashSet<(u64, u64)> = found(profile, &wire).into_iter().collect();
    let due: HashSet<(u64, u64)> = intact.iter().copied().collect();
    let mut lost = Vec::new();
    let mut before = true;
    for place in &intact {
        let here = seen.contains(place);
        match lost.last_mut() {
            Some(all) if !here && !before => *all += place.1,
            _ if !here => lost.push(place.1),
            _ => {}
        }
        before = here;
    }
    lost.sort_unstable();
    let found = intact.iter().filter(|place| seen.contains(place)).count();
    Outcome { intact: intact.len(), found, wrong: seen.difference(&due).count(), lost }
}

impl Outcome {
    fn row(&self, link: &str, damage: &str, hits: usize) -> String {
        let p95 = if self.lost.len() * 20 > hits { self.lost[self.lost.len() - 1 - hits / 20] } else { 0 };
        let most = self.lost.last().copied().unwrap_or(0);
        let times = self.lost.iter().filter(|lost| **lost == most && most > 0).count();
        format!(
            "{link:8} {damage:6} {:6} {:6} {:8.3} {:6} {p95:5} {most:5} {times:5}\n",
            self.intact,
            self.found,
            100.0 * self.found as f64 / self.intact as f64,
            self.wrong
        )
    }

    /// Whether at least `due` of a million intact frames were found.
    fn enough(&self, due: usize) -> bool {
        self.found * 1_000_000 >= self.intact * due
    }
}

const HEAD: &str = "link     damage intact  found per cent  false   p95  most times\n";

/// `intact`: frames that arrived intact; `false`: frames reported that did not; `p95`, `most`, `times`: bytes of
/// intact frames missed after one damage, and how often the most.
#[test]
fn intact_frames_are_found_and_no_others() {
    let (mut table, mut faults) = (HEAD.to_owned(), Vec::new());
    let outcomes =
        at_once(&links(), |(link, profile, ..)| DAMAGES.map(|damage| outcome(profile, link, damage, FRAMES)));
    for ((link, _, width, due), outcomes) in links().into_iter().zip(outcomes) {
        for (damage, outcome) in DAMAGES.into_iter().zip(outcomes) {
            let row = outcome.row(link, damage, if damage == "clean" { 0 } else { FRAMES / EACH });
            let right = if damage == "clean" { outcome.found == outcome.intact } else { outcome.enough(due) };
            if !right || (width == 16 && outcome.wrong > 0) {
                faults.push(row.clone());
            }
            table += &row;
        }
    }
    println!("{table}");
    assert!(faults.is_empty(), "\n{HEAD}{}", faults.concat());
    insta::assert_snapshot!("recovery", table);
}

/// A damaged frame is let through by a check of w bits once in 2^w times it is tried. A 16-bit check: at most 4 in
/// 50,000 frames. An 8-bit check: no more than four standard deviations above one try for each damaged frame.
#[test]
fn no_more_false_frames_than_the_check_lets_through() {
    let (mut table, mut faults) = (HEAD.to_owned(), Vec::new());
    let whole = std::env::var("WHEELTAP_FRAMES").is_ok_and(|frames| frames == "whole");
    let many = if whole { WHOLE } else { MANY };
    let outcomes = at_once(&links(), |(link, profile, ..)| outcome(profile, link, "all", many));
    for ((link, _, width, due), outcome) in links().into_iter().zip(outcomes) {
        let hits = (many / EACH) as f64;
        let mean = hits / f64::from(1 << width);
        let most = if width == 16 { 4.0 } else { (mean + 4.0 * mean.sqrt()).floor() };
        let row = outcome.row(link, "all", many / EACH);
        if outcome.wrong as f64 > most || !outcome.enough(due) {
            faults.push(format!("{} (at most {most})\n", row.trim_end()));
        }
        table += &row;
    }
    println!("{table}");
    assert!(faults.is_empty(), "\n{HEAD}{}", faults.concat());
    if whole {
        insta::assert_snapshot!("false_frames", table);
    }
}
