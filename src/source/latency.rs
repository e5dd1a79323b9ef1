//! How long a byte can wait between the wire and the program.

use std::path::{Path, PathBuf};

use wheeltap_parsers::Nanos;

/// The timer of a USB-UART adapter where the system does not tell it, milliseconds: the usual default (secondary
/// source quoting application note AN232B-04; the note itself was not opened).
const TIMER_UNKNOWN_MS: i64 = 16;

/// One USB frame, milliseconds (USB 2.0 specification, full speed).
const USB_FRAME_MS: i64 = 1;

/// A pseudo-terminal has no adapter; this is for the program at its other end, milliseconds.
const PSEUDO_MS: i64 = 1;

/// The longest a byte can wait in the adapter of `port`, nanoseconds.
pub fn adapter_latency(port: &str) -> Nanos {
    let real = std::fs::canonicalize(port).unwrap_or_else(|_| PathBuf::from(port));
    latency(Path::new("/sys/class/tty"), &real)
}

/// The same with the kernel's class folder given.
fn latency(class: &Path, port: &Path) -> Nanos {
    let milliseconds = if port.starts_with("/dev/pts") {
        PSEUDO_MS
    } else {
        timer_ms(class, port).unwrap_or(TIMER_UNKNOWN_MS) + USB_FRAME_MS
    };
    milliseconds * 1_000_000
}

fn timer_ms(class: &Path, port: &Path) -> Option<i64> {
    let file = class.join(port.file_name()?).join("device/latency_timer");
    let said = std::fs::read_to_string(file).ok()?;
    said.trim().parse().ok().filter(|timer| (0..=255).contains(timer))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_timer_is_read_where_the_system_tells_it() {
        let class = tempfile::tempdir().unwrap();
        let device = class.path().join("ttyUSB0/device");
        std::fs::create_dir_all(&device).unwrap();
        let of = |port: &str| latency(class.path(), Path::new(port));
        assert_eq!(of("/dev/ttyUSB0"), 17_000_000);
        std::fs::write(device.join("latency_timer"), "1\n").unwrap();
        assert_eq!(of("/dev/ttyUSB0"), 2_000_000);
        std::fs::write(device.join("latency_timer"), "-3\n").unwrap();
        assert_eq!(of("/dev/ttyUSB0"), 17_000_000);
        assert_eq!(of("/dev/pts/4"), 1_000_000);
    }
}
