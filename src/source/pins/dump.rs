//! A value-change dump of four values, as IEEE 1364-2005 has it (clause 18.2): header, scopes, variables, then values.
//!
//! Read as a stream in bounded memory: only the header is kept. Times become picoseconds. Whatever is wrong is said with
//! its line; a word cut off by the end of the file is left out.

use std::collections::HashMap;
use std::io::Read;

use super::dump_words::{DumpWords, WordFault};
use super::level::Level;
use super::signal::Signal;

/// Picoseconds since the dump's time 0.
pub type Picos = i64;

/// More variables than this are refused.
const MOST_VARIABLES: usize = 200_000;
/// Of a wider vector no bit is a signal of its own.
const WIDEST: u32 = 64;

/// What comes next in a dump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step<'a> {
    /// From now on it is this late.
    Time(Picos),
    /// A value of one bit, of the variable with this code.
    Scalar(u32, Level),
    /// The bits of a vector as they are written, the last one is bit 0.
    Vector(u32, &'a [u8]),
}

/// Why a dump cannot be read on.
#[derive(Debug)]
pub enum DumpFault {
    /// The stream itself.
    Io(std::io::Error),
    /// The line, what is wrong and what to do.
    Line(u64, String),
}

/// A dump whose header has been read.
pub struct Dump<R> {
    words: DumpWords<R>,
    signals: Vec<Signal>,
    codes: Codes,
    scale: Option<Scale>,
    now: Option<Picos>,
    /// The last thing read was a time, with no value behind it.
    time_last: bool,
    bits: Vec<u8>,
}

impl<R: Read> Dump<R> {
    /// Reads the header.
    pub fn open(from: R) -> Result<Self, DumpFault> {
        let mut dump = Self {
            words: DumpWords::new(from),
            signals: Vec::new(),
            codes: Codes::default(),
            scale: None,
            now: None,
            time_last: false,
            bits: Vec::new(),
        };
        dump.header()?;
        Ok(dump)
    }

    /// Every bit that has a name of its own.
    pub fn signals(&self) -> &[Signal] {
        &self.signals
    }

    /// The step of its times as the header states it, at least one picosecond.
    pub fn unit(&self) -> Picos {
        self.scale.map_or(1, |scale| (scale.times / scale.parts).max(1))
    }

    /// At the end: whether the dump says nothing of how long its last values lasted. It does where a time stands behind
    /// them, and nobody knows where the file was cut.
    pub const fn ends_open(&self) -> bool {
        !self.time_last && !self.words.unended()
    }

