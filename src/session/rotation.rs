//! Rotation: a recording goes on in a new file at a size, or when the local day changes.
//!
//! Each file is a session of its own: the same head, and a line that says at which time and place it goes on. Session time
//! and places on the wires run through all of them.

use std::path::{Path, PathBuf};

use super::header::Header;
use super::heard::Heard;
use super::record::Recorder;
use super::status::NewPart;
use crate::timing::link::LinkFacts;

/// After a new file could not be made, so many bytes go by before the next try.
const TRY_AGAIN: u64 = 1_000_000;
const DAY_US: i64 = 86_400_000_000;

/// How many byte times of silence on every wire part two orders. *Common practice, no source*: senders that write an order
/// in pieces leave less between them.
const QUIET_BYTES: i64 = 30;
/// The same where the line rate is not known, microseconds.
const QUIET_UNKNOWN_US: i64 = 30_000;

/// When to begin a new file, and what its head says.
///
/// A file that is due goes on until every wire is silent, so that no order is cut in two. The silence has to be certain:
/// longer than a byte can wait in the adapter by `QUIET_BYTES`. From half of [`Rotation::patience`] on a silence counts
/// that only the looks show, and at its end the cut is made wherever the recording stands.
pub struct Rotation {
    first: PathBuf,
    header: Header,
    bytes: Option<u64>,
    /// The local day of the file, in days since 1970, when days count.
    day: Option<i64>,
    /// The local day that has begun since.
    new_day: Option<i64>,
    number: u64,
    not_before: u64,
    /// How long the file was when it was first due.
    due_at: Option<u64>,
    /// When the newest read came at the latest; `None` where bytes were lost since.
    read_us: Option<i64>,
    /// A silence on the wires, and how much longer looks must find nothing for it to be certain; microseconds.
    quiet_us: (i64, i64),
}

impl Rotation {
    /// For a recording whose first file is `first`, with this head. A new file at `bytes`, and each day when `daily`.
    pub fn new(first: PathBuf, header: Header, bytes: Option<u64>, daily: bool) -> Self {
        let begun = header.link.begun_unix_us.filter(|_| daily);
        let day = begun.map(|unix_us| local_day(unix_us, header.link.utc_offset_min));
        let quiet_us = quiet_us(&header.link);
        Self {
            first,
            header,
            bytes,
            day,
            new_day: None,
            number: 1,
            not_before: 0,
            due_at: None,
            read_us: Some(0),
            quiet_us,
        }
    }

    /// By how many bytes a file may grow beyond its size, or its day, until a silence comes; one line may come on top.
    pub fn patience(&self) -> u64 {
        self.bytes.map_or(1_000_000, |bytes| (bytes / 10).clamp(10_000, 1_000_000))
    }

    /// After how long a silence, microseconds, it waits to be told; `None` while the file is not due.
    pub(super) fn waits_for_us(&self, recorder: &Recorder) -> Option<i64> {
        let over = recorder.file_bytes().saturating_sub(self.due_at?);
        let (wires, waiting) = self.quiet_us;
        Some(if over * 2 < self.patience() { wires + waiting } else { wires })
    }

    /// The next file, when it is time for it after `heard`. When it cannot be made, the recording goes on in the old one,
    /// and the status says so.
    pub(super) fn next(&mut self, recorder: &Recorder, heard: &Heard) -> Option<Recorder> {
        self.silent_for(heard);
        self.new_day = self.new_day(heard).or(self.new_day);
        let large = self.bytes.is_some_and(|bytes| recorder.file_bytes() >= bytes);
        if !(large || self.new_day.is_some()) || recorder.file_bytes() < self.not_before {
            return None;
        }
        let due_at = *self.due_at.get_or_insert(recorder.file_bytes());
        let wanted = self.waits_for_us(recorder)?;
        let in_silence = self.read_us.is_some_and(|read_us| heard.t_us() - read_us >= wanted);
        let in_silence = in_silence && matches!(heard, Heard::Tick { .. });
        if !in_silence && recorder.file_bytes() - due_at < self.patience() {
            return None;
        }
        self.begin(recorder, in_silence)
    }

