//! A file that must not exist yet: made, filled, and taken away again where that fails.

use std::fs::{File, OpenOptions};
use std::io;
use std::path::Path;

use crate::run::Failure;

/// Makes the file at `path` and lets `fill` write it. Never overwrites a file (wrong use), and leaves none behind when
/// `fill` fails.
pub fn filled<T>(path: &Path, fill: impl FnOnce(File) -> Result<T, Failure>) -> Result<T, Failure> {
    let shown = path.display();
    let file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => {
            Failure::usage(format!("{shown} is there already and stays as it is. Choose another name."))
        }
        _ => Failure::device(format!("{shown}: cannot be written ({error}). Choose another folder.")),
    })?;
    let done = fill(file);
    if done.is_err() {
        // What was begun is worth nothing, and the failure is what the person must hear of.
        drop(std::fs::remove_file(path));
    }
    done
}

/// Writing to `path` failed half-way.
pub fn not_written(path: &Path, error: &io::Error) -> Failure {
    let shown = path.display();
    Failure::device(format!("{shown}: cannot be written ({error}). Free some space, or choose another folder."))
}
