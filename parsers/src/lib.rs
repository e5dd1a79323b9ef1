//! Bytes of the wire between two rover boards, turned into frames, damage, foreign text and noise.
//!
//! This crate does no I/O and reads no clock: time comes in with each [`Chunk`]. Decoding never fails. Every byte
//! given to a [`Decoder`] ends up in exactly one [`Record`], and any cutting of the same bytes into chunks that
//! keeps each byte's interval gives the same records.
//!
//! The way through: a [`Profile`] says what frames look like, a [`Decoder`] (one for each wire) takes chunks and
//! ticks, a [`Sink`] takes the records.

#[cfg(test)]
extern crate self as wheeltap_parsers;

mod carry;
pub mod check;
pub mod chunk;
pub mod damage;
pub mod decoder;
pub mod encode;
mod examined;
mod faults;
pub mod fields;
mod flow;
pub mod foreign;
pub mod framing;
mod keyed;
mod layout;
pub mod line_end;
mod loose;
mod number;
mod one_byte_off;
mod outlet;
pub mod pins;
pub mod profile;
pub mod record;
mod rigid;
mod tally;
mod word;

pub use check::Check;
pub use chunk::{Chunk, Input, Interval, Nanos, Wire};
pub use damage::Cause;
pub use decoder::Decoder;
pub use fields::{Field, Letters, Read, Sign, Value};
pub use foreign::TextClass;
pub use line_end::LineEnd;
pub use pins::{LineClock, Pins, Place, Told};
pub use profile::{Framing, Keyed, Kind, Part, Profile, StartUpText};
pub use record::{Record, Sink, What};
