//! One file for each way of telling frames apart. Each says its rule and its source at the top.

pub mod cobs;
pub(crate) mod delimited;
mod escaped;
pub(crate) mod lines;
pub(crate) mod markers;
pub mod slip;
pub mod stuffed;
pub(crate) mod sync_length;

use crate::word;

/// Up to this many bytes two words are sooner searched.
const FEW: usize = 16;

/// Place of the first `byte` in `bytes`.
#[inline]
pub(crate) fn place_of(byte: u8, bytes: &[u8]) -> Option<usize> {
    if bytes.len() <= FEW { word::find(byte, bytes) } else { memchr::memchr(byte, bytes) }
}

/// As [`place_of`], and counts the bytes that were searched.
#[inline]
pub(crate) fn find_byte(byte: u8, bytes: &[u8]) -> Option<usize> {
    let found = place_of(byte, bytes);
    crate::examined::looked_at(found.map_or(bytes.len(), |place| place + 1));
    found
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod borders;
#[cfg(test)]
mod tests;
