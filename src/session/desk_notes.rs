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
    /// Name and text of the last taught rover file that is whole; each of its lines ends in LF.
    taught: Option<(String, String)>,
    /// The one that has not ended yet, and its lines so far.
    open: Option<(String, String, u64)>,
    /// Lines of one were met whose beginning was not.
    headless: bool,
}

impl DeskNotes {
    /// Reads from byte `from` to the end; `counted`: a taught rover file ends in a count of its lines.
    pub(super) fn from(probe: &mut LineReader, from: u64, counted: bool) -> io::Result<Self> {
        let mut found = Self::default();
        probe.jump(from, None)?;
        while let Some((place, text)) = probe.next_line()? {
            let (Text::Line(text) | Text::Unended(text)) = text else { continue };
            match parse(text) {
                Ok(Line::Note { t_us, text }) => {
                    found.begin.get_or_insert(place.byte);
                    found.notes.push((t_us, text.into_owned()));
                }
                Ok(Line::Taught { name }) => {
                    found.leave(counted);
                    found.open = Some((name.into_owned(), String::new(), 0));
                }
                Ok(Line::TaughtLine { text }) => match &mut found.open {
                    Some((_, whole, lines)) => {
                        whole.extend([&text, "\n"]);
                        *lines += 1;
                    }
                    None => found.headless = true,
                },
                Ok(Line::TaughtEnd { lines }) => {
                    let whole = found.open.take().filter(|(_, _, there)| *there == lines);
                    found.taught = whole.map(|(name, text, _)| (name, text)).or(found.taught);
                }
                // A torn line may have been anything; what stands before it keeps its place in the file.
                other if other.as_ref().map_or(true, |line| line.ordered_us().is_some()) => found = Self::default(),
                _ => {}
            }
        }
        found.leave(counted);
        found.notes.sort_by_key(|(t_us, _)| *t_us);
        Ok(found)
    }

    /// What is open goes on no further: it counts where nothing could tell its end.
    fn leave(&mut self, counted: bool) {
        if let Some((name, text, _)) = self.open.take().filter(|_| !counted) {
            self.taught = Some((name, text));
        }
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
