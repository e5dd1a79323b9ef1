//! What a test needs to speak of inputs it has read: owned copies, and a sample session.
#![allow(dead_code)]

use std::path::Path;

use wheeltap::session::{Header, Heard, Recorder, SessionSource};
use wheeltap::source::Source;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Input, Nanos, Wire};

/// An input that owns what it holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Got {
    Chunk { wire: Wire, offset: u64, bytes: Vec<u8>, lo: Nanos, hi: Nanos, byte_ns: Nanos },
    Other(String),
    Tick(Nanos),
    Lost(Wire, u64),
}

impl Got {
    pub fn of(input: &Input<'_>) -> Self {
        match *input {
            Input::Chunk(chunk) => Self::Chunk {
                wire: chunk.wire,
                offset: chunk.offset,
                bytes: chunk.bytes.to_vec(),
                lo: chunk.lo,
                hi: chunk.hi,
                byte_ns: chunk.byte_ns,
            },
            Input::Tick(at) => Self::Tick(at),
            Input::Lost { wire, bytes, .. } => Self::Lost(wire, bytes),
            other => Self::Other(format!("{other:?}")),
        }
    }

    pub fn is_chunk(&self) -> bool {
        matches!(self, Self::Chunk { .. })
    }
}

/// Everything a source gives to its end.
pub fn all(source: &mut dyn Source) -> Vec<Got> {
    let mut got = Vec::new();
    while let Some(input) = source.next().unwrap() {
        got.push(Got::of(&input));
    }
    got
}

pub fn facts(port: &str, latency_ms: i64) -> WireFacts {
    let latency = latency_ms * 1_000_000;
    WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency, port: port.to_owned() }
}

pub fn header() -> Header {
    let link = LinkFacts {
        wires: [Some(facts("/dev/ttyUSB0", 17)), Some(facts("the left socket", 2))],
        begun_unix_us: Some(1_777_707_000_250_000),
        utc_offset_min: 120,
        ..LinkFacts::default()
    };
    let rover = "name = \"Moonwagon\"\n\n# the back\\slash, a tab\t and \u{fc}\r\n".to_owned();
    Header::new(link, Some(("moonwagon.toml".to_owned(), rover)))
}

/// The byte of a wire at `offset`: any kept byte can be checked without keeping a copy.
pub fn byte_at(wire: Wire, offset: u64) -> u8 {
    (offset.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 56) as u8 ^ wire.index() as u8
}

pub fn bytes_at(wire: Wire, offset: u64, length: usize) -> Vec<u8> {
    (offset..).take(length).map(|offset| byte_at(wire, offset)).collect()
}

/// `reads` reads on both wires, a tick after every fifth.
pub fn heard(reads: usize) -> Vec<Heard> {
    let mut offsets = [0u64; 2];
    let mut all = Vec::new();
    for n in 0..reads {
        let wire = Wire::BOTH[usize::from(n % 3 == 2)];
        let length = 1 + n * 7 % 46;
        let offset = offsets[wire.index()];
        offsets[wire.index()] += length as u64;
        let t_us = 1_000 + n as i64 * 10_000;
        let bytes = bytes_at(wire, offset, length).into();
        all.push(Heard::Read { wire, t_us, since_us: 4_000, offset, bytes });
        if n % 5 == 4 {
            all.push(Heard::Tick { t_us: t_us + 5_000 });
        }
    }
    all
}

/// Writes a session; closes it when `close`, or else leaves it as a killed recorder would.
pub fn write(path: &Path, heard: &[Heard], close: bool) {
    let mut recorder = Recorder::create(path, &header()).unwrap();
    for one in heard {
        recorder.keep(one);
    }
    assert_eq!(recorder.status().trouble(), None);
    if close {
        recorder.close();
    }
}

pub fn from_bytes(bytes: &[u8]) -> Result<SessionSource, String> {
    let stream = Box::new(std::io::Cursor::new(bytes.to_vec()));
    SessionSource::stream("test", stream).map_err(|error| error.to_string())
}
