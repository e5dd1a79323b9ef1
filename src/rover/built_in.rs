//! The rover files that ship with the program.

/// A rover file that ships with the program.
#[derive(Clone, Copy, Debug)]
pub struct BuiltIn {
    /// Its name, as `--rover NAME` and `new --like NAME` take it.
    pub name: &'static str,
    /// What it is, in one line.
    pub says: &'static str,
    /// The file.
    pub text: &'static str,
}

/// All of them; the plain line is the usual one.
pub const ALL: [BuiltIn; 6] = [
    BuiltIn {
        name: "plain-line",
        says: "a word and a value, sent only when something changes; no check",
        text: include_str!("files/plain-line.toml"),
    },
    BuiltIn {
        name: "cue-line",
        says: "checked text with sequence, panel counter, deadline and answers",
        text: include_str!("files/cue-line.toml"),
    },
    BuiltIn {
        name: "stave",
        says: "eleven bytes with marker bytes that cannot be data",
        text: include_str!("files/stave.toml"),
    },
    BuiltIn { name: "bead", says: "COBS and a CRC-16", text: include_str!("files/bead.toml") },
    BuiltIn { name: "ladder", says: "sync, length, each wheel's duty", text: include_str!("files/ladder.toml") },
    BuiltIn {
        name: "letter-line",
        says: "a letter and a duty with an exclusive-or check, every 50 ms",
        text: include_str!("files/letter-line.toml"),
    },
];

/// The built-in file of this name.
pub fn find(name: &str) -> Option<BuiltIn> {
    ALL.into_iter().find(|file| file.name == name)
}

/// Their names, for messages.
pub fn names() -> String {
    ALL.map(|file| file.name).join(", ")
}
