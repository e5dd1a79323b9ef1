//! Opens whatever a person names: a session, a plain log, a value-change dump or raw bytes, from a file or from standard input. What it is
//! is told by its first bytes, never by its name.

use std::fs::File;
use std::io::{self, Cursor, Read};
use std::path::Path;

use wheeltap_parsers::Input;

use super::pins::{Asked, PinsSource, STREAM_LOOK, looks_like_dump, looks_like_wide_dump};
use super::plain_log::PlainLog;
use super::raw_bytes::RawBytes;
use super::{Source, SourceError};
use crate::session::SessionSource;
use crate::session::opening::looks_like_session;
use crate::timing::link::LinkFacts;

/// How many first bytes of a file are looked at.
const LOOK: usize = 64 << 10;

/// What the named thing turned out to be.
pub enum Opened {
    /// A session.
    Session(Box<SessionSource>),
    /// A plain log.
    PlainLog(Box<PlainLog>),
    /// Levels of wires and pins.
    Pins(Box<PinsSource>),
    /// Bytes without times.
    RawBytes(Box<RawBytes>),
}

/// Opens `path`, or standard input when it is `-`, as a source.
pub fn open(path: &str) -> Result<Box<dyn Source>, SourceError> {
    Ok(Box::new(recognise(path)?))
}

/// Opens `path`, or standard input when it is `-`, and says what it is.
pub fn recognise(path: &str) -> Result<Opened, SourceError> {
    recognise_with(path, &Asked::default())
}

/// The same; `asked` says which signal is what where it turns out to be a value-change dump.
pub fn recognise_with(path: &str, asked: &Asked) -> Result<Opened, SourceError> {
    if path == "-" { stream("standard input", Box::new(io::stdin()), asked) } else { file(Path::new(path), asked) }
}

/// Opens a stream. Only so many bytes are awaited as are needed to tell what it is.
pub fn stream(name: &str, mut stream: Box<dyn Read + Send>, asked: &Asked) -> Result<Opened, SourceError> {
    let mut first = first_bytes(&mut stream, tells).map_err(|error| unreadable(name, &error))?;
    if first.is_empty() {
        return Err(SourceError::BadFile(format!("{name}: nothing came in. Give it a session, a plain log or bytes.")));
    }
    let kind = Kind::of(&first);
    not_wide(name, &first)?;
    if matches!(kind, Kind::Pins) {
        let rest = STREAM_LOOK.saturating_sub(first.len());
        let more = first_bytes(&mut stream, |more| more.len() >= rest).map_err(|error| unreadable(name, &error))?;
        first.extend_from_slice(&more);
        return Ok(Opened::Pins(Box::new(PinsSource::stream(name, first, stream, asked)?)));
    }
    let whole: Box<dyn Read + Send> = Box::new(Cursor::new(first).chain(stream));
    Ok(match kind {
        Kind::Session => Opened::Session(Box::new(SessionSource::stream(name, whole)?)),
        Kind::PlainLog => Opened::PlainLog(Box::new(PlainLog::stream(name, whole)?)),
        Kind::Pins | Kind::RawBytes => Opened::RawBytes(Box::new(RawBytes::new(name, whole))),
    })
}

fn file(path: &Path, asked: &Asked) -> Result<Opened, SourceError> {
    let name = path.display().to_string();
    let mut file = open_file(path, &name)?;
    let first = first_bytes(&mut file, |first| first.len() >= LOOK).map_err(|error| unreadable(&name, &error))?;
    if first.is_empty() {
        return Err(SourceError::BadFile(format!("{name}: the file is empty. Check that this is the file you meant.")));
    }
    not_wide(&name, &first)?;
    Ok(match Kind::of(&first) {
        Kind::Session => Opened::Session(Box::new(SessionSource::open(path)?)),
        Kind::PlainLog => Opened::PlainLog(Box::new(PlainLog::file(path)?)),
        Kind::Pins => Opened::Pins(Box::new(PinsSource::file(path, asked)?)),
        Kind::RawBytes => Opened::RawBytes(Box::new(RawBytes::new(&name, Box::new(Cursor::new(first).chain(file))))),
    })
}

