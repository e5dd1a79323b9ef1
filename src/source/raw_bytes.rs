//! Bytes without times: everything stands at time 0 of wire `>`.

use std::io::{self, Read};

use wheeltap_parsers::{Input, Wire};

use super::{Source, SourceError};
use crate::timing::link::{LinkFacts, WireFacts, chunk};

const BLOCK: usize = 4096;

/// Raw bytes of a file or stream.
pub struct RawBytes {
    name: String,
    stream: Box<dyn Read + Send>,
    facts: WireFacts,
    link: LinkFacts,
    offset: u64,
    block: Vec<u8>,
}

impl RawBytes {
    /// All bytes of `stream`; `name` is for messages.
    pub fn new(name: &str, stream: Box<dyn Read + Send>) -> Self {
        let facts = WireFacts { rate: None, settings: "-".to_owned(), latency: 0, port: name.to_owned() };
        let link = LinkFacts { wires: [Some(facts.clone()), None], ..LinkFacts::default() };
        Self { name: name.to_owned(), stream, facts, link, offset: 0, block: vec![0; BLOCK] }
    }

    fn read(&mut self) -> io::Result<usize> {
        loop {
            match self.stream.read(&mut self.block) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => return other,
            }
        }
    }
}

impl Source for RawBytes {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        let count = self.read().map_err(|error| {
            SourceError::Device(format!("{}: cannot be read further ({error}). Copy it to a sound disk.", self.name))
        })?;
        let offset = self.offset;
        self.offset += count as u64;
        let bytes = self.block.get(..count).unwrap_or_default();
        Ok((count > 0).then(|| Input::Chunk(chunk(&self.facts, Wire::ToDrive, offset, 0, 0, bytes))))
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}
