//! An input kept until its time.

use wheeltap_parsers::{Input, Nanos};

/// An input that owns its bytes.
pub(super) enum Held {
    /// A read.
    Chunk { chunk: wheeltap_parsers::Chunk<'static>, bytes: Vec<u8> },
    /// A remark.
    Note { at: Nanos, text: String },
    /// Anything without bytes.
    Other(Input<'static>),
}

impl Held {
    pub(super) fn of(input: &Input<'_>) -> Self {
        match *input {
            Input::Chunk(chunk) => {
                let bytes = chunk.bytes.to_vec();
                Self::Chunk { chunk: wheeltap_parsers::Chunk { bytes: &[], ..chunk_head(&chunk) }, bytes }
            }
            Input::Note { at, text } => Self::Note { at, text: text.to_owned() },
            Input::Tick(at) => Self::Other(Input::Tick(at)),
            Input::PortGone { at, wire } => Self::Other(Input::PortGone { at, wire }),
            Input::PortBack { at, wire } => Self::Other(Input::PortBack { at, wire }),
            Input::Lost { at, wire, bytes } => Self::Other(Input::Lost { at, wire, bytes }),
        }
    }

    pub(super) fn input(&self) -> Input<'_> {
        match self {
            Self::Chunk { chunk, bytes } => Input::Chunk(wheeltap_parsers::Chunk { bytes, ..*chunk }),
            Self::Note { at, text } => Input::Note { at: *at, text },
            Self::Other(input) => *input,
        }
    }
}

/// A chunk without its bytes.
const fn chunk_head(chunk: &wheeltap_parsers::Chunk<'_>) -> wheeltap_parsers::Chunk<'static> {
    wheeltap_parsers::Chunk {
        wire: chunk.wire,
        offset: chunk.offset,
        bytes: &[],
        lo: chunk.lo,
        hi: chunk.hi,
        byte_ns: chunk.byte_ns,
    }
}
