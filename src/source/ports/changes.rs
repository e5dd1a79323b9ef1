//! Which ports just appeared and which went, and what keeps like ones apart.

use super::PortInfo;

/// What differs between two lists.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changes {
    /// There now and not before.
    pub appeared: Vec<PortInfo>,
    /// There before and not now.
    pub gone: Vec<PortInfo>,
}

impl Changes {
    /// From `before` to `after`. Another device under the same name counts as both.
    pub fn between(before: &[PortInfo], after: &[PortInfo]) -> Self {
        let only = |these: &[PortInfo], those: &[PortInfo]| {
            these.iter().filter(|port| !those.contains(port)).cloned().collect()
        };
        Self { appeared: only(after, before), gone: only(before, after) }
    }

    /// Whether nothing differs.
    pub const fn is_empty(&self) -> bool {
        self.appeared.is_empty() && self.gone.is_empty()
    }
}

/// What keeps a port apart from another of the same make.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Apart {
    /// Their serial numbers differ: each can be known wherever it is plugged in.
    SerialNumber,
    /// Only where each is plugged in.
    Place,
    /// Nothing that the system tells.
    Nothing,
}

/// Other ports of the same make as `port`, each with what keeps it apart.
pub fn alike<'a>(port: &PortInfo, all: &'a [PortInfo]) -> Vec<(&'a PortInfo, Apart)> {
    let Some(usb) = &port.usb else { return Vec::new() };
    let same_make = |other: &&PortInfo| {
        let ids = other.usb.as_ref();
        other.path != port.path && ids.is_some_and(|ids| (ids.vendor, ids.product) == (usb.vendor, usb.product))
    };
    let apart = |other: &PortInfo| {
        let serials = (&usb.serial, other.usb.as_ref().and_then(|ids| ids.serial.as_ref()));
        match (serials, &port.location, &other.location) {
            ((Some(one), Some(two)), ..) if one != two => Apart::SerialNumber,
            (_, Some(one), Some(two)) if one != two => Apart::Place,
            _ => Apart::Nothing,
        }
    };
    all.iter().filter(same_make).map(|other| (other, apart(other))).collect()
}

/// The same in words; empty when there is no other of the same make.
pub fn alike_words(port: &PortInfo, all: &[PortInfo]) -> String {
    let say = |(other, apart): (&PortInfo, Apart)| match apart {
        Apart::SerialNumber => format!("the same make as {}; the serial number keeps them apart", other.path),
        Apart::Place => format!(
            "the same make as {} and no serial number of its own: only the socket keeps them apart, so label both and \
             leave each in its socket",
            other.path
        ),
        Apart::Nothing => {
            format!("the same make as {}, and nothing keeps them apart: plug one in at a time", other.path)
        }
    };
    alike(port, all).into_iter().map(say).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::ports::UsbIds;

    fn port(path: &str, serial: Option<&str>, place: &str) -> PortInfo {
        let usb = UsbIds { vendor: 0x1234, product: 7, serial: serial.map(str::to_owned) };
        PortInfo { path: path.to_owned(), usb: Some(usb), location: Some(place.to_owned()), ..PortInfo::default() }
    }

    #[test]
    fn what_appeared_and_what_went() {
        let (one, two) = (port("/dev/ttyUSB0", Some("a"), "1-1:1.0"), port("/dev/ttyUSB1", None, "1-2:1.0"));
        let plugged = Changes::between(std::slice::from_ref(&one), &[one.clone(), two.clone()]);
        assert_eq!((plugged.appeared, plugged.gone), (vec![two.clone()], vec![]));
        let swapped = Changes::between(&[one.clone()], &[port("/dev/ttyUSB0", Some("b"), "1-1:1.0")]);
        assert_eq!((swapped.appeared.len(), swapped.gone.len()), (1, 1), "another device under the same name");
        assert!(Changes::between(&[one.clone(), two.clone()], &[one, two]).is_empty());
    }

    #[test]
    fn like_adapters_are_kept_apart_by_what_differs() {
        let rows = [
            (Some("a"), Some("b"), "1-1:1.0", "1-2:1.0", "serial number keeps"),
            (None, None, "1-1:1.0", "1-2:1.0", "only the socket"),
            (Some("0001"), Some("0001"), "1-1:1.0", "1-2:1.0", "only the socket"),
            (None, None, "1-1:1.0", "1-1:1.0", "nothing keeps"),
        ];
        for (serial, other, place, elsewhere, words) in rows {
            let (one, two) = (port("/dev/ttyUSB0", serial, place), port("/dev/ttyUSB1", other, elsewhere));
            let says = alike_words(&one, &[one.clone(), two]);
            assert!(says.contains(words) && says.contains("/dev/ttyUSB1"), "{says}");
        }
        let alone = port("/dev/ttyUSB0", None, "1-1:1.0");
        assert_eq!(alike_words(&alone, &[alone.clone(), PortInfo::default()]), "");
    }
}
