//! Output without a screen: what is heard, line by line, then findings and a summary.

use std::borrow::Cow;
use std::io::{self, BufWriter, Write};

use wheeltap_parsers::Nanos;

use crate::engine::Engine;
use crate::engine::event::{Event, Happening};
use crate::engine::words::line;
use crate::findings::{Need, NotJudged};
use crate::report::json;
use crate::run::{Failure, Outcome, harmless_lines};

/// How a verb puts out what it hears.
#[derive(Clone, Copy, Debug)]
pub struct Output {
    /// No screen.
    pub headless: bool,
    /// JSON, one object a line.
    pub json: bool,
    /// Ends after so many seconds.
    pub seconds: Option<u64>,
}

/// A stream of lines whose reader may go away: then nothing more is written, and that is no fault.
pub struct Out {
    to: BufWriter<Box<dyn Write>>,
    name: String,
    open: bool,
}

impl Out {
    /// Standard output.
    pub fn stdout() -> Self {
        Self::new(Box::new(io::stdout()), "standard output".to_owned())
    }

    /// Any writer; `name` is for messages.
    pub fn new(to: Box<dyn Write>, name: String) -> Self {
        Self { to: BufWriter::with_capacity(1 << 16, to), name, open: true }
    }

    /// Writes one line or more, made harmless for a terminal; false once the reader has gone away.
    pub fn line(&mut self, text: &str) -> Result<bool, Failure> {
        self.done(|to| writeln!(to, "{}", harmless_lines(text)))
    }

    /// Writes one line of JSON; false once the reader has gone away.
    pub fn json(&mut self, line: &str) -> Result<bool, Failure> {
        self.done(|to| writeln!(to, "{}", harmless_json(line)))
    }

    /// Writes text that brings its own line ends, made harmless line by line; false once the reader has gone away.
    pub fn raw(&mut self, text: &str) -> Result<bool, Failure> {
        let clean = text.split("\r\n").map(harmless_lines).collect::<Vec<_>>().join("\r\n");
        self.done(|to| to.write_all(clean.as_bytes()))
    }

    /// Lets the lines through now; false once the reader has gone away.
    pub fn flush(&mut self) -> Result<bool, Failure> {
        self.done(Write::flush)
    }

    fn done(&mut self, work: impl FnOnce(&mut BufWriter<Box<dyn Write>>) -> io::Result<()>) -> Result<bool, Failure> {
        if self.open {
            match work(&mut self.to) {
                Ok(()) => {}
                Err(error) if error.kind() == io::ErrorKind::BrokenPipe => self.open = false,
                Err(error) => {
                    return Err(Failure::device(format!(
                        "{} cannot be written ({error}). Free some space.",
                        self.name
                    )));
                }
            }
        }
        Ok(self.open)
    }
}

/// A line of JSON has its control characters below 32 escaped; those of 127 to 159 can steer a terminal too.
fn harmless_json(line: &str) -> Cow<'_, str> {
    if !line.contains(char::is_control) {
        return line.into();
    }
    let number = |letter: char| format!("\\u{:04x}", u32::from(letter));
    line.chars().map(|letter| if letter.is_control() { number(letter) } else { letter.to_string() }).collect()
}

/// Prints what the engine says.
pub struct Printer {
    out: Out,
    json: bool,
}

impl Printer {
    /// A printer on standard output.
    pub fn new(json: bool) -> Self {
        Self { out: Out::stdout(), json }
    }

