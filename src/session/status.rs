//! How the recorder fares, for the screen: read at any time, from any thread, without waiting for the disk.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

/// Shared between the recorder's threads and whoever shows it.
#[derive(Debug)]
pub struct RecorderStatus {
    path: Mutex<PathBuf>,
    bytes: AtomicU64,
    lost: AtomicU64,
    unsynced: AtomicBool,
    write_trouble: Mutex<Option<String>>,
    sync_trouble: Mutex<Option<String>>,
    rotation_trouble: Mutex<Option<String>>,
    newest_part: Mutex<Option<NewPart>>,
}

/// A file that the recording went on in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPart {
    /// Which one, from 2.
    pub number: u64,
    /// Its file.
    pub path: PathBuf,
    /// Whether every wire was silent where it begins; otherwise an order may lie half in the file before it.
    pub in_silence: bool,
}

impl RecorderStatus {
    /// All well, nothing written.
    pub fn new(path: &Path) -> Self {
        Self {
            path: Mutex::new(path.to_owned()),
            bytes: AtomicU64::new(0),
            lost: AtomicU64::new(0),
            unsynced: AtomicBool::new(false),
            write_trouble: Mutex::default(),
            sync_trouble: Mutex::default(),
            rotation_trouble: Mutex::default(),
            newest_part: Mutex::default(),
        }
    }

    /// The session file; with rotation, the one that is written now.
    pub fn path(&self) -> PathBuf {
        self.path.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The newest file that the recording went on in; `None` while it is in its first.
    pub fn newest_part(&self) -> Option<NewPart> {
        self.newest_part.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    pub(super) fn goes_on(&self, part: NewPart) {
        part.path.clone_into(&mut self.path.lock().unwrap_or_else(PoisonError::into_inner));
        *self.newest_part.lock().unwrap_or_else(PoisonError::into_inner) = Some(part);
        self.set_rotation_trouble(None);
    }

    /// Bytes of the wires that stand in the file.
    pub fn bytes(&self) -> u64 {
        self.bytes.load(Ordering::Relaxed)
    }

    /// Bytes of the wires that were received but could not be kept.
    pub fn lost(&self) -> u64 {
        self.lost.load(Ordering::Relaxed)
    }

    /// What is wrong now, and what to do; `None` when all is well.
    pub fn trouble(&self) -> Option<String> {
        let said = |trouble: &Mutex<Option<String>>| trouble.lock().unwrap_or_else(PoisonError::into_inner).clone();
        said(&self.write_trouble).or_else(|| said(&self.sync_trouble)).or_else(|| said(&self.rotation_trouble))
    }

    pub(super) fn kept(&self, bytes: u64) {
        self.bytes.fetch_add(bytes, Ordering::Relaxed);
    }

    pub(super) fn missed(&self, bytes: u64) {
        self.lost.fetch_add(bytes, Ordering::Relaxed);
    }

    pub(super) fn written(&self) {
        self.unsynced.store(true, Ordering::Release);
    }

    /// Whether something was written since the last call.
    pub(super) fn take_unsynced(&self) -> bool {
        self.unsynced.swap(false, Ordering::AcqRel)
    }

    pub(super) fn has_write_trouble(&self) -> bool {
        self.write_trouble.lock().unwrap_or_else(PoisonError::into_inner).is_some()
    }

    pub(super) fn set_write_trouble(&self, trouble: Option<String>) {
        *self.write_trouble.lock().unwrap_or_else(PoisonError::into_inner) = trouble;
    }

    pub(super) fn set_rotation_trouble(&self, trouble: Option<String>) {
        *self.rotation_trouble.lock().unwrap_or_else(PoisonError::into_inner) = trouble;
    }

    pub(super) fn set_sync_trouble(&self, trouble: Option<String>) {
        *self.sync_trouble.lock().unwrap_or_else(PoisonError::into_inner) = trouble;
    }
}
