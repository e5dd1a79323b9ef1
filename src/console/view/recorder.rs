//! The recorder row: the session file, what it holds, and what is wrong with it.

use crate::console::pen::Pen;
use crate::console::status::{Recorder, Status};

/// Draws the row.
pub fn draw(pen: &mut Pen, y: u16, status: &Status) {
    match (&status.recorder, &status.replay) {
        (Some(recorder), _) => draw_recorder(pen, y, recorder),
        (None, Some(_)) => {}
        (None, None) => {
            let faint = pen.theme.faint();
            pen.put(0, y, "not recorded", faint);
        }
    }
}

fn draw_recorder(pen: &mut Pen, y: u16, recorder: &Recorder) {
    let (strong, alarm, faint) = (pen.theme.strong(), pen.theme.alarm(), pen.theme.faint());
    if let Some(trouble) = &recorder.trouble {
        let lost = if recorder.lost > 0 {
            format!(" ({} bytes lost)", recorder.lost)
        } else {
            String::new()
        };
        pen.put(
            0,
            y,
            &format!("RECORDING IN TROUBLE: {trouble}{lost}"),
            alarm,
        );
        return;
    }
    let mut x = pen.put(0, y, "recording", strong);
    x = pen.put(x + 1, y, &recorder.path, faint);
    x = pen.put(x, y, &format!(", {} bytes", recorder.bytes), faint);
    match recorder.lost {
        0 => pen.put(x, y, ", none lost", faint),
        n => pen.put(x, y, &format!(", {n} LOST"), alarm),
    };
}