    /// Keeps when the newest read came. Of bytes that were lost it is only known that they came before the next tick.
    fn silent_for(&mut self, heard: &Heard) {
        match heard {
            Heard::Read { t_us, .. } => self.read_us = Some(*t_us),
            Heard::Lost { .. } => self.read_us = None,
            Heard::Tick { t_us } => self.read_us = self.read_us.or(Some(*t_us)),
            _ => {}
        }
    }

    fn begin(&mut self, recorder: &Recorder, in_silence: bool) -> Option<Recorder> {
        let number = self.number + 1;
        self.header.part = Some(recorder.next_part(number)?);
        self.due_at = None;
        let path = part_path(&self.first, number);
        match recorder.next(&path, &self.header) {
            Ok(next) => {
                self.number = number;
                self.not_before = 0;
                self.day = self.new_day.take().or(self.day);
                next.status().goes_on(NewPart { number, path, in_silence });
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
}

/// The file that a recording goes on in as part `number`, from 2, when `first` is its first: `evening.wheeltap` goes on in
/// `evening-part2.wheeltap`.
pub fn part_path(first: &Path, number: u64) -> PathBuf {
    let of = |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
    let stem = of(first.file_stem());
    let ending = first.extension().map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
    first.parent().unwrap_or(Path::new("")).join(format!("{stem}-part{number}{ending}"))
}

/// How long a silence parts two orders on the slowest wire, and the longest that a byte can wait for a look; microseconds.
fn quiet_us(link: &LinkFacts) -> (i64, i64) {
    let byte_us = |rate: u32| 10_000_000 / i64::from(rate.max(1)) + 1;
    let wires = link.wires.iter().flatten();
    let quiet = wires.map(|wire| wire.rate.map_or(QUIET_UNKNOWN_US, |rate| QUIET_BYTES * byte_us(rate))).max();
    (quiet.unwrap_or(QUIET_UNKNOWN_US), link.latency() / 1_000)
}

fn local_day(unix_us: i64, offset_min: i32) -> i64 {
    (unix_us + i64::from(offset_min) * 60_000_000).div_euclid(DAY_US)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
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
        assert_eq!(part_path(Path::new("a/evening.wheeltap"), 2), Path::new("a/evening-part2.wheeltap"));
        assert_eq!(part_path(Path::new("evening"), 10), Path::new("evening-part10"));
    }

    #[test]
    fn a_day_changes_at_local_midnight() {
        let wall = |unix_s: i64| Heard::Wall { t_us: 0, unix_us: unix_s * 1_000_000, offset_min: 120 };
        // 2026-05-02T23:59:59+02:00 is 1777759199; one second later it is the third of May.
        assert_eq!(rotation("a", true).new_day(&wall(1_777_759_199)), None);
        assert_eq!(rotation("a", true).new_day(&wall(1_777_759_200)), Some(20_576));
        assert_eq!(rotation("a", false).new_day(&wall(1_777_759_200)), None);
    }

    /// Bytes that were lost came at any time up to the next tick.
    #[test]
    fn no_silence_is_taken_from_before_a_loss() {
        let folder = tempfile::tempdir().unwrap();
        let first = folder.path().join("a.wheeltap");
        let header = Header::default();
        let mut recorder = Recorder::create(&first, &header).unwrap();
        let mut rotation = Rotation::new(first, header, Some(1), false);
        let wire = wheeltap_parsers::Wire::ToDrive;
        let tick = |t_us| Heard::Tick { t_us };
        let mut cut = |heard: Heard| {
            recorder.keep(&heard);
            rotation.next(&recorder, &heard).is_some()
        };
        assert!(!cut(Heard::Read {
            wire,
            t_us: 1_000_000,
            since_us: 900,
            offset: 0,
            bytes: b"way,".as_slice().into()
        }));
        assert!(!cut(Heard::Lost { wire, t_us: 1_000_500, count: 9 }));
        assert!(!cut(tick(1_500_000)));
        assert!(!cut(tick(1_510_000)));
        assert!(cut(tick(1_500_000 + QUIET_UNKNOWN_US)));
    }
}
