//! A rover file that was made while the session was recorded: how it stands in the file, and how it is found again.
//!
//! It is written when it is put in force and again and again, so that the end of a file always holds it, whatever ended the
//! recording. It stands for the whole session.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

use super::line::{Line, parse};
use super::line_reader::Place;
use super::torn::TornLines;

/// How many bytes of the file go by before it is written again.
pub(super) const EVERY: u64 = 1 << 20;

/// How much of the end of a file is searched: two such stretches, for the last one may have been hit, and room for itself.
const SEARCHED: u64 = 2 * EVERY + (256 << 10);

/// What each begins with, the end of the line before it among it.
const BEGINS: &[u8] = b"\ntaught ";

/// Its lines, as they stand in the file.
pub(super) fn lines<'a>(name: &'a str, text: &'a str) -> Vec<Line<'a>> {
    let mut lines = vec![Line::Taught { name: name.into() }];
    lines.extend(text.split('\n').map(|text| Line::TaughtLine { text: text.into() }));
    lines.push(Line::TaughtEnd { lines: lines.len() as u64 - 1 });
    lines
}

/// Name and text of the last one that is whole near the end of `file`, to the byte; `body` is where the head ends, `counted`
/// whether each ends in a count of its lines.
pub(super) fn near_the_end(mut file: File, body: u64, counted: bool) -> io::Result<Option<(String, String)>> {
    let from = file.metadata()?.len().saturating_sub(SEARCHED).max(body.saturating_sub(1));
    file.seek(SeekFrom::Start(from))?;
    let mut end = Vec::new();
    file.take(SEARCHED).read_to_end(&mut end)?;
    Ok(last_whole(&end, counted))
}

fn last_whole(mut end: &[u8], counted: bool) -> Option<(String, String)> {
    loop {
        let at = memchr::memmem::rfind(end, BEGINS)?;
        if let Some(found) = whole(end.get(at + 1..)?, counted) {
            return Some(found);
        }
        end = end.get(..at)?;
    }
}

/// The one that begins here, where all of it is there: by its own count or, in a file that has none, by a whole line behind
/// it.
fn whole(text: &[u8], counted: bool) -> Option<(String, String)> {
    let mut lines = text.split(|byte| *byte == b'\n').map(parse);
    let Ok(Line::Taught { name }) = lines.next()? else { return None };
    let mut all: Vec<String> = Vec::new();
    loop {
        let whole = match lines.next()?.ok()? {
            Line::TaughtLine { text } => {
                all.push(text.into_owned());
                continue;
            }
            Line::TaughtEnd { lines } => lines == all.len() as u64,
            _ => !counted,
        };
        return whole.then(|| (name.into_owned(), all.join("\n")));
    }
}

/// Counts the lines of each taught rover file that goes by, so that one in which whole lines are missing is named.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Count {
    /// Where the one that has not ended begins, and its lines so far.
    open: Option<(Place, u64)>,
}

impl Count {
    /// A line of a taught rover file stands at `place`; `counted`: each ends in a count.
    pub(super) fn take(&mut self, place: Place, line: Piece, counted: bool, torn: &mut TornLines) {
        match line {
            Piece::Begins => {
                self.close(counted, torn);
                self.open = Some((place, 0));
            }
            Piece::Line => {
                if self.open.is_none() && counted {
                    torn.add(place, "the beginning of this taught rover file is missing".to_owned());
                }
                self.open.get_or_insert((place, 0)).1 += 1;
            }
            Piece::Ends(lines) => {
                let there = self.open.take().map_or(0, |(_, there)| there);
                if there != lines {
                    torn.add(place, format!("the taught rover file before it has {lines} lines, {there} stand there"));
                }
            }
        }
    }

    /// No more of it comes: the file ends, or another begins.
    pub(super) fn close(&mut self, counted: bool, torn: &mut TornLines) {
        if let Some((place, _)) = self.open.take()
            && counted
        {
            torn.add(place, "the end of the taught rover file that begins here is missing".to_owned());
        }
    }
}

/// A line of a taught rover file, without what stands in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Piece {
    Begins,
    Line,
    Ends(u64),
}

impl Piece {
    pub(super) fn of(line: &Line<'_>) -> Option<Self> {
        match line {
            Line::Taught { .. } => Some(Self::Begins),
            Line::TaughtLine { .. } => Some(Self::Line),
            Line::TaughtEnd { lines } => Some(Self::Ends(*lines)),
            _ => None,
        }
    }
}
