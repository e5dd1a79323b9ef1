//! A port opened to find its line rate: opened once, listened to at one rate after another, with framing errors where
//! the driver tells of them.
//!
//! It is opened for reading alone. Its settings are given back when it is dropped. DTR and RTS are not touched beyond
//! what opening itself does.

use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::os::unix::fs::OpenOptionsExt;
use std::time::{Duration, Instant};

use rustix::fs::{FlockOperation, OFlags, fcntl_setfl, flock};
use rustix::termios::{
    ControlModes, InputModes, OptionalActions, QueueSelector, SpecialCodeIndex, Termios, ioctl_tiocexcl,
    ioctl_tiocnxcl, tcflush, tcgetattr, tcsetattr,
};
use tokio_serial::Error;

use crate::source::SourceError;
use crate::source::port_error::{explain, look_first};
use crate::timing::rate::uart::HeardByte;

/// How long one look waits, tenths of a second, and so the silence that ends a burst.
const LOOK: u8 = 1;

/// A burst that does not end by itself is cut after this long, or after so many bytes.
const LONGEST: (Duration, usize) = (Duration::from_millis(1500), 2048);

/// A look that finds nothing sooner than this is no look at a quiet wire: the port is gone.
const TOO_SOON: Duration = Duration::from_millis(20);

/// So many of them in a row.
const GONE: u32 = 20;

/// What came between two silences.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Burst {
    /// The bytes.
    pub bytes: Vec<HeardByte>,
    /// It did not end in silence: it may begin and end inside a line.
    pub cut: bool,
}

/// The port.
#[derive(Debug)]
pub struct TrialPort {
    path: String,
    file: File,
    before: Termios,
    unmarked: Unmarked,
    rate: u32,
}

impl TrialPort {
    /// Opens the port for reading, at `rate` baud.
    pub fn open(path: &str, rate: u32) -> Result<Self, SourceError> {
        look_first(path)?;
        Self::opened(path, rate).map_err(|error| {
            let kind = if error.kind() == ErrorKind::WouldBlock { ErrorKind::ResourceBusy } else { error.kind() };
            explain(path, rate, &Error::new(tokio_serial::ErrorKind::Io(kind), error.to_string()))
        })
    }

    fn opened(path: &str, rate: u32) -> io::Result<Self> {
        // Without waiting for a carrier that a rover's wire does not have.
        let flags = (OFlags::NOCTTY | OFlags::NONBLOCK).bits() as i32;
        let file = OpenOptions::new().read(true).custom_flags(flags).open(path)?;
        flock(&file, FlockOperation::NonBlockingLockExclusive)?;
        ioctl_tiocexcl(&file)?;
        let before = tcgetattr(&file)?;
        let mut port = Self { path: path.to_owned(), file, before, unmarked: Unmarked::default(), rate };
        port.listen_at(rate)?;
        fcntl_setfl(&port.file, OFlags::empty())?;
        Ok(port)
    }

    /// Goes on at another rate, baud; what waited from before is dropped.
    pub fn set_rate(&mut self, rate: u32) -> Result<(), SourceError> {
        if rate == self.rate {
            return Ok(());
        }
        self.rate = rate;
        self.listen_at(rate).map_err(|error| {
            SourceError::Device(format!(
                "{}: the port does not accept {rate} baud ({error}). Another adapter may; or give the rate with --rate.",
                self.path
            ))
        })
    }

    fn listen_at(&mut self, rate: u32) -> io::Result<()> {
        let mut mode = self.before.clone();
        mode.make_raw();
        mode.control_modes |= ControlModes::CREAD | ControlModes::CLOCAL;
        mode.control_modes -= ControlModes::CSTOPB | ControlModes::CRTSCTS;
        // Framing errors are marked in the stream: termios(3), PARMRK with INPCK and without IGNPAR.
        mode.input_modes |= InputModes::PARMRK | InputModes::INPCK;
        mode.input_modes -= InputModes::IGNPAR | InputModes::IGNBRK | InputModes::BRKINT | InputModes::IXOFF;
        mode.special_codes[SpecialCodeIndex::VMIN] = 0;
        mode.special_codes[SpecialCodeIndex::VTIME] = LOOK;
        mode.set_speed(rate)?;
        tcsetattr(&self.file, OptionalActions::Flush, &mode)?;
        tcflush(&self.file, QueueSelector::IFlush)?;
        self.unmarked = Unmarked::default();
        Ok(())
    }

    /// The next burst; an empty one when nothing came for about `patience` or `ends` says to stop.
    pub fn burst(&mut self, patience: Duration, ends: impl Fn() -> bool) -> Result<Burst, SourceError> {
        let begun = Instant::now();
        let (mut burst, mut first, mut too_soon) = (Burst::default(), None, 0);
        while !ends() {
            let looked = Instant::now();
            let count = self.look(&mut burst.bytes)?;
            too_soon = if count == 0 && looked.elapsed() < TOO_SOON { too_soon + 1 } else { 0 };
            if too_soon >= GONE {
                return Err(self.gone("it hung up"));
            }
            if count == 0 {
                if !burst.bytes.is_empty() || begun.elapsed() >= patience {
                    break;
                }
                continue;
            }
            burst.cut = first.get_or_insert(looked).elapsed() >= LONGEST.0 || burst.bytes.len() >= LONGEST.1;
            if burst.cut {
                break;
            }
        }
        Ok(burst)
    }

    fn look(&mut self, into: &mut Vec<HeardByte>) -> Result<usize, SourceError> {
        let mut block = [0; 512];
        match self.file.read(&mut block) {
            Ok(count) => {
                into.extend(block.iter().take(count).filter_map(|byte| self.unmarked.take(*byte)));
                Ok(count)
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => Ok(0),
            Err(error) => Err(self.gone(&error.to_string())),
        }
    }

    fn gone(&self, why: &str) -> SourceError {
        SourceError::Device(format!("{}: the port went away ({why}). Plug the adapter in and begin again.", self.path))
    }
}

impl Drop for TrialPort {
    fn drop(&mut self) {
        // The port may be gone; then there is nothing to give back.
        let _ = tcsetattr(&self.file, OptionalActions::Now, &self.before);
        let _ = ioctl_tiocnxcl(&self.file);
    }
}

/// Takes the marks out of the stream: FF 00 X is byte X with a framing error (or a break), FF FF is FF (termios(3)).
#[derive(Debug, Default)]
enum Unmarked {
    #[default]
    Plain,
    Mark,
    Error,
}

impl Unmarked {
    fn take(&mut self, byte: u8) -> Option<HeardByte> {
        let (next, heard) = match (&self, byte) {
            (Self::Plain, 0xFF) => (Self::Mark, None),
            (Self::Mark, 0) => (Self::Error, None),
            (Self::Error, byte) => (Self::Plain, Some(HeardByte { byte, framing_error: true })),
            (Self::Plain | Self::Mark, byte) => (Self::Plain, Some(HeardByte { byte, framing_error: false })),
        };
        *self = next;
        heard
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_taken_out_of_the_stream() {
        let mut unmarked = Unmarked::default();
        let stream = [b'a', 0xFF, 0xFF, 0xFF, 0, 0x80, b'b', 0xFF, 0, 0xFF, 0xFF, 0, 0, b'c'];
        let heard: Vec<(u8, bool)> =
            stream.iter().filter_map(|byte| unmarked.take(*byte)).map(|one| (one.byte, one.framing_error)).collect();
        let wanted =
            [(b'a', false), (0xFF, false), (0x80, true), (b'b', false), (0xFF, true), (0, true), (b'c', false)];
        assert_eq!(heard, wanted);
    }
}
