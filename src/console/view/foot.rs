//! The foot of the screen: a message or question, the note being typed, recorder, replay, and the keys that work now.

use super::hints::Hints;
use super::{note_entry, recorder, replay};
use crate::console::Console;
use crate::console::pen::Pen;
use crate::console::status::Status;
use crate::console::text_fit::wrap;

/// What the foot holds now, and how many rows each takes.
pub struct Foot<'a> {
    message: &'a str,
    message_rows: u16,
    entry: Option<&'a str>,
    recorder: String,
    recorder_rows: u16,
    replay_rows: u16,
    hints: Option<Hints>,
}

impl<'a> Foot<'a> {
    /// Everything, as far as a third of the screen allows (a half where the screen is low); the message and the note
    /// being typed come first.
    pub fn new(console: &'a Console, status: &'a Status, width: u16, height: u16) -> Self {
        let message = message(console, status);
        let recorder = recorder::words(status);
        let mut foot = Self {
            message,
            message_rows: if height < 3 { 0 } else { rows(message, width) },
            entry: console.entry.as_deref(),
            recorder_rows: if height < 8 { 0 } else { rows(&recorder, width) },
            recorder,
            replay_rows: u16::from(height >= 6 && status.replay.is_some()),
            hints: None,
        };
        let share = if height >= 16 { height / 3 } else { height / 2 };
        let left = share.saturating_sub(foot.height());
        let hints = Hints::new(console.places(status), width);
        foot.hints = if hints.rows <= left && height >= 8 {
            Some(hints)
        } else {
            (height >= 4 && left > 0).then(|| Hints::least(width))
        };
        foot
    }

    /// Rows it takes.
    pub fn height(&self) -> u16 {
        let hints = self.hints.as_ref().map_or(0, |hints| hints.rows);
        let entry = u16::from(self.entry.is_some());
        self.message_rows + entry + self.recorder_rows + self.replay_rows + hints
    }

    /// Draws it from the pen's first row on.
    pub fn draw(&self, pen: &mut Pen, status: &Status) {
        let strong = pen.theme.strong();
        let mut y = pen.put_wrapped(0, 0, self.message_rows, self.message, strong);
        if let Some(entry) = self.entry {
            note_entry::draw(pen, y, entry);
            y += 1;
        }
        let style = recorder::style(pen.theme, status);
        y = pen.put_wrapped(0, y, self.recorder_rows, &self.recorder, style);
        if let Some(state) = status.replay.as_ref().filter(|_| self.replay_rows > 0) {
            replay::draw(pen, y, state);
            y += 1;
        }
        if let Some(hints) = &self.hints {
            hints.draw(&mut pen.rows(y, hints.rows));
        }
    }
}

/// Rows of a text, two at most.
fn rows(text: &str, width: u16) -> u16 {
    wrap(text, width.into()).len().min(2) as u16
}

/// The question before quitting, else the loop's message.
fn message<'a>(console: &Console, status: &'a Status) -> &'a str {
    if console.quit_asked {
        return "The recording is in trouble. Press q again to end all the same, any other key to go on.";
    }
    status.message.as_deref().unwrap_or_default()
}
