//! The serial ports of this computer, and which of them are better not opened without a thought.

pub mod changes;

use std::path::Path;

use tokio_serial::{SerialPortInfo, SerialPortType, UsbPortInfo};

use super::SourceError;

/// The kernel's folder of ports on Linux. Listing panics where it is missing, so it is looked for first.
const CLASS: &str = "/sys/class/tty";

/// One port.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PortInfo {
    /// Its path, such as `/dev/ttyUSB0`.
    pub path: String,
    /// What the device says of itself, or what kind of port it is.
    pub description: String,
    /// USB identity, when it hangs on USB.
    pub usb: Option<UsbIds>,
    /// Where it is plugged in, such as `1-2:1.0`; `None` when the system does not tell.
    pub location: Option<String>,
}

/// What USB knows of a device.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UsbIds {
    /// Vendor number.
    pub vendor: u16,
    /// Product number.
    pub product: u16,
    /// Serial number, when it has one.
    pub serial: Option<String>,
}

/// All ports, by path.
pub fn list() -> Result<Vec<PortInfo>, SourceError> {
    let class = Path::new(CLASS);
    if cfg!(target_os = "linux") && !class.is_dir() {
        return Err(SourceError::Device(format!(
            "ports cannot be listed: {CLASS} is missing here. A port can still be named by its path."
        )));
    }
    let found = tokio_serial::available_ports().map_err(|error| {
        SourceError::Device(format!("ports cannot be listed ({error}). A port can still be named by its path."))
    })?;
    let mut ports: Vec<PortInfo> = found.into_iter().map(|info| describe(info, class)).collect();
    ports.sort_by(|one, other| one.path.cmp(&other.path));
    Ok(ports)
}

fn describe(info: SerialPortInfo, class: &Path) -> PortInfo {
    let (description, usb) = match info.port_type {
        SerialPortType::UsbPort(usb) => (usb_words(&usb), Some(ids(&usb))),
        SerialPortType::PciPort => ("port of the main board or a card".to_owned(), None),
        SerialPortType::BluetoothPort => ("radio port".to_owned(), None),
        SerialPortType::Unknown => ("port of the main board".to_owned(), None),
    };
    let location = location(class, Path::new(&info.port_name));
    PortInfo { path: info.port_name, description, usb, location }
}

fn usb_words(usb: &UsbPortInfo) -> String {
    let words: Vec<String> =
        [&usb.manufacturer, &usb.product].into_iter().flatten().map(|word| harmless(word)).collect();
    if words.is_empty() { "USB device without a name".to_owned() } else { words.join(" ") }
}

fn ids(usb: &UsbPortInfo) -> UsbIds {
    UsbIds { vendor: usb.vid, product: usb.pid, serial: usb.serial_number.as_deref().map(harmless) }
}

/// A device names itself: its words must not be able to steer a terminal.
fn harmless(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_control()).collect()
}

/// The name of the device's own folder: bus, plug and interface.
fn location(class: &Path, port: &Path) -> Option<String> {
    let device = std::fs::canonicalize(class.join(port.file_name()?).join("device")).ok()?;
    let name = |folder: &Path| folder.file_name().map(|name| name.to_string_lossy().into_owned());
    let own = name(&device)?;
    let port_name = name(port)?;
    if own == port_name { name(device.parent()?) } else { Some(own) }
}

/// What to say BEFORE a port is opened that looks like a board's own USB. `None` for a plain adapter, whose receive
/// lead and ground can do no harm.
pub fn may_reset(port: &PortInfo) -> Option<String> {
    let name = Path::new(&port.path).file_name()?.to_string_lossy().into_owned();
    // CDC-ACM devices: the class a microcontroller with its own USB shows. ttyACM is the name on Linux (kernel
    // documentation, admin-guide/devices.txt, major 166), usbmodem the one on macOS (recalled).
    let own_usb = name.starts_with("ttyACM") || name.starts_with("cu.usbmodem") || name.starts_with("tty.usbmodem");
    own_usb.then(|| {
        format!(
            "{} looks like a board's own USB port. Opening it may reset the board, and the wheels may start. Lift the \
             wheels off the ground first, or tap with an adapter: its receive lead and ground only.",
            port.path
        )
    })
}

