//! An input kept while the replay stands before it.

use wheeltap_parsers::{Chunk, Input, Nanos};

/// An input that owns its bytes.
pub enum Held {
    Chunk { chunk: Chunk<'static>, bytes: Vec<u8> },
    Note { at: Nanos, text: String },
    Other(Input<'static>),
}

impl Held {
    /// The same input.
    pub fn of(input: &Input<'_>) -> Self {
        match *input {
            Input::Chunk(chunk) => {
                let bytes = chunk.bytes.to_vec();
                Self::Chunk { chunk: Chunk { bytes: &[], ..chunk_head(&chunk) }, bytes }
            }
            Input::Note { at, text } => Self::Note { at, text: text.to_owned() },
            Input::Tick(at) => Self::Other(Input::Tick(at)),
            Input::PortGone { at, wire } => Self::Other(Input::PortGone { at, wire }),
            Input::PortBack { at, wire } => Self::Other(Input::PortBack { at, wire }),
            Input::Lost { at, wire, bytes } => Self::Other(Input::Lost { at, wire, bytes }),
            Input::Pins(pins) => Self::Other(Input::Pins(pins)),
            Input::Clock(clock) => Self::Other(Input::Clock(clock)),
        }
    }

    /// It as an input again.
    pub fn input(&self) -> Input<'_> {
        match self {
            Self::Chunk { chunk, bytes } => Input::Chunk(Chunk { bytes, ..*chunk }),
            Self::Note { at, text } => Input::Note { at: *at, text },
            Self::Other(input) => *input,
        }
    }
}

/// A chunk without its bytes.
const fn chunk_head(chunk: &Chunk<'_>) -> Chunk<'static> {
    Chunk { wire: chunk.wire, offset: chunk.offset, bytes: &[], lo: chunk.lo, hi: chunk.hi, byte_ns: chunk.byte_ns }
}
