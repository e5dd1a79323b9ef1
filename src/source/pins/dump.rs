//! A value-change dump of four values, as IEEE 1364-2005 has it (clause 18.2): header, scopes, variables, then values.
//!
//! Read as a stream in bounded memory: only the header is kept. Times become picoseconds. Whatever is wrong is said with
//! its line and byte; a word cut off by the end of the file is left out, and [`Dump::loss`] says so.

use std::io::Read;

use super::codes::Codes;
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
    /// A place in it.
    Place(Spot, String),
}

/// A place in a dump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// The line, from 1.
    pub line: u64,
    /// The byte, from 0.
    pub byte: u64,
}

/// What the end of a dump took with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loss {
    /// Where.
    pub spot: Spot,
    /// What, and what to do.
    pub why: String,
    /// Something is missing for certain; otherwise nobody can tell.
    pub sure: bool,
}

/// What a variable's values may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// So many bits.
    Bits(u32),
    Real,
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
    /// By number of the code.
    kinds: Vec<Kind>,
    loss: Option<Loss>,
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
            kinds: Vec::new(),
            loss: None,
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
    pub fn ends_open(&self) -> bool {
        !self.time_last && self.words.unended().is_none()
    }

    /// At the end: what the end took with it, where the dump was cut.
    pub fn loss(&self) -> Option<Loss> {
        let may = || {
            let why = format!(
                "the dump ends with `{}` and no end of a line behind it. If the recorder was cut off there, that word and all \
                 that followed is missing",
                shown(self.words.unended()?)
            );
            Some(Loss { spot: self.spot(), why, sure: false })
        };
        self.loss.clone().or_else(may)
    }

    /// The next time or value; `None` at the end.
    pub fn next(&mut self) -> Result<Option<Step<'_>>, DumpFault> {
        loop {
            let Some(word) = word(&mut self.words)? else { return Ok(None) };
            let Some((first, rest)) = word.split_first() else { continue };
            match first {
                b'#' => {
                    if let Some(time) = self.scale.and_then(|scale| scale.time(rest)) {
                        return self.time(time);
                    }
                    let why = no_time(word);
                    return self.wrong_or_end(&why);
                }
                b'0' | b'1' | b'x' | b'X' | b'z' | b'Z' if !rest.is_empty() => {
                    let (first, code) = (*first, self.codes.get(rest));
                    return self.scalar(code, first);
                }
                b'b' | b'B' => {
                    self.bits.clear();
                    self.bits.extend_from_slice(rest);
                    return self.vector();
                }
                b'r' | b'R' => {
                    let Some(code) = self.code()? else { return Ok(None) };
                    if let Some(Kind::Bits(_)) = self.kinds.get(code as usize) {
                        let why = format!(
                            "a real number for {}, which the header declares as levels. Write the dump anew",
                            self.name(code)
                        );
                        return self.wrong_or_end(&why);
                    }
                }
                b'$' if rest == b"comment" => self.skip_comment()?,
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

    fn time(&mut self, time: Picos) -> Result<Option<Step<'_>>, DumpFault> {
        if self.now.is_some_and(|now| time < now) {
            return self.wrong_or_end("the time lies before the one above. Times of a dump ascend: write it anew");
        }
        (self.now, self.time_last) = (Some(time), true);
        Ok(Some(Step::Time(time)))
    }

    /// A value of one letter. Of a variable of several bits it is a vector written short.
    fn scalar(&mut self, code: Option<u32>, first: u8) -> Result<Option<Step<'_>>, DumpFault> {
        let Some(code) = code else { return self.wrong_or_end(UNDECLARED) };
        self.time_last = false;
        if let Some(Kind::Bits(2..)) = self.kinds.get(code as usize) {
            self.bits.clear();
            self.bits.push(first);
            return Ok(Some(Step::Vector(code, &self.bits)));
        }
        Ok(Some(Step::Scalar(code, Level::of(first).unwrap_or_default())))
    }

    fn vector(&mut self) -> Result<Option<Step<'_>>, DumpFault> {
        if self.bits.is_empty() || self.bits.iter().any(|bit| Level::of(*bit).is_none()) {
            return self.wrong_or_end("a vector has a bit that is none of 0, 1, x and z. Write the dump anew");
        }
        let Some(code) = self.code()? else { return Ok(None) };
        self.time_last = false;
        let width = match self.kinds.get(code as usize) {
            Some(Kind::Bits(width)) => *width as usize,
            _ => usize::MAX,
        };
        // Zeros at the left say nothing.
        let written = self.bits.iter().skip_while(|bit| **bit == b'0').count();
        if written > width {
            let why = format!(
                "a value of {} bits for {}, which has {width} by the header. Write the dump anew",
                self.bits.len(),
                self.name(code)
            );
            return self.wrong_or_end(&why);
        }
        Ok(Some(Step::Vector(code, &self.bits)))
    }

    /// The name of the first signal of this code, for a message.
    fn name(&self, code: u32) -> String {
        let signal = self.signals.iter().find(|signal| signal.code == code);
        signal.map_or_else(|| "a variable".to_owned(), |signal| format!("`{}`", signal.name))
    }

    /// The identifier code behind a vector or a real number; `None` where the dump was cut before it.
    fn code(&mut self) -> Result<Option<u32>, DumpFault> {
        let Some(word) = word(&mut self.words)? else {
            self.cut(self.spot(), "the dump ends with a value and no code behind it");
            return Ok(None);
        };
        match self.codes.get(word) {
            Some(code) => Ok(Some(code)),
            None => self.wrong_or_end(UNDECLARED).map(|_| None),
        }
    }

    /// A fault at the last word; the end when that word was cut off by the end of the stream.
    fn wrong_or_end(&mut self, why: &str) -> Result<Option<Step<'_>>, DumpFault> {
        let Some(word) = self.words.unended() else { return Err(self.wrong(why)) };
        let why = format!("the dump ends inside a word, `{}`", shown(word));
        self.cut(self.spot(), &why);
        Ok(None)
    }

    fn cut(&mut self, spot: Spot, what: &str) {
        let why = format!("{what}. It was cut there: what followed is missing. Copy it anew, or record again");
        self.loss.get_or_insert(Loss { spot, why, sure: true });
    }

    fn spot(&self) -> Spot {
        Spot { line: self.words.line(), byte: self.words.byte() }
    }

    fn wrong(&self, why: &str) -> DumpFault {
        DumpFault::Place(self.spot(), why.to_owned())
    }

    /// Skips to the `$end` of a section of the header.
    fn skip_section(&mut self) -> Result<(), DumpFault> {
        while let Some(word) = word(&mut self.words)? {
            if word == b"$end" {
                return Ok(());
            }
        }
        Ok(())
    }

    /// Skips a comment between values. One that is never closed would take the rest of the dump with it.
    fn skip_comment(&mut self) -> Result<(), DumpFault> {
        const VALUES: [&[u8]; 5] = [b"$comment", b"$dumpall", b"$dumpoff", b"$dumpon", b"$dumpvars"];
        let begun = self.spot();
        let unclosed = "a `$comment` begins here and has no `$end`";
        while let Some(word) = word(&mut self.words)? {
            if word == b"$end" {
                return Ok(());
            }
            if VALUES.contains(&word) {
                let why = format!("{unclosed} before the `{}` in line {}. Close it", shown(word), self.words.line());
                return Err(DumpFault::Place(begun, why));
            }
        }
        let why = format!("{unclosed}, so all that follows it was taken for a comment. Close it");
        self.loss.get_or_insert(Loss { spot: begun, why, sure: true });
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
            match keyword.strip_prefix(MARK).unwrap_or(&keyword) {
                "" => {}
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
        if self.scale.replace(scale).is_some_and(|before| before != scale) {
            return Err(self.wrong(
                "the header states a second `$timescale` that differs from the first, so nobody knows how long its times \
                 are. Keep the one that the recorder used",
            ));
        }
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
        let real = matches!(kind.as_str(), "real" | "realtime");
        let levels = !real && !matches!(kind.as_str(), "event" | "parameter");
        if levels && size == 0 {
            return Err(
                self.wrong(&format!("the size of `{name}` is 0, and no level has no bits. Write the dump anew"))
            );
        }
        // Several variables may share a code; the widest counts.
        let kind = match self.kinds.get(code as usize) {
            Some(Kind::Bits(before)) => Kind::Bits((*before).max(if real { 0 } else { size })),
            _ if real => Kind::Real,
            _ => Kind::Bits(size.max(1)),
        };
        let place = code as usize;
        self.kinds.resize(self.kinds.len().max(place + 1), kind);
        if let Some(known) = self.kinds.get_mut(place) {
            *known = kind;
        }
        if levels {
            let reference = said.get(3..).unwrap_or_default().concat();
            self.signals.extend(bits(scopes, &reference, (size, code), self.words.line()));
        }
        Ok(())
    }
}

