//! Links made by hand, byte by byte from the formats, and what wheeltap says of them.
//!
//! The check of the cue line is worked out by the crate `crc` from its parameters, that of the letter line by an
//! exclusive-or written here; golden lines worked out apart from both stand in the tests of this file.

use std::sync::Arc;

use crc::{Algorithm, Crc};
use wheeltap::engine::Engine;
use wheeltap::findings::{Finding, Need};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Wire};

pub const MS: i64 = 1_000_000;

/// What one read brought: milliseconds, wire, bytes.
pub type Read = (i64, Wire, Vec<u8>);

/// Bytes to the drive board.
pub fn to(at: i64, text: &str) -> Read {
    (at, Wire::ToDrive, text.as_bytes().to_vec())
}

/// Bytes from the drive board.
pub fn back(at: i64, text: &str) -> Read {
    (at, Wire::FromDrive, text.as_bytes().to_vec())
}

const CUE: Algorithm<u16> =
    Algorithm { width: 16, poly: 0x1021, init: 0x5A17, refin: false, refout: false, xorout: 0, check: 0, residue: 0 };

/// A line of the cue format with its check.
pub fn checked(body: &str) -> String {
    format!("{body}#{:04X}.\n", Crc::<u16>::new(&CUE).checksum(body.as_bytes()))
}

const STAVE: Algorithm<u8> =
    Algorithm { width: 8, poly: 0x97, init: 0x3C, refin: false, refout: false, xorout: 0, check: 0, residue: 0 };

/// A stave from its first marker on, with its check in two nibbles and its last marker.
pub fn stave(body: &[u8]) -> Vec<u8> {
    let check = Crc::<u8>::new(&STAVE).checksum(body);
    [body, &[check >> 4, check & 15, 0xFE]].concat()
}

/// An order of the cue format in gear 2, good for 300 ms.
pub fn cue(at: i64, sequence: i64, panel: i64, twist: [i64; 3]) -> Read {
    geared(at, sequence, panel, twist, 2)
}

pub fn geared(at: i64, sequence: i64, panel: i64, [f, s, t]: [i64; 3], gear: i64) -> Read {
    to(at, &checked(&format!("c{sequence:03} p{panel:02} drv f{f:+04} s{s:+04} t{t:+04} g{gear} d30 ")))
}

pub fn got(at: i64, sequence: i64) -> Read {
    back(at, &checked(&format!("a{sequence:03} got v111 e00 ")))
}

pub fn nay(at: i64, sequence: i64, error: i64) -> Read {
    back(at, &checked(&format!("a{sequence:03} nay v111 e{error:02X} ")))
}

/// An order of the letter line.
pub fn letter(at: i64, way: char, duty: i64) -> Read {
    let body = format!("D,{way},{duty}");
    let check = body.bytes().fold(0, |sum, byte| sum ^ byte);
    to(at, &format!("{body}*{check:02X}\n"))
}

pub const SAG: &str = "GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\n";
pub const POWER: &str = "GC2 rom 1.4 rst=0x01(power) strap=0b10110\r\n";

/// A tap whose adapter holds bytes back for so many milliseconds at most.
pub struct Tap {
    pub latency: i64,
    pub both: bool,
}

impl Tap {
    fn link(&self) -> (WireFacts, LinkFacts) {
        let latency = self.latency * MS;
        let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency, port: "hand".to_owned() };
        let wires = [Some(facts.clone()), self.both.then(|| facts.clone())];
        (facts, LinkFacts { wires, ..LinkFacts::default() })
    }

    fn engine(&self, rover: Option<Arc<RoverFile>>, reads: &[Read], silent: i64) -> Engine {
        let (facts, link) = self.link();
        let mut engine = Engine::new(link, rover);
        let mut offsets = [0; 2];
        let mut reads = reads.to_vec();
        reads.sort_by_key(|read| read.0);
        for (at, wire, bytes) in &reads {
            let empty = (at - 1) * MS;
            engine.push(Input::Tick(empty - facts.latency));
            engine.push(Input::Chunk(chunk(&facts, *wire, offsets[wire.index()], at * MS, empty, bytes)));
            offsets[wire.index()] += bytes.len() as u64;
        }
        let last = reads.last().map_or(0, |read| read.0);
        engine.push(Input::Tick((last + silent) * MS));
        engine.finish();
        engine
    }
}

fn rover(style: &str) -> Arc<RoverFile> {
    let file = built_in::find(style).unwrap();
    Arc::new(RoverFile::load(file.name, file.text).unwrap())
}

/// Plays reads on a link of this style, then silence of 8 s.
pub fn play(style: &str, reads: &[Read]) -> Engine {
    let rover = rover(style);
    let both = rover.profile(Wire::FromDrive).is_some();
    Tap { latency: 0, both }.engine(Some(rover), reads, 8_000)
}

/// The same through an adapter.
pub fn play_held(style: &str, reads: &[Read], latency: i64) -> Engine {
    Tap { latency, both: true }.engine(Some(rover(style)), reads, 8_000)
}

/// The same, then silence of so many milliseconds.
pub fn play_then(style: &str, reads: &[Read], silent: i64) -> Engine {
    Tap { latency: 0, both: true }.engine(Some(rover(style)), reads, silent)
}

/// Plays reads with no rover file.
pub fn unknown(reads: &[Read]) -> Engine {
    Tap { latency: 0, both: true }.engine(None, reads, 8_000)
}

pub fn finding(engine: &Engine, id: &str) -> Option<Finding> {
    engine.findings().into_iter().find(|finding| finding.id == id)
}

/// How often a finding was made; 0 when it was not.
pub fn count(engine: &Engine, id: &str) -> u64 {
    finding(engine, id).map_or(0, |finding| finding.count)
}

/// What the rule of this id lacks on this link; nothing when it can judge.
pub fn lacks(engine: &Engine, id: &str) -> Vec<Need> {
    engine.not_judged().into_iter().find(|rule| rule.id == id).map(|rule| rule.lacks).unwrap_or_default()
}

/// Presses and releases of the plain line, at human times.
pub fn presses(count: i64) -> Vec<Read> {
    let ways = ["ahead", "port", "astern", "spin-port", "starboard"];
    (0..count)
        .flat_map(|n| {
            let at = 1_000 + n * 1_700 + n * n % 311;
            let way = ways[n as usize % ways.len()];
            [to(at, &format!("way,{way}\n")), to(at + 420 + n * 37 % 500, "way,rest\n")]
        })
        .collect()
}

#[test]
fn lines_made_here_are_the_golden_ones() {
    let text = |read: Read| String::from_utf8(read.2).unwrap();
    assert_eq!(text(cue(0, 42, 17, [30, -65, 0])), "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n");
    assert_eq!(text(geared(0, 46, 21, [100, 100, 40], 3)), "c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n");
    assert_eq!(text(got(0, 42)), "a042 got v111 e00 #E253.\n");
    // The two-chip logs in `logs/` hold this line of the real firmware.
    assert_eq!(text(letter(0, 'A', 60)), "D,A,60*03\n");
}
