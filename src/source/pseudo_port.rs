//! A simulated port: a pseudo-terminal that another program (or this one) can listen to as if it were an adapter.
//!
//! It has no line rate and no overruns; it proves nothing about real ones. Bytes are written no sooner than a wire
//! would have delivered them.

pub mod pieces;

use std::fs::OpenOptions;
use std::io;
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStringExt;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rustix::fs::OFlags;
use rustix::io::Errno;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, QueueSelector, tcflush, tcgetattr, tcsetattr};
use wheeltap_parsers::Wire;

use self::pieces::Pieces;
use super::SourceError;
use crate::simulation::Burst;

/// Longest sleep before looking whether to stop.
const NAP: Duration = Duration::from_millis(20);

/// One pseudo-terminal.
#[derive(Debug)]
pub struct PseudoPort {
    near: OwnedFd,
    /// Kept open, so that writing works while nobody listens.
    far: OwnedFd,
    path: PathBuf,
    link: Option<PathBuf>,
}

impl PseudoPort {
    /// Opens one. With `link`, its path can also be reached under that name until it is dropped.
    pub fn open(link: Option<&Path>) -> Result<Self, SourceError> {
        let mut port = Self::make().map_err(|error| {
            SourceError::Device(format!("no pseudo-terminal can be opened ({error}). Check that /dev/pts is there."))
        })?;
        if let Some(link) = link {
            std::os::unix::fs::symlink(&port.path, link).map_err(|error| {
                let link = link.display();
                SourceError::Device(format!(
                    "{link}: cannot be made a name for the port ({error}). If it was left by a `simulate` that was killed, remove it; else choose another name."
                ))
            })?;
            port.link = Some(link.to_owned());
        }
        Ok(port)
    }

    fn make() -> io::Result<Self> {
        let near = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        grantpt(&near)?;
        unlockpt(&near)?;
        let name = ptsname(&near, Vec::new())?.into_bytes();
        let path = PathBuf::from(std::ffi::OsString::from_vec(name));
        let no_control = OFlags::NOCTTY.bits() as i32;
        let far: OwnedFd = OpenOptions::new().read(true).write(true).custom_flags(no_control).open(&path)?.into();
        let mut mode = tcgetattr(&far)?;
        mode.make_raw();
        tcsetattr(&far, OptionalActions::Now, &mode)?;
        rustix::fs::fcntl_setfl(&near, OFlags::NONBLOCK)?;
        Ok(Self { near, far, path, link: None })
    }

    /// The path to listen to, such as `/dev/pts/3`.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Lets these bytes come, where a test stands beside code that may not send.
    #[cfg(test)]
    pub(super) fn brings(&self, bytes: &[u8]) -> bool {
        self.write(bytes).is_ok()
    }

    /// Writes `bytes`, never waiting: when nobody reads, the oldest bytes fall out, as on a wire.
    pub fn write(&self, bytes: &[u8]) -> io::Result<()> {
        let mut rest = bytes;
        let mut emptied = false;
        while !rest.is_empty() {
            match rustix::io::write(&self.near, rest) {
                Ok(count) if count > 0 => rest = rest.get(count..).unwrap_or_default(),
                Err(Errno::INTR) => {}
                Ok(_) | Err(Errno::AGAIN) if !emptied => {
                    tcflush(&self.far, QueueSelector::IFlush)?;
                    emptied = true;
                }
                // Emptied and still no room: what is left falls out too.
                Ok(_) | Err(Errno::AGAIN) => return Ok(()),
                Err(error) => return Err(error.into()),
            }
        }
        Ok(())
    }
}

impl Drop for PseudoPort {
    fn drop(&mut self) {
        if let Some(link) = &self.link {
            // Someone may have removed the name already; then there is nothing to do.
            drop(std::fs::remove_file(link));
        }
    }
}

/// Writes `bursts` to the ports of their wires (by [`Wire::index`]; a wire without a port is not written), each byte
/// no sooner than it would be complete when time 0 was at `begun`. Ends with the bursts, or soon after `stop` is set.
pub fn write_at(
    ports: [Option<&PseudoPort>; 2],
    bursts: impl Iterator<Item = Burst>,
    begun: Instant,
    stop: &AtomicBool,
) -> Result<(), SourceError> {
    for piece in Pieces::new(bursts) {
        let due = begun + Duration::from_nanos(u64::try_from(piece.due).unwrap_or(0));
        if !wait_until(due, stop) {
            return Ok(());
        }
        if let Some(port) = ports[Wire::index(piece.wire)] {
            port.write(&piece.bytes).map_err(|error| {
                SourceError::Device(format!("{}: the simulated port failed ({error}).", port.path.display()))
            })?;
        }
    }
    Ok(())
}

/// False when asked to stop.
fn wait_until(due: Instant, stop: &AtomicBool) -> bool {
    while !stop.load(Ordering::Relaxed) {
        let left = due.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return true;
        }
        std::thread::sleep(left.min(NAP));
    }
    false
}
