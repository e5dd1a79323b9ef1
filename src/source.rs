//! Where bytes come from. Everything above sees one face: [`Source`].

pub mod clock;
pub mod intake;
pub mod latency;
pub mod live;
pub mod open;
pub mod pins;
mod plain_line;
pub mod plain_log;
pub mod port_error;
pub mod ports;
pub mod pseudo_port;
pub mod raw_bytes;
pub mod serial;

pub use clock::Clock;
pub use intake::Intake;
pub use live::LiveSource;
pub use open::{Opened, open};
pub use pins::{Asked, PinsSource};
pub use plain_log::write_plain_log;

use thiserror::Error;
use wheeltap_parsers::Input;

use crate::timing::link::LinkFacts;

pub mod hardship;
pub mod simulated;
mod suspend;

/// Something that gives inputs in the order of their time.
pub trait Source {
    /// The next input; `None` at the end. It borrows from the source until the next call.
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError>;

    /// How it was listened to.
    fn link(&self) -> &LinkFacts;
}

/// Why a source cannot give more. The message says what, where, and what to do next.
#[derive(Debug, Error)]
pub enum SourceError {
    /// A file or stream that cannot be read as what it claims to be (exit code 2).
    #[error("{0}")]
    BadFile(String),
    /// A port, a device or the operating system (exit code 3).
    #[error("{0}")]
    Device(String),
}
