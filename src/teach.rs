//! A rover file from pressing buttons: what was asked for, what stood on the wire meanwhile, and what follows from it.
//!
//! Pure: bytes and times come in as arguments, sentences and the text of a rover file come out. Everything learned is
//! worked out anew from all that was heard, so taking a step back needs no undoing. The signs of the wheels come from
//! kinematics ([`crate::rover::mecanum::Motion`]) and are never asked for.

pub mod answer;
mod body;
mod cell;
mod doubt;
mod duty;
mod file_text;
mod format;
mod kind;
mod learned;
pub mod lesson;
mod moves;
mod other_parts;
mod printed;
mod probe;
mod rest;
mod rhythm;
mod shipped;
mod start_up;
pub mod step;
mod whole;
mod wiring;

pub use learned::Learned;
pub use lesson::Lesson;
pub use step::Step;
