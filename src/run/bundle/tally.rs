//! What a bundle takes away and what stays, counted where its lines are made.

use crate::bundle::secret::overwritten;
use crate::bundle::veil::Taken;

/// Everything that is told of a bundle.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Tally {
    /// On the wires.
    pub(super) wires: Taken,
    /// In notes, in what the system said of ports, and in what the bundle says of itself.
    pub(super) notes_covered: Covered,
    pub(super) gone_covered: Covered,
    pub(super) about_covered: Covered,
    /// Bytes of the rover file's text.
    pub(super) rover_text: usize,
    /// Bytes of the rover file's own name.
    pub(super) rover_name: usize,
    /// The folders that the rover file lies in stood in its name.
    pub(super) rover_folder: bool,
    /// The name of a port is covered.
    pub(super) port: bool,
    /// Lines of a kind that is not known: none goes into the bundle.
    pub(super) unknown: u64,
    /// The notes that stay, with their times in microseconds, in the order of the file.
    pub(super) notes: Vec<(i64, String)>,
    /// What it says of itself.
    pub(super) about: Vec<String>,
}

/// Bytes overwritten in texts of one sort, and in how many texts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Covered {
    bytes: usize,
    texts: usize,
}

impl Covered {
    pub(super) fn add(&mut self, before: &str, after: &str) {
        let bytes = overwritten(before, after);
        self.bytes += bytes;
        self.texts += usize::from(bytes > 0);
    }

    /// In words, when there is any.
    fn words(self, what: &str) -> Option<String> {
        let Self { bytes, texts } = self;
        (bytes > 0).then(|| format!("    names and addresses in {what}: {bytes} bytes in {texts} of them"))
    }
}

impl Tally {
    /// What was overwritten beside the wires, and what was left out, a line each.
    pub(super) fn beside_the_wires(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.notes_covered.words("notes").into_iter().collect();
        lines.extend(self.gone_covered.words("reasons for which a port went away"));
        lines.extend(self.about_covered.words("sentences that it says of itself"));
        if self.rover_text > 0 {
            let bytes = self.rover_text;
            lines.push(format!("    names and addresses in comments and names of the rover file: {bytes} bytes"));
        }
        if self.rover_name > 0 {
            lines.push(format!("    names and addresses in the rover file's own name: {} bytes", self.rover_name));
        }
        if self.rover_folder {
            lines.push("    the folders that the rover file lies in".to_owned());
        }
        if self.port {
            lines.push("    the name of the port".to_owned());
        }
        if self.unknown > 0 {
            let s = if self.unknown == 1 { "" } else { "s" };
            lines.push(format!("    {} whole line{s} of a kind that is not known here", self.unknown));
        }
        lines
    }

    /// The notes that stay, by time.
    pub(super) fn notes_by_time(&self) -> Vec<&(i64, String)> {
        let mut notes: Vec<_> = self.notes.iter().collect();
        notes.sort_by_key(|(t_us, _)| *t_us);
        notes
    }
}