/// Opens a file to be read from its beginning; a folder or a device is refused. `name` is for messages.
pub fn open_file(path: &Path, name: &str) -> Result<File, SourceError> {
    let data = std::fs::metadata(path).map_err(|error| not_opened(name, &error))?;
    if data.is_dir() {
        return Err(SourceError::BadFile(format!("{name}: this is a folder. Name one of the files in it.")));
    }
    if !data.is_file() {
        return Err(SourceError::BadFile(format!(
            "{name}: this is a device, not a file. To tap a port: `wheeltap listen {name}`."
        )));
    }
    File::open(path).map_err(|error| not_opened(name, &error))
}

fn not_opened(name: &str, error: &io::Error) -> SourceError {
    match error.kind() {
        io::ErrorKind::NotFound => {
            SourceError::BadFile(format!("{name}: there is no such file. Check the name and folder."))
        }
        io::ErrorKind::PermissionDenied => SourceError::Device(format!(
            "{name}: no permission to read it. See who owns it with `ls -l`, and ask them or change its rights."
        )),
        _ => unreadable(name, error),
    }
}

fn unreadable(name: &str, error: &io::Error) -> SourceError {
    SourceError::Device(format!("{name}: cannot be read ({error}). Copy it to a sound disk and try again."))
}

fn first_bytes(from: &mut dyn Read, enough: impl Fn(&[u8]) -> bool) -> io::Result<Vec<u8>> {
    let mut first = Vec::new();
    let mut block = [0; 4096];
    while !enough(&first) {
        match from.read(&mut block) {
            Ok(0) => break,
            Ok(count) => first.extend_from_slice(block.get(..count).unwrap_or_default()),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(first)
}

enum Kind {
    Session,
    PlainLog,
    Pins,
    RawBytes,
}

impl Kind {
    fn of(first: &[u8]) -> Self {
        if looks_like_session(first) {
            Self::Session
        } else if first.iter().find(|&&byte| !is_space(byte)) == Some(&b'{') {
            Self::PlainLog
        } else if looks_like_dump(first) {
            Self::Pins
        } else {
            Self::RawBytes
        }
    }
}

/// Whether so many first bytes of a stream tell what it is. What begins as a dump's command does is told by its whole first
/// word.
fn tells(first: &[u8]) -> bool {
    const LONGEST_COMMAND: usize = 64;
    let text = first.trim_ascii_start();
    let may_be_dump = first.iter().take(4).any(|byte| matches!(byte, b'$' | 0xEF | 0xFE | 0xFF));
    let word_ends = text.iter().any(|&byte| is_space(byte));
    first.len() >= 8 && !text.is_empty() && (!may_be_dump || word_ends || text.len() > LONGEST_COMMAND)
}

/// A dump with two bytes a letter would be read as raw bytes.
fn not_wide(name: &str, first: &[u8]) -> Result<(), SourceError> {
    if !looks_like_wide_dump(first) {
        return Ok(());
    }
    Err(SourceError::BadFile(format!(
        "{name}: this is a value-change dump with two bytes a letter (UTF-16). The standard has one: save it as plain text, \
         ASCII or UTF-8."
    )))
}

fn is_space(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n')
}

impl Opened {
    /// The session, when it is one.
    pub fn session(&self) -> Option<&SessionSource> {
        if let Self::Session(session) = self { Some(session) } else { None }
    }

    /// The session, to be moved about in.
    pub fn session_mut(&mut self) -> Option<&mut SessionSource> {
        if let Self::Session(session) = self { Some(session) } else { None }
    }

    /// The value-change dump, when it is one.
    pub fn pins(&self) -> Option<&PinsSource> {
        if let Self::Pins(pins) = self { Some(pins) } else { None }
    }

    /// The value-change dump, to choose its signals.
    pub fn pins_mut(&mut self) -> Option<&mut PinsSource> {
        if let Self::Pins(pins) = self { Some(pins) } else { None }
    }

    fn source(&self) -> &dyn Source {
        match self {
            Self::Session(session) => &**session,
            Self::PlainLog(log) => &**log,
            Self::Pins(pins) => &**pins,
            Self::RawBytes(bytes) => &**bytes,
        }
    }
}

impl Source for Opened {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        match self {
            Self::Session(session) => session.next(),
            Self::PlainLog(log) => log.next(),
            Self::Pins(pins) => pins.next(),
            Self::RawBytes(bytes) => bytes.next(),
        }
    }

    fn link(&self) -> &LinkFacts {
        self.source().link()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn message(path: &Path) -> String {
        recognise(path.to_str().unwrap()).err().map(|error| error.to_string()).unwrap_or_default()
    }

    fn kind(bytes: &'static [u8]) -> &'static str {
        match stream("test", Box::new(bytes), &Asked::default()) {
            Ok(Opened::Session(_)) => "session",
            Ok(Opened::PlainLog(_)) => "plain log",
            Ok(Opened::Pins(_)) => "pins",
            Ok(Opened::RawBytes(_)) => "raw bytes",
            Err(_) => "refused",
        }
    }

    #[test]
    fn the_first_bytes_tell_what_it_is() {
        // The session line is line 1 of tests/golden/session-lines.txt.
        assert_eq!(kind(b"session 1.0 wheeltap 0.1.0 2026-05-02T09:30:00.250000+02:00 89837B8F\n"), "session");
        assert_eq!(kind(b" \n{\"t_us\":1,\"wire\":\">\",\"hex\":\"41\"}\n"), "plain log");
        assert_eq!(kind(b"x=1.5\nx=1.6\n"), "raw bytes");
        assert_eq!(kind(b"\xAA\x08"), "raw bytes");
        assert_eq!(kind(b" $timescale 1 ns $end $enddefinitions $end #0 "), "pins");
        assert_eq!(kind(b"$date $end\n$var"), "refused");
        assert_eq!(kind(b"\xEF\xBB\xBF$timescale 1 ns $end $enddefinitions $end #0 "), "pins");
        assert_eq!(kind(b"\xFF\xFE$\0d\0a\0t\0e\0 \0x\0"), "refused");
        assert_eq!(kind(b"\0$\0d\0a\0t\0e\0 \0x"), "refused");
        assert_eq!(kind(b"\xFF\xFE\x01\x02\0\0\0\0"), "raw bytes");
        assert_eq!(kind(b"$varied,1,2\n"), "raw bytes");
        assert_eq!(kind(b""), "refused");
        assert_eq!(kind(b"session of the club\nbring cake\n"), "refused");
    }

    #[test]
    fn what_cannot_be_opened_is_said_with_its_name_and_the_next_step() {
        let folder = tempfile::tempdir().unwrap();
        let empty = folder.path().join("empty");
        std::fs::write(&empty, b"").unwrap();
        for (path, words) in [
            (folder.path().to_owned(), "this is a folder. Name one"),
            (folder.path().join("none"), "there is no such file. Check"),
            (empty, "the file is empty. Check"),
            ("/dev/null".into(), "wheeltap listen"),
        ] {
            let message = message(&path);
            assert!(message.contains(words) && message.starts_with(path.to_str().unwrap()), "{message}");
        }
    }

    #[test]
    fn raw_bytes_keep_every_byte() {
        let bytes: Vec<u8> = (0..200_000u32).map(|n| (n % 251) as u8 + 1).collect();
        let mut source = stream("test", Box::new(Cursor::new(bytes.clone())), &Asked::default()).unwrap();
        let mut got = Vec::new();
        while let Some(input) = source.next().unwrap() {
            let Input::Chunk(chunk) = input else { panic!("only chunks: {input:?}") };
            assert_eq!((chunk.offset, chunk.lo, chunk.hi, chunk.byte_ns), (got.len() as u64, 0, 0, 0));
            got.extend_from_slice(chunk.bytes);
        }
        assert_eq!(got, bytes);
    }
}
