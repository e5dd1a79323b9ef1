//! The rover: what its file says, and what each wheel is told.

pub mod wheels;