    /// The next time or value; `None` at the end.
    pub fn next(&mut self) -> Result<Option<Step<'_>>, DumpFault> {
        loop {
            let Some(word) = word(&mut self.words)? else { return Ok(None) };
            let Some((first, rest)) = word.split_first() else { continue };
            match first {
                b'#' => {
                    let time = self.scale.and_then(|scale| scale.time(rest));
                    return self.time(time);
                }
                b'0' | b'1' | b'x' | b'X' | b'z' | b'Z' if !rest.is_empty() => {
                    let (level, code) = (Level::of(*first).unwrap_or_default(), self.codes.get(rest));
                    return self.scalar(code, level);
                }
                b'b' | b'B' => {
                    self.bits.clear();
                    self.bits.extend_from_slice(rest);
                    return self.vector();
                }
                b'r' | b'R' => {
                    if self.code()?.is_none() {
                        return Ok(None);
                    }
                }
                b'$' if rest == b"comment" => self.skip_section()?,
                b'$' if matches!(rest, b"dumpvars" | b"dumpall" | b"dumpon" | b"dumpoff" | b"end") => {}
                _ => {
                    let shown = shown(word);
                    return self.wrong_or_end(&format!(
                        "`{shown}` is no time, no value and no keyword of a value-change dump. Write the dump anew"
                    ));
                }
            }
        }
    }

    fn time(&mut self, time: Option<Picos>) -> Result<Option<Step<'_>>, DumpFault> {
        let Some(time) = time else {
            return self
                .wrong_or_end("a time is no whole number, or beyond 106 days. Cut the dump to the stretch you need");
        };
        if self.now.is_some_and(|now| time < now) {
            return self.wrong_or_end("the time lies before the one above. Times of a dump ascend: write it anew");
        }
        (self.now, self.time_last) = (Some(time), true);
        Ok(Some(Step::Time(time)))
    }

    fn scalar(&mut self, code: Option<u32>, level: Level) -> Result<Option<Step<'_>>, DumpFault> {
        match code {
            Some(code) => {
                self.time_last = false;
                Ok(Some(Step::Scalar(code, level)))
            }
            None => self.wrong_or_end(UNDECLARED),
        }
    }

    fn vector(&mut self) -> Result<Option<Step<'_>>, DumpFault> {
        if self.bits.is_empty() || self.bits.iter().any(|bit| Level::of(*bit).is_none()) {
            return self.wrong_or_end("a vector has a bit that is none of 0, 1, x and z. Write the dump anew");
        }
        let code = self.code()?;
        self.time_last &= code.is_none();
        Ok(code.map(|code| Step::Vector(code, &self.bits)))
    }

    /// The identifier code behind a vector or a real number; `None` where the dump was cut before it.
    fn code(&mut self) -> Result<Option<u32>, DumpFault> {
        let Some(word) = word(&mut self.words)? else { return Ok(None) };
        match self.codes.get(word) {
            Some(code) => Ok(Some(code)),
            None => self.wrong_or_end(UNDECLARED).map(|_| None),
        }
    }

    /// A fault at the last word; the end when that word was cut off by the end of the stream.
    fn wrong_or_end(&self, why: &str) -> Result<Option<Step<'_>>, DumpFault> {
        if self.words.unended() { Ok(None) } else { Err(self.wrong(why)) }
    }

    fn wrong(&self, why: &str) -> DumpFault {
        DumpFault::Line(self.words.line(), why.to_owned())
    }

    /// Skips to the `$end` of a section.
    fn skip_section(&mut self) -> Result<(), DumpFault> {
        while let Some(word) = word(&mut self.words)? {
            if word == b"$end" {
                return Ok(());
            }
        }
        Ok(())
    }

    /// The words of a section up to its `$end`; only so many are kept.
    fn section(&mut self) -> Result<Vec<String>, DumpFault> {
        const KEPT: usize = 16;
        let mut kept = Vec::new();
        while let Some(word) = word(&mut self.words)? {
            if word == b"$end" {
                return Ok(kept);
            }
            if kept.len() < KEPT {
                kept.push(String::from_utf8_lossy(word).into_owned());
            }
        }
        Err(self.wrong("the dump ends inside its header: `$end` is missing. Write the dump anew"))
    }

    fn header(&mut self) -> Result<(), DumpFault> {
        let mut scopes: Vec<String> = Vec::new();
        loop {
            let Some(keyword) = word(&mut self.words)?.map(shown) else {
                return Err(self.wrong("the dump ends before `$enddefinitions`. Write the dump anew"));
            };
            match keyword.as_str() {
                "$enddefinitions" => return self.definitions_end(),
                "$timescale" => self.timescale()?,
                "$scope" => scopes.push(self.section()?.into_iter().nth(1).unwrap_or_default()),
                "$upscope" => {
                    scopes.pop();
                    self.skip_section()?;
                }
                "$var" => self.variable(&scopes)?,
                "$date" | "$version" | "$comment" => self.skip_section()?,
                _ => {
                    return Err(self.wrong(&format!(
                        "`{keyword}` is no keyword of a dump's header. Write the dump anew in the form of IEEE 1364"
                    )));
                }
            }
            if scopes.len() > 256 {
                return Err(self.wrong("scopes are nested more than 256 deep: `$upscope` is missing somewhere"));
            }
        }
    }

    fn timescale(&mut self) -> Result<(), DumpFault> {
        let said = self.section()?.concat();
        let scale = Scale::of(&said).ok_or_else(|| {
            self.wrong(&format!("the timescale `{said}` is not known. Allowed: 1, 10 or 100 of s, ms, us, ns, ps, fs"))
        })?;
        self.scale = Some(scale);
        Ok(())
    }

    /// The standard has no unit of time that holds where none is stated.
    fn definitions_end(&mut self) -> Result<(), DumpFault> {
        if self.scale.is_none() {
            return Err(self.wrong(
                "the header states no `$timescale`, so nobody knows how long its times are. Write `$timescale 1 ns $end` \
                 before `$enddefinitions`, with the unit that the recorder used",
            ));
        }
        self.skip_section()
    }

    /// `$var wire 1 ! in1 $end`, `$var reg 8 % port [7:0] $end`.
    fn variable(&mut self, scopes: &[String]) -> Result<(), DumpFault> {
        let said = self.section()?;
        let [kind, size, code, name, ..] = said.as_slice() else {
            return Err(self.wrong("a variable needs four words: type, size, code, name. Write the dump anew"));
        };
        let size: u32 = size.parse().map_err(|_| {
            self.wrong(&format!("the size `{size}` of `{name}` is no whole number. Write the dump anew"))
        })?;
        if self.codes.count as usize >= MOST_VARIABLES || self.signals.len() >= MOST_VARIABLES {
            return Err(self.wrong("there are more than 200000 variables. Dump only the scopes you need"));
        }
        let code = self.codes.add(code.as_bytes());
        if !matches!(kind.as_str(), "real" | "realtime" | "event" | "parameter") {
            let reference = said.get(3..).unwrap_or_default().concat();
            self.signals.extend(bits(scopes, &reference, size, code));
        }
        Ok(())
    }
}

