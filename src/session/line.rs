//! One line of a session: its kinds, how it is written, how it is read. The grammar stands in [`crate::session`].

use std::borrow::Cow;

use thiserror::Error;
use wheeltap_parsers::Wire;

use super::escape::{self, Spaces};
use super::fields::Fields;
use super::sum;

/// The version of the format that is written.
pub const VERSION: &str = "1.3";

/// The largest time that can stand in a line, microseconds (73 years): sums of a few such times in nanoseconds fit.
pub const LARGEST_US: i64 = i64::MAX / 4_000;

/// One line of a session. Times are microseconds since the session began.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line<'a> {
    /// First line.
    Session {
        /// Version of the format, major and minor.
        version: Cow<'a, str>,
        /// The program that wrote it.
        program: Cow<'a, str>,
        /// The version of that program.
        program_version: Cow<'a, str>,
        /// Wall clock at time 0, RFC 3339 with offset; `-` when not known.
        wall: Cow<'a, str>,
    },
    /// The file goes on from another, or is a part of one.
    Part {
        /// Which one, from 1.
        number: u64,
        /// Session time at which it begins.
        t_us: i64,
        /// Bytes of each wire before it, by [`Wire::index`].
        offsets: [u64; 2],
    },
    /// What the file shows, for a person.
    About {
        /// One sentence or more.
        text: Cow<'a, str>,
    },
    /// How one wire is listened to.
    Link {
        /// The wire.
        wire: Wire,
        /// Baud; `None` when not known.
        rate: Option<u32>,
        /// Such as `8N1`.
        settings: Cow<'a, str>,
        /// Adapter latency, microseconds.
        latency_us: i64,
        /// Port or file.
        port: Cow<'a, str>,
    },
    /// A rover file follows.
    Rover {
        /// Its name.
        name: Cow<'a, str>,
    },
    /// One line of the rover file.
    File {
        /// The line without its end.
        text: Cow<'a, str>,
    },
    /// One read.
    Read {
        /// The wire.
        wire: Wire,
        /// When the read returned.
        t_us: i64,
        /// How long before that nothing was waiting.
        since_us: i64,
        /// Bytes of this wire before it.
        offset: u64,
        /// The bytes.
        bytes: Cow<'a, [u8]>,
    },
    /// Nothing more was waiting at this time.
    Tick {
        /// When.
        t_us: i64,
    },
    /// A person's remark.
    Note {
        /// The time it speaks of.
        t_us: i64,
        /// What it says.
        text: Cow<'a, str>,
    },
    /// The port went away.
    Gone {
        /// When that was noticed.
        t_us: i64,
        /// The wire.
        wire: Wire,
        /// What the system said.
        reason: Cow<'a, str>,
    },
    /// The port is back.
    Back {
        /// When it could be read again.
        t_us: i64,
        /// The wire.
        wire: Wire,
    },
    /// Bytes were received but could not be kept.
    Lost {
        /// When the first of them may have come; in files before 1.3 when that was noticed.
        t_us: i64,
        /// The wire.
        wire: Wire,
        /// How many.
        count: u64,
    },
    /// Where the wall clock stood.
    Wall {
        /// When.
        t_us: i64,
        /// RFC 3339 with offset.
        wall: Cow<'a, str>,
    },
    /// The recorder closed the file.
    End {
        /// When.
        t_us: i64,
        /// Lines before this one.
        records: u64,
        /// Bytes kept, by [`Wire::index`].
        bytes: [u64; 2],
    },
    /// A rover file that was made while this was recorded follows; it stands for the whole session.
    Taught {
        /// Its name.
        name: Cow<'a, str>,
    },
    /// One line of a taught rover file.
    TaughtLine {
        /// The line without its end.
        text: Cow<'a, str>,
    },
    /// A taught rover file ends here.
    TaughtEnd {
        /// How many lines it has.
        lines: u64,
    },
    /// A whole line of a kind this version does not know.
    Unknown {
        /// Its first word.
        word: Cow<'a, str>,
    },
}

