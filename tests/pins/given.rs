//! Everything that a dump gives as a source, gathered.

// Each test file that includes this one uses its own part of it.
#![allow(dead_code)]

use wheeltap::source::pins::{Asked, PinsSource};
use wheeltap::source::{Source, SourceError};
use wheeltap_parsers::{Input, LineClock, Pins};

/// Everything a dump gives.
#[derive(Default)]
pub struct Given {
    pub bytes: [Vec<(i64, u8)>; 2],
    pub pins: Vec<Pins>,
    pub clocks: Vec<LineClock>,
    pub gone: Vec<(i64, bool)>,
    pub ticks: Vec<i64>,
}

pub fn source(text: &str, asked: &Asked) -> Result<PinsSource, SourceError> {
    PinsSource::stream("made.vcd", text.as_bytes().to_vec(), Box::new(std::io::empty()), asked)
}

pub fn given(text: &str, asked: &Asked) -> Result<Given, String> {
    let mut source = source(text, asked).map_err(|error| error.to_string())?;
    let mut given = Given::default();
    let mut last = i64::MIN;
    while let Some(input) = source.next().map_err(|error| error.to_string())? {
        assert!(input.at() >= last, "{input:?} comes after {last}");
        last = input.at();
        match input {
            Input::Chunk(chunk) => {
                assert_eq!((chunk.lo, chunk.bytes.len()), (chunk.hi, 1), "a byte has its own exact time");
                given.bytes[chunk.wire.index()].push((chunk.hi, chunk.bytes[0]));
            }
            Input::Pins(pins) => given.pins.push(pins),
            Input::Clock(clock) => given.clocks.push(clock),
            Input::PortGone { at, .. } => given.gone.push((at, true)),
            Input::PortBack { at, .. } => given.gone.push((at, false)),
            Input::Tick(at) => given.ticks.push(at),
            other => unreachable!("{other:?}"),
        }
    }
    Ok(given)
}

pub fn text(bytes: &[(i64, u8)]) -> String {
    bytes.iter().map(|(_, byte)| char::from(*byte)).collect()
}
