//! The first lines of a session: is it one, is it of a version we know, what does its head say.

use std::io;

use super::header::Header;
use super::line::{Line, parse};
use super::line_reader::{LineReader, Place, Text};
use super::torn::{TornLine, TornLines};
use crate::source::SourceError;

/// The major version that is read.
const MAJOR: u32 = 1;

/// The head, and where the rest begins.
pub(super) struct Head {
    pub(super) header: Header,
    pub(super) body: Place,
    pub(super) whole: u64,
    /// The first damaged line among those of the rover file, in words.
    pub(super) rover_hurt: Option<String>,
}

/// Whether these first bytes of a file are a session's: its first word says so or, where the first line was damaged,
/// its second line is a whole session line.
pub fn looks_like_session(first: &[u8]) -> bool {
    let mut lines = first.split(|&byte| byte == b'\n');
    let opens = lines.next().is_some_and(|line| line.starts_with(b"session "));
    opens || lines.next().is_some_and(|line| parse(line).is_ok_and(|line| !matches!(line, Line::Unknown { .. })))
}

/// Reads up to the first line that is not of the head.
pub(super) fn read_head(name: &str, lines: &mut LineReader, torn: &mut TornLines) -> Result<Head, SourceError> {
    let mut head =
        Head { header: Header::default(), body: Place { line: Some(1), byte: 0 }, whole: 0, rover_hurt: None };
    let mut some_whole = false;
    // A line damaged behind the rover file's first: it is one of its lines if it says so, or another follows.
    let mut hurt: Option<String> = None;
    loop {
        let next = lines.next_line().map_err(|error| unreadable(name, &error))?;
        let Some((place, text)) = next else { break };
        let of_file = matches!(&text, Text::Line(text) | Text::Unended(text) if text.starts_with(b"file "));
        let line = match text {
            Text::Line(text) | Text::Unended(text) => parse(text).map_err(|fault| fault.to_string()),
            Text::TooLong(length) => Err(format!("a line of {length} bytes is too long to be one")),
        };
        match line {
            Ok(line) if head.header.take(&line) => {
                head.whole += 1;
                if matches!(line, Line::File { .. }) {
                    head.rover_hurt = head.rover_hurt.take().or_else(|| hurt.take());
                }
            }
            Ok(_) => {
                some_whole = true;
                lines.put_back();
                break;
            }
            Err(_) if head.whole == 0 && place.line > Some(1) => return Err(not_a_session(name)),
            Err(why) => {
                if head.header.rover.is_some() && hurt.is_none() && head.rover_hurt.is_none() {
                    let line = TornLine { line: place.line, byte: place.byte, why: why.clone() };
                    *(if of_file { &mut head.rover_hurt } else { &mut hurt }) = Some(line.to_string());
                }
                torn.add(place, why);
            }
        }
    }
    head.body = lines.place();
    if head.body.byte == 0 && !some_whole {
        return Err(SourceError::BadFile(format!("{name}: the file is empty. Nothing was recorded into it.")));
    }
    head.header.finish();
    let first_line_torn = torn.listed().first().is_some_and(|torn| torn.byte == 0);
    check_version(name, &head.header, first_line_torn && (some_whole || head.whole > 0))?;
    Ok(head)
}

/// `excused`: the first line was damaged, but a whole session line stands behind it.
fn check_version(name: &str, header: &Header, excused: bool) -> Result<(), SourceError> {
    let Some(version) = &header.version else {
        return if excused { Ok(()) } else { Err(not_a_session(name)) };
    };
    let major = version.split('.').next().and_then(|major| major.parse::<u32>().ok());
    match major {
        Some(major) if major <= MAJOR => Ok(()),
        Some(_) => Err(SourceError::BadFile(format!(
            "{name}: this is a session of version {version}, and this program reads version {MAJOR}. Use a newer wheeltap."
        ))),
        None => {
            Err(SourceError::BadFile(format!("{name}: the first line gives \"{version}\" as version, not a number.")))
        }
    }
}

fn not_a_session(name: &str) -> SourceError {
    SourceError::BadFile(format!(
        "{name}: not a session: no whole session line stands at its beginning. Plain logs and raw bytes can be opened \
         too; check that this is the file you meant."
    ))
}

fn unreadable(name: &str, error: &io::Error) -> SourceError {
    SourceError::Device(format!("{name}: cannot be read ({error}). Check that it is a file you may read."))
}