const UNDECLARED: &str = "a value of a variable that the header does not declare. Write the dump anew with its header";

/// The signals of one variable: itself, or each bit of a vector by its index.
fn bits(scopes: &[String], reference: &str, size: u32, code: u32) -> Vec<Signal> {
    let name = |own: String| scopes.iter().cloned().chain([own]).collect::<Vec<_>>().join(".");
    if size == 1 {
        return vec![Signal { name: name(reference.to_owned()), code, bit: 0 }];
    }
    if size > WIDEST {
        return Vec::new();
    }
    let (own, range) = reference.split_once('[').unwrap_or((reference, ""));
    let ends = range.trim_end_matches(']').split_once(':');
    let ends = ends.and_then(|(left, right)| Some((left.parse::<i64>().ok()?, right.parse::<i64>().ok()?)));
    let (left, right) = ends.unwrap_or((i64::from(size) - 1, 0));
    let index =
        |bit: u32| if left >= right { right.saturating_add(bit.into()) } else { right.saturating_sub(bit.into()) };
    (0..size).map(|bit| Signal { name: name(format!("{own}[{}]", index(bit))), code, bit }).collect()
}

fn word<R: Read>(words: &mut DumpWords<R>) -> Result<Option<&[u8]>, DumpFault> {
    let line = words.line();
    words.next().map_err(|fault| match fault {
        WordFault::Io(error) => DumpFault::Io(error),
        WordFault::TooLong => {
            DumpFault::Line(line, "a word is longer than 1 MiB. This is no value-change dump".to_owned())
        }
    })
}

fn shown(word: &[u8]) -> String {
    String::from_utf8_lossy(word.get(..40).unwrap_or(word)).into_owned()
}

/// The unit of the dump's times: a time is so many picoseconds times `times` / `parts`.
#[derive(Clone, Copy, Debug)]
struct Scale {
    times: i64,
    parts: i64,
}

impl Scale {
    fn of(said: &str) -> Option<Self> {
        let unit = said.trim_start_matches(|letter: char| letter.is_ascii_digit());
        let number: i64 = said.strip_suffix(unit)?.parse().ok().filter(|number| matches!(number, 1 | 10 | 100))?;
        let (times, parts) = match unit {
            "s" => (1_000_000_000_000, 1),
            "ms" => (1_000_000_000, 1),
            "us" => (1_000_000, 1),
            "ns" => (1_000, 1),
            "ps" => (1, 1),
            "fs" => (1, 1_000),
            _ => return None,
        };
        Some(Self { times: times * number, parts })
    }

    fn time(self, digits: &[u8]) -> Option<Picos> {
        if digits.is_empty() {
            return None;
        }
        let step = |sum: i64, digit: &u8| match digit {
            b'0'..=b'9' => sum.checked_mul(10)?.checked_add(i64::from(digit - b'0')),
            _ => None,
        };
        digits.iter().try_fold(0, step)?.checked_mul(self.times).map(|time| time / self.parts)
    }
}

/// Identifier codes by number. Short ones, by far the most, are looked up in a table.
#[derive(Default)]
struct Codes {
    short: Vec<Option<u32>>,
    long: HashMap<Box<[u8]>, u32>,
    count: u32,
}

impl Codes {
    /// The place in the table of a code of one or two printable characters.
    fn place(code: &[u8]) -> Option<usize> {
        let digit = |byte: u8| matches!(byte, b'!'..=b'~').then(|| usize::from(byte - b'!'));
        match code {
            [one] => digit(*one),
            [one, two] => Some(94 + digit(*one)? * 94 + digit(*two)?),
            _ => None,
        }
    }

    fn get(&self, code: &[u8]) -> Option<u32> {
        match Self::place(code) {
            Some(place) => self.short.get(place).copied().flatten(),
            None => self.long.get(code).copied(),
        }
    }

    /// The number of this code; a new one when it was not known. Several variables may share a code.
    fn add(&mut self, code: &[u8]) -> u32 {
        if let Some(known) = self.get(code) {
            return known;
        }
        let number = self.count;
        self.count += 1;
        match Self::place(code) {
            Some(place) => {
                self.short.resize(self.short.len().max(place + 1), None);
                if let Some(free) = self.short.get_mut(place) {
                    *free = Some(number);
                }
            }
            None => drop(self.long.insert(code.into(), number)),
        }
        number
    }
}

#[cfg(test)]
mod tests;
