//! Why a port cannot be opened: what, where, and what to do next.

use std::path::Path;

use tokio_serial::{Error, ErrorKind};

use super::{SourceError, ports};

/// Slowest and fastest rate that is accepted, baud.
pub const RATES: std::ops::RangeInclusive<u32> = 1..=4_000_000;

/// Checks a rate before anything is opened (a pseudo-terminal would accept any).
pub fn check_rate(rate: u32) -> Result<u32, SourceError> {
    if RATES.contains(&rate) {
        return Ok(rate);
    }
    let (slowest, fastest) = (RATES.start(), RATES.end());
    Err(SourceError::BadFile(format!(
        "{rate} baud cannot be listened to. Give the rate of the boards' own programs, from {slowest} to {fastest}."
    )))
}

/// What is plain to see before opening: nothing there, or not a port.
pub fn look_first(path: &str) -> Result<(), SourceError> {
    let data = match std::fs::metadata(path) {
        Ok(data) => data,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Err(missing(path)),
        // Whatever else keeps us from looking also keeps us from opening, and is explained there.
        Err(_) => return Ok(()),
    };
    let kind = if data.is_dir() {
        "a folder"
    } else if data.is_file() {
        "a file"
    } else {
        return Ok(());
    };
    Err(SourceError::Device(format!(
        "{path}: this is {kind}, not a port. `wheeltap ports` lists the ports; a recorded file is read with `wheeltap replay`."
    )))
}

/// Explains a failed opening.
pub fn explain(path: &str, rate: u32, error: &Error) -> SourceError {
    use std::io::ErrorKind as Io;
    let there = Path::new(path).exists();
    match error.kind() {
        ErrorKind::Io(Io::PermissionDenied) => no_permission(path),
        ErrorKind::NoDevice | ErrorKind::Io(Io::NotFound) if !there => missing(path),
        ErrorKind::NoDevice | ErrorKind::Io(Io::ResourceBusy) => busy(path),
        ErrorKind::InvalidInput => SourceError::Device(format!(
            "{path}: the port does not accept {rate} baud ({error}). Give the rate of the boards' own programs."
        )),
        _ => SourceError::Device(format!(
            "{path}: this cannot be opened as a serial port ({error}). `wheeltap ports` lists the ports."
        )),
    }
}

fn busy(path: &str) -> SourceError {
    SourceError::Device(format!(
        "{path}: another program has this port open. Two readers would each get half of the bytes: close the other one."
    ))
}

fn missing(path: &str) -> SourceError {
    let found = ports::list().unwrap_or_default();
    let names: Vec<&str> = found.iter().map(|port| port.path.as_str()).collect();
    let there =
        if names.is_empty() { "No port was found at all".to_owned() } else { format!("There is {}", names.join(", ")) };
    SourceError::Device(format!(
        "{path}: there is no such port. {there}. Plug the adapter in and see `wheeltap ports`."
    ))
}

fn no_permission(path: &str) -> SourceError {
    match group_of(path) {
        Some(group) if group != "root" => SourceError::Device(format!(
            "{path}: no permission to open it. It belongs to the group {group}: join with `sudo usermod -aG {group} \
             $USER`, then log out and in again."
        )),
        _ => SourceError::Device(format!(
            "{path}: no permission to open it. See who owns it with `ls -l {path}`, and have its rights changed."
        )),
    }
}

#[cfg(unix)]
fn group_of(path: &str) -> Option<String> {
    use std::os::unix::fs::MetadataExt;
    let number = std::fs::metadata(path).ok()?.gid();
    group_name(&std::fs::read_to_string("/etc/group").ok()?, number)
}

#[cfg(not(unix))]
fn group_of(_path: &str) -> Option<String> {
    None
}

/// The name of a group in the text of `/etc/group`: `name:password:number:members` (group(5)).
fn group_name(groups: &str, number: u32) -> Option<String> {
    groups.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        (fields.nth(1)?.parse() == Ok(number)).then(|| name.to_owned())
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn rates_have_bounds() {
        for rate in [1, 115_200, 117_647, 4_000_000] {
            assert_eq!(check_rate(rate).unwrap(), rate);
        }
        for rate in [0, 4_000_001] {
            let error = check_rate(rate).unwrap_err();
            assert!(matches!(&error, SourceError::BadFile(text) if text.contains("from 1 to 4000000")), "{error}");
        }
    }

    #[test]
    fn a_group_is_found_by_its_number() {
        let groups = "root:x:0:\ndialout:x:20:ada,ben\nbroken\n:\nuucp:x:10:\n";
        assert_eq!(group_name(groups, 20).as_deref(), Some("dialout"));
        assert_eq!(group_name(groups, 21), None);
    }

    #[test]
    fn each_failure_says_what_to_do() {
        let missing = "/dev/no-such-port";
        let cases = [
            (missing, ErrorKind::Io(std::io::ErrorKind::NotFound), "there is no such port"),
            (missing, ErrorKind::NoDevice, "there is no such port"),
            ("/dev/null", ErrorKind::NoDevice, "another program has this port open"),
            ("/dev/null", ErrorKind::Io(std::io::ErrorKind::PermissionDenied), "no permission"),
            ("/dev/null", ErrorKind::Unknown, "wheeltap ports"),
        ];
        for (path, kind, words) in cases {
            let text = explain(path, 115_200, &Error::new(kind, "said by the system")).to_string();
            assert!(text.starts_with(path) && text.contains(words), "{text}");
        }
        assert!(look_first("/").unwrap_err().to_string().contains("a folder"));
        assert!(look_first("/etc/passwd").unwrap_err().to_string().contains("wheeltap replay"));
        assert!(look_first("/dev/null").is_ok());
    }
}