    /// Prints events; false once the reader has gone away.
    pub fn events(&mut self, events: &[Event], rover: Option<&crate::rover::file::RoverFile>) -> Result<bool, Failure> {
        for event in events {
            let text = if self.json {
                json::event(event, rover).map(|line| line.to_string())
            } else {
                (!matches!(event.what, Happening::Leg { .. })).then(|| words(event, rover))
            };
            let there = match text {
                Some(text) if self.json => self.out.json(&text)?,
                Some(text) => self.out.line(&text)?,
                None => true,
            };
            if !there {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Lets the lines through now; false once the reader has gone away.
    pub fn flush(&mut self) -> Result<bool, Failure> {
        self.out.flush()
    }

    /// Prints findings and summary, and says how the check came out.
    pub fn end(&mut self, engine: &Engine) -> Result<Outcome, Failure> {
        let findings = engine.findings();
        if self.json {
            for finding in &findings {
                self.out.json(&json::finding(finding).to_string())?;
            }
            self.out.json(&json::summary(engine).to_string())?;
        } else {
            self.in_words(engine, &findings)?;
        }
        self.out.flush()?;
        Ok(Outcome::of(&findings))
    }

    fn in_words(&mut self, engine: &Engine, findings: &[crate::findings::Finding]) -> Result<(), Failure> {
        let snapshot = engine.snapshot(engine.now());
        self.out.line("")?;
        if findings.is_empty() {
            self.out.line("Findings: none.")?;
        }
        for finding in findings {
            self.out.line(&format!("{}: {}.", finding.severity.id().to_uppercase(), finding.says))?;
            self.out.line(&format!(
                "    where     {}, first at {} s, last at {} s",
                finding.layer.id(),
                seconds(finding.first),
                seconds(finding.last)
            ))?;
            self.out.line(&format!("    not       {}", finding.not))?;
            self.out.line(&format!("    do        {}", finding.what_to_do))?;
            self.out.line(&format!("    check     {}", finding.check_after))?;
        }
        for wire in snapshot.wires.iter().flatten() {
            self.out.line(&format!(
                "Wire {}: {} bytes, {} frames, {} damaged, {} texts, {} noise, {} not kept",
                wire.wire.symbol(),
                wire.bytes,
                wire.frames,
                wire.damaged,
                wire.texts,
                wire.noises,
                wire.lost
            ))?;
        }
        for line in crate::report::times::words(&snapshot.times)
            .into_iter()
            .chain(snapshot.verdict.words())
            .chain(cannot_judge(&snapshot.not_judged))
        {
            self.out.line(&line)?;
        }
        Ok(())
    }
}

/// What cannot be judged, one line for each thing that the link lacks. Without a rover file that is one thing.
fn cannot_judge(rules: &[NotJudged]) -> Vec<String> {
    let (unknown, known): (Vec<_>, Vec<_>) = rules.iter().partition(|rule| rule.lacks.contains(&Need::Meaning));
    let mut groups: Vec<(&[Need], Vec<&str>)> = Vec::new();
    for rule in known {
        match groups.iter_mut().find(|(lacks, _)| *lacks == rule.lacks) {
            Some((_, looks_for)) => looks_for.push(rule.looks_for),
            None => groups.push((&rule.lacks, vec![rule.looks_for])),
        }
    }
    let none = (!unknown.is_empty()).then(|| {
        format!(
            "Cannot be judged without a rover file: {} of the rules. Name one with --rover FILE or NAME.",
            unknown.len()
        )
    });
    let each = groups.into_iter().map(|(lacks, looks_for)| {
        let needs: Vec<&str> = lacks.iter().map(|need| need.says()).collect();
        format!("Cannot be judged on this link: {}. It would need {}.", looks_for.join("; "), needs.join(" and "))
    });
    none.into_iter().chain(each).collect()
}

fn seconds(at: Nanos) -> String {
    format!("{:.3}", at as f64 / 1e9)
}

fn words(event: &Event, rover: Option<&crate::rover::file::RoverFile>) -> String {
    let line = line(event, rover);
    let wire = line.wire.map_or(' ', wheeltap_parsers::Wire::symbol);
    let flags = if line.flags.is_empty() { String::new() } else { format!("  [{}]", line.flags.join(", ")) };
    format!("{:>12} {wire} {:<46} {}{flags}", seconds(line.at), line.raw, line.words).trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_control_character_leaves_in_json() {
        // RFC 8259, section 7: any character may be written as its number.
        assert_eq!(harmless_json("{\"a\":\"x\u{9b}2J\u{7f}\"}"), "{\"a\":\"x\\u009b2J\\u007f\"}");
        assert_eq!(harmless_json("{\"a\":\"caf\u{e9}\"}"), "{\"a\":\"caf\u{e9}\"}");
    }
}
