//! The verbs: each joins a source, the engine, and a screen or a stream of lines.
//!
//! Clocks, threads, the terminal and signals live here and in `source`; everything below takes time as an argument.

pub mod bundle;
pub mod compare;
mod damaged_lines;
pub mod decode;
pub mod demo;
pub mod diagnose;
pub mod export;
#[cfg(unix)]
mod find_rate;
pub mod headless;
mod keyboard;
mod lesson_desk;
pub mod listen;
mod live;
pub mod new;
mod new_file;
mod player;
pub mod ports;
pub mod publish;
mod read_again;
mod recorder_news;
pub mod replay;
mod rover_choice;
mod screen;
mod signals;
pub mod signals_choice;
pub mod simulate;
pub mod teach;
mod terminal;

use std::io::Write;

use crate::engine::words::harmless;
use crate::findings::{Finding, Severity};
use crate::source::SourceError;

/// Says something on standard error. What others wrote, a file's name too, is made harmless for a terminal.
pub fn tell(text: impl AsRef<str>) {
    // With standard error closed or full there is nobody to tell, and that must not end the program.
    drop(writeln!(std::io::stderr(), "{}", harmless_lines(text.as_ref())));
}

/// Each line made harmless.
fn harmless_lines(text: &str) -> String {
    text.split('\n').map(|line| harmless(line.as_bytes())).collect::<Vec<_>>().join("\n")
}

/// How a verb ended well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing to complain of.
    Fine,
    /// A check found a danger or a fault.
    FaultsFound,
}

impl Outcome {
    /// Its exit code.
    pub const fn code(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::FaultsFound => 1,
        }
    }

    /// The outcome of a check with these findings.
    pub fn of(findings: &[Finding]) -> Self {
        let bad = findings.iter().any(|finding| finding.severity <= Severity::Fault);
        if bad { Self::FaultsFound } else { Self::Fine }
    }
}

/// How a verb failed: its exit code, and what happened, where, and what to do next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// 2 for usage or a bad file, 3 for a device or I/O.
    pub code: u8,
    /// For the person.
    pub message: String,
}

impl Failure {
    /// Usage or a bad file.
    pub fn usage(message: impl Into<String>) -> Self {
        Self { code: 2, message: message.into() }
    }

    /// A device or the system.
    pub fn device(message: impl Into<String>) -> Self {
        Self { code: 3, message: message.into() }
    }
}

impl From<SourceError> for Failure {
    fn from(error: SourceError) -> Self {
        match error {
            SourceError::BadFile(message) => Self::usage(message),
            SourceError::Device(message) => Self::device(message),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_others_wrote_cannot_steer_a_terminal() {
        assert_eq!(harmless_lines("no\u{1b}[31m\r:\n  caf\u{e9} \u{9b}2J"), "no\\1B[31m\\0D:\n  caf\u{e9} \\C2\\9B2J");
    }
}
