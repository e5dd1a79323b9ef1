//! Diagnosis: which wheel, plug, roller, row or input is wrong, how sure, what to try next, how to put it right.

pub mod action;
pub mod beliefs;
pub mod body;
pub mod cause;
pub mod hypothesis;
pub mod model;
pub mod move_table;
pub mod observation;
pub mod pattern;
pub mod posterior;
pub mod prediction;
pub mod reading;
pub mod rollers;
pub mod sight;
pub mod space;
pub mod test;
pub mod wheel_state;
pub mod wiring;
