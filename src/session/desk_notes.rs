//! What was appended behind everything else: remarks made at the desk, which are given at the times they speak of, and a
//! rover file that was taught while the session was recorded, which stands for all of it.

use std::io;

use super::line::{Line, parse};
use super::line_reader::{LineReader, Text};

/// The remarks behind the last line that counts for the order of time.
#[derive(Clone, Debug, Default)]
pub(super) struct DeskNotes {
    /// By time; those of one time in the order of the file.
    notes: Vec<(i64, String)>,
    /// The next to be given.
    next: usize,
    /// Byte of the file from which on only such remarks stand; `None` when there is none.
    begin: Option<u64>,
    /// Name and text of the last taught rover file; each of its lines ends in LF.
    taught: Option<(String, String)>,
    /// Lines of one were met whose beginning was not.
    headless: bool,
}

impl DeskNotes {
    /// Reads from byte `from` to the end.
    pub(super) fn from(probe: &mut LineReader, from: u64) -> io::Result<Self> {
        let mut found = Self::default();
        probe.jump(from, None)?;
        while let Some((place, text)) = probe.next_line()? {
            let (Text::Line(text) | Text::Unended(text)) = text else { continue };
            match parse(text) {
                Ok(Line::Note { t_us, text }) => {
                    found.begin.get_or_insert(place.byte);
                    found.notes.push((t_us, text.into_owned()));
                }
                Ok(Line::Taught { name }) => found.taught = Some((name.into_owned(), String::new())),
                Ok(Line::TaughtLine { text }) => match &mut found.taught {
                    Some((_, whole)) => whole.extend([&text, "\n"]),
                    None => found.headless = true,
                },
                // A torn line may have been anything; what stands before it keeps its place in the file.
                other if other.as_ref().map_or(true, |line| line.ordered_us().is_some()) => found = Self::default(),
                _ => {}
            }
        }
        found.notes.sort_by_key(|(t_us, _)| *t_us);
        Ok(found)
    }

    /// Whether the line before the first of them was seen when reading began at `from`.
    pub(super) fn begins_after(&self, from: u64) -> bool {
        !self.headless && self.begin.is_none_or(|begin| begin > from + 1)
    }

    /// Name and text of the rover file that was taught, to the byte.
    pub(super) fn take_taught(&mut self) -> Option<(String, String)> {
        let (name, mut text) = self.taught.take()?;
        // What stands between two lines does not stand behind the last.
        text.pop();
        Some((name, text))
    }

    /// Whether the line at this byte of the file is one of them.
    pub(super) fn holds(&self, byte: u64) -> bool {
        self.begin.is_some_and(|begin| byte >= begin)
    }

    /// The next one whose time comes before an event at `before`; at the end of the file, where that is `None`, any.
    pub(super) fn due(&mut self, before: Option<i64>) -> Option<(i64, String)> {
        let (t_us, text) = self.notes.get(self.next)?;
        if before.is_some_and(|before| *t_us >= before) {
            return None;
        }
        self.next += 1;
        Some((*t_us, text.clone()))
    }

    /// The next one given is the first at `t_us` or after.
    pub(super) fn go_to(&mut self, t_us: i64) {
        self.next = self.notes.partition_point(|(at, _)| *at < t_us);
    }
}
