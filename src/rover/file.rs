//! The rover file: one TOML file describes one rover. A wrong file gets every fault at once.
//!
//! The commented files in `rover/files/` are the worked examples; `wheeltap new FILE --like NAME` writes one out.

mod fields;
mod format;
mod frames;
mod framing;
mod guesses;
mod layout;
mod machine;
mod meaning;
mod walk;

use std::sync::Arc;

use toml::de::DeTable;
use wheeltap_parsers::{Nanos, Profile, Wire};

use crate::rover::guesses::Guesses;
use crate::rover::machine::Machine;
use crate::rover::meaning::Meaning;
pub use walk::Fault;
use walk::{Faults, Table};

/// A rover file, checked and ready.
#[derive(Clone, Debug)]
pub struct RoverFile {
    /// The file's name, for messages.
    pub file: String,
    /// The file's text, as it goes into a session.
    pub text: String,
    /// The rover's name.
    pub name: String,
    /// The file's own version, as the person wrote it.
    pub version: String,
    /// Names of the command board and the drive board.
    pub boards: [String; 2],
    /// Stated line rate, baud.
    pub rate: u32,
    /// Stated rhythm of the orders.
    pub cadence: StatedCadence,
    /// The link in words.
    pub link: String,
    /// By wire: what frames look like; `None` where the file has no frames for that wire.
    pub profiles: [Option<Arc<Profile>>; 2],
    /// What frames mean.
    pub meaning: Arc<Meaning>,
    /// The machine.
    pub machine: Machine,
    /// What is believed of its faults before the first test, and what tests cost.
    pub guesses: Guesses,
}

/// The rhythm of the orders, as the file states it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StatedCadence {
    /// Not stated: to be learned.
    Learn,
    /// Only when something changes.
    OnChange,
    /// Every so many nanoseconds.
    Every(Nanos),
    /// Every so many nanoseconds while a move is in force; silent at rest.
    WhileMoving(Nanos),
}

impl RoverFile {
    /// Reads a rover file. Every fault is in the list, each with its line and key.
    pub fn load(file: &str, text: &str) -> Result<Self, Vec<Fault>> {
        let faults = Faults::new(text);
        let (document, errors) = DeTable::parse_recoverable(text);
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            faults.add(&span, "", error.message(), "Write it as TOML 1.0 says (https://toml.io)");
        }
        let root = Table::new(document.get_ref(), 0..0, String::new(), &faults);
        let built = read(file, text, &root);
        root.finish();
        match built {
            Some(rover) if faults.count() == 0 => Ok(rover),
            _ => Err(faults.into_list()),
        }
    }

    /// What frames on this wire look like.
    pub fn profile(&self, wire: Wire) -> Option<&Arc<Profile>> {
        self.profiles[wire.index()].as_ref()
    }
}

/// The name under which a table of the file is asked for, and whether the file's version is one we know.
fn read(file: &str, text: &str, root: &Table<'_>) -> Option<RoverFile> {
    match root.whole("format", 0..=1_000_000) {
        Some(1) => {}
        Some(other) => root.fault("format", format!("{other} is not known"), "Allowed: 1"),
        None => root.fault("format", "the format number is missing", "Write `format = 1`"),
    }
    let rover = root.need_table("rover", "Write a table [rover] with `name`");
    let link = root.need_table("link", "Write a table [link] with `rate`");
    let frames = frames::read(root);
    let moves = meaning::moves(root);
    let machine = machine::read(root);
    let guesses = guesses::read(root);
    let format = format::read(root);
    let rest = meaning::read(root, frames.as_deref(), moves);
    let (name, version, boards) = rover.map(|table| names(&table))?;
    let (rate, cadence) = link.map(|table| link_settings(&table))?;
    let (frames, meaning) = (frames?, rest?);
    let profiles = format::profiles(root, format, frames, &meaning);
    Some(RoverFile {
        file: file.to_owned(),
        text: text.to_owned(),
        name,
        version,
        boards,
        rate: rate?,
        cadence,
        link: profiles.words,
        profiles: profiles.by_wire,
        meaning: Arc::new(meaning),
        machine,
        guesses,
    })
}

fn names(table: &Table<'_>) -> (String, String, [String; 2]) {
    let name = table.need_text("name", "Write the rover's name").unwrap_or_default();
    let version = table.text("version").unwrap_or_default();
    let command = table.text("command_board").unwrap_or_else(|| "command board".to_owned());
    let drive = table.text("drive_board").unwrap_or_else(|| "drive board".to_owned());
    table.finish();
    (name, version, [command, drive])
}

fn link_settings(table: &Table<'_>) -> (Option<u32>, StatedCadence) {
    let rate = table.whole("rate", 50..=4_000_000).map(|rate| rate as u32);
    if table.item("rate").is_none() {
        table.fault("rate", "the line rate is missing", "Write `rate = 115200` or another number of baud");
    }
    if let Some(settings) = table.text("settings").filter(|settings| settings != "8N1") {
        table.fault("settings", format!("`{settings}` cannot be listened to yet"), "Allowed: 8N1");
    }
    let cadence = cadence(table);
    table.finish();
    (rate, cadence)
}

/// A rhythm from 1 ms to a minute, thousandths of a millisecond.
const CADENCE: std::ops::RangeInclusive<i64> = 1_000..=60_000_000;

/// `cadence = 50`, `"on change"`, `"learn"` or `{ while_moving = 100 }`.
fn cadence(table: &Table<'_>) -> StatedCadence {
    let Some(item) = table.item("cadence") else { return StatedCadence::Learn };
    if item.value.as_table().is_some() {
        let Some(inner) = item.table() else { return StatedCadence::Learn };
        let period = inner.thousandths("while_moving", CADENCE);
        if inner.item("while_moving").is_none() {
            inner.fault("while_moving", "the milliseconds are missing", "Write `cadence = { while_moving = 100 }`");
        }
        inner.finish();
        return period.map_or(StatedCadence::Learn, |thousandths| StatedCadence::WhileMoving(thousandths * 1_000));
    }
    match item.value.as_str() {
        Some("on change") => return StatedCadence::OnChange,
        Some("learn") => return StatedCadence::Learn,
        Some(other) => {
            let allowed = "Allowed: \"on change\", \"learn\", milliseconds such as 50, { while_moving = 100 }";
            item.fault(format!("`{other}` is not known here"), allowed);
            return StatedCadence::Learn;
        }
        None => {}
    }
    let every = table.thousandths("cadence", CADENCE);
    every.map_or(StatedCadence::Learn, |thousandths| StatedCadence::Every(thousandths * 1_000))
}

#[cfg(test)]
mod tests;
