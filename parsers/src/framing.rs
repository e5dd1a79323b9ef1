//! One file for each way of telling frames apart. Each says its rule and its source at the top.

pub(crate) mod cobs;
pub(crate) mod lines;
pub(crate) mod markers;
pub(crate) mod sync_length;
