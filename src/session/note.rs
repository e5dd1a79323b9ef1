//! A note added at the desk, to a session that is no longer being recorded.

use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use super::disk::{Disk, FileDisk};
use super::line::{LARGEST_US, Line};
use super::read::SessionSource;
use crate::source::SourceError;

/// Adds `text` to the session at `path`, for the session time `t_us`. Refuses a file that is not a session, and one
/// that a recorder still has open.
pub fn append_note(path: &Path, t_us: i64, text: &str) -> Result<(), SourceError> {
    if !(0..=LARGEST_US).contains(&t_us) {
        let message = format!("a note cannot stand at {t_us} us: give a time from 0 to {LARGEST_US} us");
        return Err(SourceError::BadFile(message));
    }
    SessionSource::open(path)?;
    let disk = FileDisk::append(path)?;
    let failed = |error: io::Error| {
        SourceError::Device(format!(
            "{}: the note was not kept ({error}). Free some space and try again.",
            path.display()
        ))
    };
    let mut line = Vec::new();
    if !ends_in_line_end(path).map_err(failed)? {
        line.push(b'\n');
    }
    Line::Note { t_us, text: text.into() }.write(&mut line);
    let written = disk.write(&line).map_err(failed)?;
    if written != line.len() {
        return Err(failed(io::Error::new(io::ErrorKind::WriteZero, "only part of it could be written")));
    }
    disk.sync().map_err(failed)
}

/// Whether the last byte of the file is LF; a torn last line must not swallow the note.
fn ends_in_line_end(path: &Path) -> io::Result<bool> {
    let mut file = std::fs::File::open(path)?;
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}
