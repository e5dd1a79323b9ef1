//! wheeltap: what a rover's wire told each wheel, and when.
//!
//! The arrows of use go one way only; `tests/house.rs` holds them. The map is in `DEVELOPERS.md`.

pub mod bundle;
pub mod cli;
pub mod compare;
pub mod console;
pub mod diagnosis;
pub mod engine;
pub mod export;
pub mod findings;
pub mod report;
pub mod rover;
pub mod run;
pub mod session;
pub mod simulation;
pub mod source;
pub mod strength;
pub mod teach;
pub mod timing;
