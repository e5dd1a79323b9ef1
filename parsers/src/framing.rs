//! One file for each way of telling frames apart. Each says its rule and its source at the top.

pub mod cobs;
pub(crate) mod delimited;
pub(crate) mod lines;
pub(crate) mod markers;
pub mod slip;
pub mod stuffed;
pub(crate) mod sync_length;

/// Below this many bytes a plain loop is sooner done.
const FEW: usize = 8;

/// Place of the first `byte` in `bytes`.
#[inline]
pub(crate) fn find_byte(byte: u8, bytes: &[u8]) -> Option<usize> {
    let found =
        if bytes.len() < FEW { bytes.iter().position(|other| *other == byte) } else { memchr::memchr(byte, bytes) };
    crate::examined::looked_at(found.map_or(bytes.len(), |place| place + 1));
    found
}
