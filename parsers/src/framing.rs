//! One file for each way of telling frames apart. Each says its rule and its source at the top.

pub mod cobs;
pub(crate) mod delimited;
pub(crate) mod lines;
pub(crate) mod markers;
pub mod slip;
pub mod stuffed;
pub(crate) mod sync_length;
