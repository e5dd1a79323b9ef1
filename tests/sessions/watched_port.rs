//! A port for tests that knows what was written into it and what nobody has read yet: a witness from outside.
#![allow(dead_code, clippy::unwrap_used)]

use std::os::fd::OwnedFd;
use std::path::PathBuf;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use wheeltap_parsers::Wire;

use super::heard::bytes_at;
use super::without_screen::wait_for;

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

    /// Writes this text, for which there has to be room.
    pub fn text(&mut self, text: &str) {
        assert_eq!(rustix::io::write(&self.near, text.as_bytes()).unwrap(), text.len());
        self.written.extend(text.as_bytes());
    }

    /// Bytes that nobody has read and that have come through: on a busy machine the kernel hands what was written on
    /// only later (23 ms were seen), and what is on its way is not counted.
    pub fn unread(&self) -> usize {
        usize::try_from(rustix::io::ioctl_fionread(&self.far).unwrap()).unwrap()
    }

    /// How many of the written bytes nobody has read, now that the program has ended. A mark is sent behind them: bytes
    /// come through in their order, so with it all are there.
    pub fn left(&mut self) -> usize {
        const MARK: &[u8] = b"<all that was written stands before this>";
        assert_eq!(rustix::io::write(&self.near, MARK).unwrap(), MARK.len());
        let (mut left, mut block) = (Vec::new(), [0; 4096]);
        wait_for("the mark comes through", || {
            if self.unread() > 0 {
                let count = rustix::io::read(&self.far, &mut block).unwrap();
                left.extend(&block[..count]);
            }
            left.ends_with(MARK)
        });
        left.truncate(left.len() - MARK.len());
        assert!(self.written.ends_with(&left), "what is left are the last bytes that were written");
        left.len()
    }
}