/// Why a line cannot be taken as it stands.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Fault {
    /// It does not end in a space and eight upper-case hex digits.
    #[error("the line is torn: it does not end in its check of eight hex digits")]
    NoCheck,
    /// It was altered after it was written.
    #[error("the line was altered: its check says {stated:08X}, its text gives {computed:08X}")]
    BadCheck {
        /// What the line says.
        stated: u32,
        /// What its text gives.
        computed: u32,
    },
    /// The check is right but a field is not: written by a faulty program.
    #[error("the field \"{0}\" is missing or is not what the format allows")]
    Field(&'static str),
    /// The check is right but more stands behind the last field.
    #[error("more fields than this kind of line has")]
    TooMany,
}

impl Line<'_> {
    /// The time of the line, microseconds; `None` for header lines and unknown ones.
    pub fn t_us(&self) -> Option<i64> {
        match self {
            Self::Read { t_us, .. }
            | Self::Tick { t_us }
            | Self::Note { t_us, .. }
            | Self::Gone { t_us, .. }
            | Self::Back { t_us, .. }
            | Self::Lost { t_us, .. }
            | Self::Wall { t_us, .. }
            | Self::End { t_us, .. } => Some(*t_us),
            _ => None,
        }
    }

    /// The time, where it takes part in the order of the file: every timed line but a note, which may speak of the past.
    pub fn ordered_us(&self) -> Option<i64> {
        if matches!(self, Self::Note { .. }) { None } else { self.t_us() }
    }

    /// Appends the whole line with its check and its LF.
    pub fn write(&self, out: &mut Vec<u8>) {
        let start = out.len();
        self.write_fields(out);
        let check = crc32c::crc32c(out.get(start..).unwrap_or_default());
        out.extend(format!(" {check:08X}\n").as_bytes());
    }

    fn write_fields(&self, out: &mut Vec<u8>) {
        match self {
            Self::Session { version, program, program_version, wall } => {
                out.extend(b"session");
                for field in [version, program, program_version] {
                    word(out, field);
                }
                last(out, wall.as_bytes());
            }
            Self::Link { wire, rate, settings, latency_us, port } => {
                let rate = rate.map_or_else(|| "-".to_owned(), |rate| rate.to_string());
                plain(out, &format!("link {} {rate}", wire.symbol()));
                word(out, settings);
                plain(out, &format!(" {latency_us}"));
                last(out, port.as_bytes());
            }
            Self::Part { number, t_us, offsets: [to_drive, from_drive] } => {
                plain(out, &format!("part {number} {t_us} {to_drive} {from_drive}"));
            }
            Self::About { text } => text_line(out, "about", text),
            Self::Rover { name } => text_line(out, "rover", name),
            Self::File { text } => text_line(out, "file", text),
            Self::Taught { name } => text_line(out, "taught", name),
            Self::TaughtLine { text } => text_line(out, "taught-line", text),
            Self::TaughtEnd { lines } => plain(out, &format!("taught-end {lines}")),
            Self::Read { wire, t_us, since_us, offset, bytes } => {
                plain(out, &format!("{} {t_us} {since_us} {offset}", wire.symbol()));
                last(out, bytes);
            }
            _ => self.write_event(out),
        }
    }

    fn write_event(&self, out: &mut Vec<u8>) {
        match self {
            Self::Tick { t_us } => plain(out, &format!("tick {t_us}")),
            Self::Note { t_us, text } => text_line(out, &format!("note {t_us}"), text),
            Self::Gone { t_us, wire, reason } => text_line(out, &format!("gone {t_us} {}", wire.symbol()), reason),
            Self::Back { t_us, wire } => plain(out, &format!("back {t_us} {}", wire.symbol())),
            Self::Lost { t_us, wire, count } => plain(out, &format!("lost {t_us} {} {count}", wire.symbol())),
            Self::Wall { t_us, wall } => text_line(out, &format!("wall {t_us}"), wall),
            Self::End { t_us, records, bytes: [to_drive, from_drive] } => {
                plain(out, &format!("end {t_us} {records} {to_drive} {from_drive}"));
            }
            // Lines of a kind we do not know are never written; the word alone keeps the form.
            Self::Unknown { word } => escape::write(word.as_bytes(), Spaces::Escaped, out),
            _ => {}
        }
    }
}

fn plain(out: &mut Vec<u8>, text: &str) {
    out.extend(text.as_bytes());
}

fn word(out: &mut Vec<u8>, text: &str) {
    out.push(b' ');
    escape::write(text.as_bytes(), Spaces::Escaped, out);
}

fn last(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b' ');
    escape::write(bytes, Spaces::Plain, out);
}

