//! What a session is written to. A trait, so that tests can make it fail, fall short or stall.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use rustix::fs::{FlockOperation, flock};

use crate::source::SourceError;

/// A file that is appended to by one thread and synced by another.
pub trait Disk: Send + Sync {
    /// Writes once. May write less than all.
    fn write(&self, bytes: &[u8]) -> io::Result<usize>;

    /// Waits until everything written is on the disk.
    fn sync(&self) -> io::Result<()>;
}

/// A real file, locked for as long as it is open, so that two recorders never share one.
#[derive(Debug)]
pub struct FileDisk {
    file: File,
}

impl FileDisk {
    /// A new file. Never overwrites one.
    pub fn create(path: &Path) -> Result<Self, SourceError> {
        let file = OpenOptions::new().append(true).create_new(true).open(path);
        let disk = Self::lock(file.map_err(|error| cannot_create(path, &error))?, path)?;
        sync_folder(path);
        Ok(disk)
    }

    /// An existing file, to be added to.
    pub fn append(path: &Path) -> Result<Self, SourceError> {
        let file = OpenOptions::new().append(true).read(true).open(path);
        let file = file.map_err(|error| {
            SourceError::Device(format!("{}: cannot be added to ({error}). Check its name and rights.", path.display()))
        })?;
        Self::lock(file, path)
    }

    /// How long the file is, bytes.
    pub(super) fn length(&self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    /// Takes back what was written beyond this length.
    pub(super) fn cut(&self, length: u64) -> io::Result<()> {
        self.file.set_len(length)?;
        self.file.sync_data()
    }

    fn lock(file: File, path: &Path) -> Result<Self, SourceError> {
        flock(&file, FlockOperation::NonBlockingLockExclusive).map_err(|error| {
            let path = path.display();
            SourceError::Device(format!(
                "{path}: another recorder has this session open ({error}). End that recording first."
            ))
        })?;
        Ok(Self { file })
    }
}

/// Whether a recorder has the file at `path` open now. What cannot be told counts as no: not every file system knows locks.
pub fn is_recorded(path: &Path) -> bool {
    let Ok(file) = File::open(path) else { return false };
    let locked = flock(&file, FlockOperation::NonBlockingLockShared);
    let recorded = locked.is_err_and(|error| error == rustix::io::Errno::WOULDBLOCK);
    // Given back by name, as in `FileDisk`; where nothing was locked that does nothing.
    let _ = flock(&file, FlockOperation::Unlock);
    recorded
}

/// Makes the new name last through a power cut, where the system allows it. A system that does not allow it gives no
/// other way, and the session itself is synced all the same.
fn sync_folder(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    drop(File::open(folder).and_then(|folder| folder.sync_all()));
}

fn cannot_create(path: &Path, error: &io::Error) -> SourceError {
    let path = path.display();
    match error.kind() {
        io::ErrorKind::AlreadyExists => SourceError::BadFile(format!(
            "{path}: this file exists, and a session never overwrites one. Choose another name."
        )),
        io::ErrorKind::NotFound => {
            SourceError::Device(format!("{path}: its folder does not exist. Make the folder, or choose another."))
        }
        _ => SourceError::Device(format!("{path}: cannot be made ({error}). Choose a folder that can be written to.")),
    }
}

impl Drop for FileDisk {
    /// Gives the lock back by name. Closing alone does not while a program started from another thread still holds a
    /// copy of the file, between its start and its first own step. A lock that is not given back here goes then.
    fn drop(&mut self) {
        let _ = flock(&self.file, FlockOperation::Unlock);
    }
}

impl Disk for FileDisk {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        (&self.file).write(bytes)
    }

    fn sync(&self) -> io::Result<()> {
        self.file.sync_data()
    }
}
