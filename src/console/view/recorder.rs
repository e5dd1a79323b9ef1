//! The recorder in words: the session file, what it holds, and what is wrong with it.

use ratatui::style::Style;

use crate::console::status::{Recorder, Status};
use crate::console::theme::Theme;

/// The words; empty in a replay, which is not recorded.
pub fn words(status: &Status) -> String {
    match (&status.recorder, &status.replay) {
        (Some(recorder), _) => recorded(recorder),
        (None, Some(_)) => String::new(),
        (None, None) => "not recorded".to_owned(),
    }
}

fn recorded(recorder: &Recorder) -> String {
    let lost = match recorder.lost {
        0 => "none lost".to_owned(),
        n => format!("{n} LOST"),
    };
    let held = format!("{}, {} bytes, {lost}", recorder.path, recorder.bytes);
    recorder
        .trouble
        .as_ref()
        .map_or_else(|| format!("recording {held}"), |trouble| format!("RECORDING IN TROUBLE: {trouble} ({held})"))
}

/// Loud when something is wrong.
pub fn style(theme: Theme, status: &Status) -> Style {
    let bad = |recorder: &Recorder| recorder.trouble.is_some() || recorder.lost > 0;
    if status.recorder.as_ref().is_some_and(bad) { theme.alarm() } else { theme.faint() }
}