/// What some editors put before a text in UTF-8.
const MARK: char = '\u{feff}';

/// Why this word, which begins with `#`, is no time.
fn no_time(word: &[u8]) -> String {
    let shown = shown(word);
    let digits = word.get(1..).unwrap_or_default();
    if digits.is_empty() || digits.iter().any(|digit| !digit.is_ascii_digit()) {
        return format!(
            "`{shown}` is no time: that is `#` and a whole number of the timescale's units. Write the dump anew"
        );
    }
    format!("the time `{shown}` lies beyond 106 days. Cut the dump to the stretch you need")
}

const UNDECLARED: &str = "a value of a variable that the header does not declare. Write the dump anew with its header";

/// The signals of one variable: itself, or each bit of a vector by its index.
fn bits(scopes: &[String], reference: &str, (size, code): (u32, u32), line: u64) -> Vec<Signal> {
    let name = |own: String| scopes.iter().cloned().chain([own]).collect::<Vec<_>>().join(".");
    if size == 1 {
        return vec![Signal { name: name(reference.to_owned()), code, bit: 0, line }];
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
    (0..size).map(|bit| Signal { name: name(format!("{own}[{}]", index(bit))), code, bit, line }).collect()
}

fn word<R: Read>(words: &mut DumpWords<R>) -> Result<Option<&[u8]>, DumpFault> {
    let spot = Spot { line: words.line(), byte: words.byte() };
    words.next().map_err(|fault| match fault {
        WordFault::Io(error) => DumpFault::Io(error),
        WordFault::TooLong => {
            DumpFault::Place(spot, "a word behind this is longer than 1 MiB. This is no value-change dump".to_owned())
        }
    })
}

fn shown(word: &[u8]) -> String {
    String::from_utf8_lossy(word.get(..40).unwrap_or(word)).into_owned()
}

/// The unit of the dump's times: a time is so many picoseconds times `times` / `parts`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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

#[cfg(test)]
mod tests;
