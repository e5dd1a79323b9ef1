//! The rover: what its file says, and what each wheel is told.

pub mod bridge;
pub mod built_in;
pub mod file;
pub mod guesses;
pub mod limits;
pub mod machine;
pub mod meaning;
pub mod mecanum;
pub mod state;
pub mod wheels;
