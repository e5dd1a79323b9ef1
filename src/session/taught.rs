//! A rover file that was made while the session was recorded: how it stands in the file, and how it is found again.
//!
//! It is written when it is put in force and again and again, so that the end of a file always holds it, whatever ended the
//! recording. It stands for the whole session.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

use super::line::{Line, parse};

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
    lines
}

/// Name and text of the last one that is whole near the end of `file`, to the byte; `body` is where the head ends.
pub(super) fn near_the_end(mut file: File, body: u64) -> io::Result<Option<(String, String)>> {
    let from = file.metadata()?.len().saturating_sub(SEARCHED).max(body.saturating_sub(1));
    file.seek(SeekFrom::Start(from))?;
    let mut end = Vec::new();
    file.take(SEARCHED).read_to_end(&mut end)?;
    Ok(last_whole(&end))
}

fn last_whole(mut end: &[u8]) -> Option<(String, String)> {
    loop {
        let at = memchr::memmem::rfind(end, BEGINS)?;
        if let Some(found) = whole(end.get(at + 1..)?) {
            return Some(found);
        }
        end = end.get(..at)?;
    }
}

/// The one that begins here. Whether all of it is there, only a whole line behind it can tell.
fn whole(text: &[u8]) -> Option<(String, String)> {
    let mut lines = text.split(|byte| *byte == b'\n').map(parse);
    let Ok(Line::Taught { name }) = lines.next()? else { return None };
    let mut all: Vec<String> = Vec::new();
    loop {
        match lines.next()?.ok()? {
            Line::TaughtLine { text } => all.push(text.into_owned()),
            _ => return Some((name.into_owned(), all.join("\n"))),
        }
    }
}
