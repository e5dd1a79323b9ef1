//! What is added to a session that is no longer being recorded: a note made at the desk, a rover file that was taught.

use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use super::disk::{Disk, FileDisk};
use super::line::{LARGEST_US, Line};
use super::read::SessionSource;
use super::taught;
use crate::source::SourceError;

/// Adds `text` to the session at `path`, for the session time `t_us`. Refuses a file that is not a session, and one
/// that a recorder still has open.
pub fn append_note(path: &Path, t_us: i64, text: &str) -> Result<(), SourceError> {
    if !(0..=LARGEST_US).contains(&t_us) {
        let message = format!("a note cannot stand at {t_us} us: give a time from 0 to {LARGEST_US} us");
        return Err(SourceError::BadFile(message));
    }
    append(path, "the note", &[Line::Note { t_us, text: text.into() }])
}

/// Adds a rover file that was made while the session at `path` was recorded; it stands for the whole session from then
/// on. Refuses what [`append_note`] refuses.
pub fn append_taught(path: &Path, name: &str, text: &str) -> Result<(), SourceError> {
    append(path, "the rover file", &taught::lines(name, text))
}

/// Adds `lines` with one write; `what` names them in messages. What cannot be written whole is taken back, under the lock.
fn append(path: &Path, what: &str, lines: &[Line<'_>]) -> Result<(), SourceError> {
    SessionSource::open(path)?;
    let disk = FileDisk::append(path)?;
    let failed = |error: io::Error| {
        SourceError::Device(format!(
            "{}: {what} was not kept ({error}). Free some space and try again.",
            path.display()
        ))
    };
    let mut bytes = Vec::new();
    if !ends_in_line_end(path).map_err(failed)? {
        bytes.push(b'\n');
    }
    for line in lines {
        line.write(&mut bytes);
    }
    let before = disk.length().map_err(failed)?;
    let done = match disk.write(&bytes) {
        Ok(written) if written == bytes.len() => disk.sync(),
        Ok(_) => Err(io::Error::new(io::ErrorKind::WriteZero, "only part of it could be written")),
        Err(error) => Err(error),
    };
    done.map_err(|error| match disk.cut(before) {
        Ok(()) => failed(error),
        Err(left) => SourceError::Device(format!(
            "{}: {what} was not kept ({error}), and what was written of it could not be taken back ({left}): one torn line may \
             stand at the end of the file. Free some space and try again.",
            path.display()
        )),
    })
}

/// Whether the last byte of the file is LF; a torn last line must not swallow the note.
fn ends_in_line_end(path: &Path) -> io::Result<bool> {
    let mut file = std::fs::File::open(path)?;
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}
