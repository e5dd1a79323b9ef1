//! Recorders to try judges on: the real one behind a trait, and some that are known to be bad.
#![allow(clippy::unwrap_used)]

use std::io;
use std::path::Path;
use std::sync::Arc;

use wheeltap::session::disk::Disk;
use wheeltap::session::{Heard, Line, Recorder};
use wheeltap_parsers::Wire;

use super::heard::header;

/// What is judged: ours, and bad ones.
pub trait Keeps {
    fn keep(&mut self, heard: &Heard);
    fn close(self: Box<Self>);
}

impl Keeps for Recorder {
    fn keep(&mut self, heard: &Heard) {
        Recorder::keep(self, heard);
    }

    fn close(self: Box<Self>) {
        Recorder::close(*self);
    }
}

pub type Make = fn(Arc<dyn Disk>) -> Box<dyn Keeps>;

/// The real one.
pub fn ours(disk: Arc<dyn Disk>) -> Box<dyn Keeps> {
    Box::new(Recorder::on(disk, Path::new("test.session"), &header()).unwrap())
}

/// How the bad recorders are bad.
#[derive(Clone, Copy, PartialEq)]
pub enum Fault {
    /// Not at all: the control, which must pass.
    None,
    /// Gathers lines and writes them together, so that a sync does not reach the last ones.
    Gathers,
    /// Goes on after a write that fell short as if nothing had been.
    LeavesTorn,
    /// Drops what could not be written without a word.
    KeepsSilent,
}

/// A recorder with one of them.
pub struct Bad {
    disk: Arc<dyn Disk>,
    fault: Fault,
    gathered: Vec<u8>,
    unsaid: [u64; 2],
    torn: bool,
}

impl Bad {
    /// A bad recorder with a session begun.
    pub fn make(disk: Arc<dyn Disk>, fault: Fault) -> Box<dyn Keeps> {
        let mut bad = Self { disk, fault, gathered: Vec::new(), unsaid: [0; 2], torn: false };
        for line in header().lines() {
            bad.line(&line);
        }
        bad.flush();
        Box::new(bad)
    }

    fn line(&mut self, line: &Line<'_>) -> bool {
        let mut text = Vec::new();
        if self.torn && self.fault != Fault::LeavesTorn {
            text.push(b'\n');
        }
        line.write(&mut text);
        if self.fault == Fault::Gathers {
            self.gathered.extend(text);
            return self.gathered.len() < 4096 || self.flush();
        }
        let written = loop {
            match self.disk.write(&text) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => break other.unwrap_or(0),
            }
        };
        self.torn = if written == 0 { self.torn } else { written < text.len() };
        // A line that lacks nothing but its LF is whole.
        written + 1 >= text.len() || self.fault == Fault::LeavesTorn
    }

    /// Tries until all is written, as a good buffer would.
    fn flush(&mut self) -> bool {
        while !self.gathered.is_empty() {
            let written = self.disk.write(&self.gathered).unwrap_or(0);
            self.gathered.drain(..written);
        }
        true
    }
}

impl Keeps for Bad {
    fn keep(&mut self, heard: &Heard) {
        // What is missing is said before anything else is written, or nothing is.
        let mut clear = true;
        for wire in Wire::BOTH {
            let count = self.unsaid[wire.index()];
            if clear && count > 0 {
                clear = self.line(&Line::Lost { t_us: heard.t_us(), wire, count });
                self.unsaid[wire.index()] = if clear { 0 } else { count };
            }
        }
        let whole = clear && self.line(&heard.line());
        if let (false, Some((wire, count)), true) = (whole, heard.received(), self.fault != Fault::KeepsSilent) {
            self.unsaid[wire.index()] += count;
        }
    }

    fn close(mut self: Box<Self>) {
        self.flush();
    }
}
