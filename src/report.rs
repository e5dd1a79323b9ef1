//! Reports: what the engine says, for a machine or on paper.

pub mod json;
pub mod strength;
