//! Sessions: what was heard, kept so that nothing can be lost.
//!
//! # The format, version 1
//!
//! A session is a text file, only ever appended to. Each record is one line, written with one write:
//!
//! ```text
//! WORD FIELD... CRC\n
//! ```
//!
//! Fields are parted by one space. The last field of a line may itself hold spaces. `CRC` is the CRC-32C (RFC 3720,
//! appendix B.4) of everything before the last space of the line, as eight upper-case hex digits.
//!
//! Bytes are written *escaped*: a byte from 0x20 to 0x7E except `\` stands for itself; every other byte is `\` and two
//! upper-case hex digits (`\0A` is LF, `\5C` is `\`). Text is escaped UTF-8. In a text field with more fields behind it
//! a space is escaped too (`\20`).
//!
//! Times are whole microseconds since the session began, in decimal. They never descend from line to line.
//!
//! | line | fields | meaning |
//! |---|---|---|
//! | `session` | version, program and its version, wall clock (RFC 3339 with offset) | first line, exactly once |
//! | `link` | wire, rate or `-`, settings, latency in us, port | how one wire is listened to; before its first read |
//! | `rover` | file name | a rover file follows |
//! | `file` | one line of that file, escaped (may be empty) | in order; joined by LF they are the file, to the byte; ends at the first line of another word |
//! | `>` or `<` | time of the read, time since nothing was waiting, offset, bytes | one read |
//! | `tick` | time | nothing more was waiting at this time, on any tapped wire |
//! | `note` | time, text | a person's remark; the time may be earlier than the line before it |
//! | `gone` | time, wire, reason | the port went away |
//! | `back` | time, wire | it is back |
//! | `lost` | time, wire, count | so many bytes were received but could not be kept |
//! | `wall` | time, wall clock | where the wall clock stood: drift and jumps show |
//! | `end` | time, records, bytes `>`, bytes `<` | the recorder closed the file; records counts the lines before this one; only notes may follow |
//!
//! A reader skips lines whose word it does not know when the version's major number is one it knows, refuses a higher
//! version, and names every line whose CRC does not match (line number, byte) without losing the next.

pub mod disk;
pub mod escape;
mod fields;
pub mod header;
pub mod heard;
pub mod line;
pub mod line_reader;
pub mod note;
mod offsets;
pub mod opening;
pub mod queue;
pub mod read;
pub mod record;
pub mod recorder_thread;
mod seek;
pub mod status;
pub mod torn;
pub mod wall;

pub use header::Header;
pub use heard::Heard;
pub use line::Line;
pub use note::append_note;
pub use queue::Queue;
pub use read::SessionSource;
pub use record::Recorder;
pub use recorder_thread::RecorderThread;
pub use status::RecorderStatus;
pub use torn::TornLine;