fn text_line(out: &mut Vec<u8>, before: &str, text: &str) {
    plain(out, before);
    last(out, text.as_bytes());
}

/// Reads one line, given without its LF. Never panics, whatever the bytes.
pub fn parse(line: &[u8]) -> Result<Line<'_>, Fault> {
    let body = checked(line)?;
    let mut fields = Fields::new(body);
    let line = match fields.first() {
        b"session" => session(&mut fields),
        b"part" => part(&mut fields),
        b"about" => Ok(Line::About { text: fields.last_text("text")? }),
        b"link" => link(&mut fields),
        b"rover" => Ok(Line::Rover { name: fields.last_text("file name")? }),
        b"file" => Ok(Line::File { text: fields.last_text("line of the rover file")? }),
        b"taught" => Ok(Line::Taught { name: fields.last_text("file name")? }),
        b"taught-end" => Ok(Line::TaughtEnd { lines: fields.number("lines")? }),
        b"taught-line" => Ok(Line::TaughtLine { text: fields.last_text("line of the rover file")? }),
        b">" => read(Wire::ToDrive, &mut fields),
        b"<" => read(Wire::FromDrive, &mut fields),
        word => event(word, &mut fields),
    }?;
    if fields.is_empty() || matches!(line, Line::Unknown { .. }) { Ok(line) } else { Err(Fault::TooMany) }
}

/// The line without its check, when the check is right.
#[inline]
pub(super) fn checked(line: &[u8]) -> Result<&[u8], Fault> {
    let (body, digits) = line.split_last_chunk::<8>().ok_or(Fault::NoCheck)?;
    let Some((b' ', body)) = body.split_last() else { return Err(Fault::NoCheck) };
    let computed = sum::sum(body);
    if *digits == sum::digits(computed) {
        return Ok(body);
    }
    let stated = escape::eight_digits(*digits).ok_or(Fault::NoCheck)?;
    Err(Fault::BadCheck { stated, computed })
}

fn session<'a>(fields: &mut Fields<'a>) -> Result<Line<'a>, Fault> {
    Ok(Line::Session {
        version: fields.word("version")?,
        program: fields.word("program")?,
        program_version: fields.word("program version")?,
        wall: fields.last_text("wall clock")?,
    })
}

fn part<'a>(fields: &mut Fields<'a>) -> Result<Line<'a>, Fault> {
    Ok(Line::Part {
        number: fields.number("number")?,
        t_us: fields.time("time")?,
        offsets: [fields.number("bytes >")?, fields.number("bytes <")?],
    })
}

fn link<'a>(fields: &mut Fields<'a>) -> Result<Line<'a>, Fault> {
    Ok(Line::Link {
        wire: fields.wire()?,
        rate: fields.rate()?,
        settings: fields.word("settings")?,
        latency_us: fields.time("latency")?,
        port: fields.last_text("port")?,
    })
}

fn read<'a>(wire: Wire, fields: &mut Fields<'a>) -> Result<Line<'a>, Fault> {
    Ok(Line::Read {
        wire,
        t_us: fields.time("time")?,
        since_us: fields.time("time since nothing was waiting")?,
        offset: fields.number("offset")?,
        bytes: fields.last_bytes("bytes")?,
    })
}

fn event<'a>(word: &'a [u8], fields: &mut Fields<'a>) -> Result<Line<'a>, Fault> {
    Ok(match word {
        b"tick" => Line::Tick { t_us: fields.time("time")? },
        b"note" => Line::Note { t_us: fields.time("time")?, text: fields.last_text("text")? },
        b"gone" => Line::Gone { t_us: fields.time("time")?, wire: fields.wire()?, reason: fields.last_text("reason")? },
        b"back" => Line::Back { t_us: fields.time("time")?, wire: fields.wire()? },
        b"lost" => Line::Lost { t_us: fields.time("time")?, wire: fields.wire()?, count: fields.number("count")? },
        b"wall" => Line::Wall { t_us: fields.time("time")?, wall: fields.last_text("wall clock")? },
        b"end" => Line::End {
            t_us: fields.time("time")?,
            records: fields.number("records")?,
            bytes: [fields.number("bytes >")?, fields.number("bytes <")?],
        },
        _ => Line::Unknown { word: String::from_utf8_lossy(word) },
    })
}
