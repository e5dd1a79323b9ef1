//! Reports: what the engine says, for a machine or on paper.

pub mod comparison;
pub mod diagnosis;
pub mod json;
pub mod observations;
pub mod strength;
pub mod times;
pub mod wheel_sheet;