/// What opening the port does, in words, for every port.
pub fn opening(port: &PortInfo) -> String {
    if let Some(warning) = may_reset(port) {
        return warning;
    }
    if port.usb.is_some() {
        // That opening raises both lines is what most systems do (recalled); boards with an adapter of their own wire
        // them to reset and boot pins (a chip vendor's boot page, excerpt).
        return "Opening it raises DTR and RTS. With ground and receive alone nothing can come of that; if the adapter \
                sits on a controller board, that board may reset."
            .to_owned();
    }
    "Opening it may move its control lines; leave them off.".to_owned()
}

/// The name that stays with this device wherever it counts: by its serial number, else by its socket. `None` where the
/// system keeps no such names.
pub fn lasting_name(port: &PortInfo) -> Option<String> {
    lasting_name_in(Path::new("/dev/serial"), port)
}

fn lasting_name_in(folder: &Path, port: &PortInfo) -> Option<String> {
    let has_serial = port.usb.as_ref().is_some_and(|usb| usb.serial.is_some());
    let order = if has_serial { ["by-id", "by-path"] } else { ["by-path", "by-id"] };
    order.iter().find_map(|kind| {
        let links = std::fs::read_dir(folder.join(kind)).ok()?;
        let mut names: Vec<_> = links.filter_map(|link| Some(link.ok()?.path())).collect();
        names.sort();
        let wanted = std::fs::canonicalize(&port.path).ok()?;
        let found = names.into_iter().find(|name| std::fs::canonicalize(name).is_ok_and(|real| real == wanted))?;
        Some(found.to_string_lossy().into_owned())
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn port(path: &str) -> PortInfo {
        PortInfo { path: path.to_owned(), ..PortInfo::default() }
    }

    #[test]
    fn only_a_boards_own_usb_is_warned_of() {
        let warning = may_reset(&port("/dev/ttyACM0")).unwrap();
        assert!(warning.contains("/dev/ttyACM0") && warning.contains("wheels"), "{warning}");
        for path in ["/dev/ttyUSB0", "/dev/ttyS0", "/dev/pts/3", ""] {
            assert_eq!(may_reset(&port(path)), None, "{path}");
        }
    }

    #[test]
    fn a_device_cannot_steer_the_terminal_with_its_name() {
        let product = Some("Adapter\u{1b}[2J\r\n7".to_owned());
        let usb = UsbPortInfo { vid: 1, pid: 2, serial_number: None, manufacturer: None, product };
        assert_eq!(usb_words(&usb), "Adapter[2J7");
    }

    #[test]
    fn where_a_port_is_plugged_in() {
        let root = tempfile::tempdir().unwrap();
        let plug = root.path().join("usb1/1-2/1-2:1.0");
        std::fs::create_dir_all(plug.join("ttyUSB0")).unwrap();
        // The kernel links a USB adapter to a folder of the port's own name, an ACM device to its interface.
        for (port, device) in [("ttyUSB0", plug.join("ttyUSB0")), ("ttyACM0", plug.clone())] {
            let class = root.path().join("class").join(port);
            std::fs::create_dir_all(&class).unwrap();
            std::os::unix::fs::symlink(device, class.join("device")).unwrap();
            let found = location(&root.path().join("class"), &Path::new("/dev").join(port));
            assert_eq!(found.as_deref(), Some("1-2:1.0"), "{port}");
        }
        assert_eq!(location(&root.path().join("class"), Path::new("/dev/ttyS9")), None);
    }

    #[test]
    fn a_lasting_name_is_by_serial_number_where_there_is_one() {
        let root = tempfile::tempdir().unwrap();
        let device = root.path().join("ttyUSB0");
        std::fs::write(&device, "").unwrap();
        let serial = |serial: Option<&str>| PortInfo {
            path: device.to_string_lossy().into_owned(),
            usb: Some(UsbIds { serial: serial.map(str::to_owned), ..UsbIds::default() }),
            ..PortInfo::default()
        };
        assert_eq!(lasting_name_in(root.path(), &serial(None)), None);
        for kind in ["by-id", "by-path"] {
            std::fs::create_dir(root.path().join(kind)).unwrap();
            std::os::unix::fs::symlink(&device, root.path().join(kind).join("name")).unwrap();
        }
        let name = |port| lasting_name_in(root.path(), &port).unwrap();
        assert!(name(serial(Some("7"))).ends_with("by-id/name"));
        assert!(name(serial(None)).ends_with("by-path/name"));
    }

    #[test]
    fn listing_never_panics() {
        if let Ok(ports) = list() {
            assert!(ports.iter().all(|port| port.path.starts_with("/dev/")), "{ports:?}");
        }
    }
}
