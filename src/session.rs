//! Sessions: what was heard, kept so that nothing can be lost.
//!
//! The format, with worked examples from which another reader or writer can be made, is in `logs/FORMAT.md`.

mod ahead;
mod desk_notes;
pub mod disk;
pub mod escape;
mod fields;
mod glance;
pub mod header;
pub mod heard;
pub mod line;
pub mod line_reader;
pub mod lines;
pub mod note;
mod offsets;
pub mod opening;
mod owed;
pub mod queue;
pub mod read;
pub mod record;
pub mod recorder_thread;
pub mod rotation;
mod seek;
pub mod status;
mod sum;
mod taught;
pub mod torn;
pub mod wall;
pub mod whole_check;

pub use header::{Header, Part};
pub use heard::Heard;
pub use line::Line;
pub use lines::Lines;
pub use note::{append_note, append_taught};
pub use queue::Queue;
pub use read::SessionSource;
pub use record::Recorder;
pub use recorder_thread::RecorderThread;
pub use rotation::Rotation;
pub use status::{NewPart, RecorderStatus};
pub use torn::TornLine;
pub use whole_check::WholeCheck;
