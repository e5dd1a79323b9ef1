//! The foot of the screen: a message or question, the note being typed, recorder, replay, and the keys that work now.

use super::hints::Hints;
use super::{note_entry, recorder, replay};
use crate::console::Console;
use crate::console::pen::Pen;
use crate::console::status::Status;

/// What the foot holds now.
struct Rows {
    message: bool,
    entry: bool,
    recorder: bool,
    replay: bool,
    hints: Option<Hints>,
}

impl Rows {
    /// Everything, as far as a third of the screen allows (a half where the screen is low); the message and the note
    /// being typed come first.
    fn new(console: &Console, status: &Status, width: u16, height: u16) -> Self {
        let roomy = height >= 16;
        let mut rows = Self {
            message: height >= 3 && message(console, status).is_some(),
            entry: console.entry.is_some(),
            recorder: height >= 8 && (status.recorder.is_some() || status.replay.is_none()),
            replay: height >= 6 && status.replay.is_some(),
            hints: None,
        };
        let hints = Hints::new(console.places(status), width);
        let left = (height / if roomy { 3 } else { 2 }).saturating_sub(rows.height());
        rows.hints = if hints.rows <= left && height >= 8 {
            Some(hints)
        } else {
            (height >= 4 && left > 0).then(|| Hints::least(width))
        };
        rows
    }

    fn height(&self) -> u16 {
        let plain = [self.message, self.entry, self.recorder, self.replay];
        let hints = self.hints.as_ref().map_or(0, |hints| hints.rows);
        plain.map(u16::from).iter().sum::<u16>() + hints
    }
}

/// Rows the foot takes.
pub fn height(console: &Console, status: &Status, width: u16, height: u16) -> u16 {
    Rows::new(console, status, width, height)
        .height()
        .min(height)
}

/// Draws the foot; `screen` is the height of the whole screen.
pub fn draw(console: &Console, pen: &mut Pen, status: &Status, screen: u16) {
    let rows = Rows::new(console, status, pen.width(), screen);
    let mut y = 0;
    if let Some(text) = message(console, status).filter(|_| rows.message) {
        let alarm = pen.theme.alarm();
        pen.put(0, y, text, alarm);
        y += 1;
    }
    if let Some(entry) = &console.entry {
        note_entry::draw(pen, y, entry);
        y += 1;
    }
    if rows.recorder {
        recorder::draw(pen, y, status);
        y += 1;
    }
    if let Some(state) = status.replay.as_ref().filter(|_| rows.replay) {
        replay::draw(pen, y, state);
        y += 1;
    }
    if let Some(hints) = rows.hints {
        hints.draw(&mut pen.rows(y, hints.rows));
    }
}

/// The question before quitting, else the loop's message.
fn message<'a>(console: &Console, status: &'a Status) -> Option<&'a str> {
    if console.quit_asked {
        return Some(
            "The recording is in trouble. Press q again to end all the same, any other key to go on.",
        );
    }
    status.message.as_deref()
}
