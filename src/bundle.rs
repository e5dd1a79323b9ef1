//! A bundle: a session, or a part of one, made fit to be given to a helper.
//!
//! It is a session file itself. What a stranger need not know is overwritten with `x`, byte for byte, so that places,
//! lengths and times stay what they were.

pub mod rover_text;
pub mod secret;
pub mod veil;
