//! Rotation: a recording goes on in a new file at a size, or when the local day changes.
//!
//! Each file is a session of its own: the same head, and a line that says at which time and place it goes on. Session time
//! and places on the wires run through all of them.

use std::path::{Path, PathBuf};

use super::header::Header;
use super::heard::Heard;
use super::record::Recorder;

/// After a new file could not be made, so many bytes go by before the next try.
const TRY_AGAIN: u64 = 1_000_000;
const DAY_US: i64 = 86_400_000_000;

/// When to begin a new file, and what its head says.
pub struct Rotation {
    first: PathBuf,
    header: Header,
    bytes: Option<u64>,
    /// The local day of the file, in days since 1970, when days count.
    day: Option<i64>,
    number: u64,
    not_before: u64,
}

impl Rotation {
    /// For a recording whose first file is `first`, with this head. A new file at `bytes`, and each day when `daily`.
    pub fn new(first: PathBuf, header: Header, bytes: Option<u64>, daily: bool) -> Self {
        let begun = header.link.begun_unix_us.filter(|_| daily);
        let day = begun.map(|unix_us| local_day(unix_us, header.link.utc_offset_min));
        Self { first, header, bytes, day, number: 1, not_before: 0 }
    }

    /// The next file, when it is time for it after `heard`. When it cannot be made, the recording goes on in the old one,
    /// and the status says so.
    pub(super) fn next(&mut self, recorder: &Recorder, heard: &Heard) -> Option<Recorder> {
        let large = self.bytes.is_some_and(|bytes| recorder.file_bytes() >= bytes);
        let new_day = self.new_day(heard);
        if !(large || new_day.is_some()) || recorder.file_bytes() < self.not_before {
            return None;
        }
        self.header.part = Some(recorder.next_part(self.number + 1)?);
        let path = self.path(self.number + 1);
        match recorder.next(&path, &self.header) {
            Ok(next) => {
                self.number += 1;
                self.not_before = 0;
                self.day = new_day.or(self.day);
                next.status().set_path(&path);
                Some(next)
            }
            Err(error) => {
                self.not_before = recorder.file_bytes() + TRY_AGAIN;
                recorder.status().set_rotation_trouble(Some(format!("{error} The recording goes on in the old file.")));
                None
            }
        }
    }

    fn new_day(&self, heard: &Heard) -> Option<i64> {
        let Heard::Wall { unix_us, offset_min, .. } = heard else { return None };
        let day = local_day(*unix_us, *offset_min);
        self.day.filter(|before| *before != day).map(|_| day)
    }

    /// `evening.wheeltap` goes on in `evening-part2.wheeltap`.
    fn path(&self, number: u64) -> PathBuf {
        let of = |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
        let stem = of(self.first.file_stem());
        let ending = self.first.extension().map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
        self.first.parent().unwrap_or(Path::new("")).join(format!("{stem}-part{number}{ending}"))
    }
}

fn local_day(unix_us: i64, offset_min: i32) -> i64 {
    (unix_us + i64::from(offset_min) * 60_000_000).div_euclid(DAY_US)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rotation(first: &str, daily: bool) -> Rotation {
        let mut header = Header::default();
        // 2026-05-02T07:30:00Z is a day later than 1777707000 - 86400 s; two hours ahead of UTC.
        header.link.begun_unix_us = Some(1_777_707_000_000_000);
        header.link.utc_offset_min = 120;
        Rotation::new(first.into(), header, None, daily)
    }

    #[test]
    fn names_go_on() {
        assert_eq!(rotation("a/evening.wheeltap", false).path(2), Path::new("a/evening-part2.wheeltap"));
        assert_eq!(rotation("evening", false).path(10), Path::new("evening-part10"));
    }

    #[test]
    fn a_day_changes_at_local_midnight() {
        let wall = |unix_s: i64| Heard::Wall { t_us: 0, unix_us: unix_s * 1_000_000, offset_min: 120 };
        // 2026-05-02T23:59:59+02:00 is 1777759199; one second later it is the third of May.
        assert_eq!(rotation("a", true).new_day(&wall(1_777_759_199)), None);
        assert_eq!(rotation("a", true).new_day(&wall(1_777_759_200)), Some(20_576));
        assert_eq!(rotation("a", false).new_day(&wall(1_777_759_200)), None);
    }
}
