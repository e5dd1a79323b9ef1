//! A port for tests that knows what was written into it and what nobody has read yet: a witness from outside.
#![allow(clippy::unwrap_used)]

use std::os::fd::OwnedFd;
use std::path::PathBuf;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use wheeltap_parsers::Wire;

use super::heard::bytes_at;

/// A pseudo-terminal whose far end stays open here too, so that what nobody read can be counted.
pub struct WatchedPort {
    near: OwnedFd,
    far: OwnedFd,
    /// The path to listen to.
    pub path: PathBuf,
    /// All that was written.
    pub written: Vec<u8>,
}

impl WatchedPort {
    /// Opens one.
    pub fn open() -> Self {
        let near = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&near).unwrap();
        unlockpt(&near).unwrap();
        let path = PathBuf::from(ptsname(&near, Vec::new()).unwrap().into_string().unwrap());
        let far: OwnedFd = std::fs::File::options().read(true).write(true).open(&path).unwrap().into();
        let mut mode = tcgetattr(&far).unwrap();
        mode.make_raw();
        tcsetattr(&far, OptionalActions::Now, &mode).unwrap();
        Self { near, far, path, written: Vec::new() }
    }

    /// Writes this many bytes, as far as there is room for them.
    pub fn write(&mut self, count: usize) {
        let bytes = bytes_at(Wire::ToDrive, self.written.len() as u64, count);
        let done = rustix::io::write(&self.near, &bytes).unwrap();
        self.written.extend(&bytes[..done]);
    }

    /// Bytes that were written and that nobody has read.
    pub fn unread(&self) -> usize {
        usize::try_from(rustix::io::ioctl_fionread(&self.far).unwrap()).unwrap()
    }
}
