//! The Moonwagon: a simulated rover for demonstration and training, never the only witness of a claim.
//!
//! Deterministic: the same [`Settings`] give the same bursts, to the byte and the nanosecond.

use wheeltap_parsers::{Nanos, Wire};

/// The five link styles of the wagon's builds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Style {
    /// A word and a value, sent only when something changes.
    PlainLine,
    /// Checked text with sequence, panel counter, deadline, and answers.
    CueLine,
    /// Eleven bytes, marker bytes reserved.
    Stave,
    /// COBS and a CRC-16.
    Bead,
    /// Sync, length, each wheel's duty.
    Ladder,
}

/// Bytes that follow each other on one wire without pause.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Burst {
    /// The wire.
    pub wire: Wire,
    /// When its first start bit begins, nanoseconds since power-up of the simulation.
    pub begins: Nanos,
    /// When its last byte is complete.
    pub ends: Nanos,
    /// The bytes.
    pub bytes: Vec<u8>,
}
