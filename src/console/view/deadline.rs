//! How long the order may be obeyed: a shrinking bar with its milliseconds, or clear words.

use ratatui::style::Style;

use super::order::NO_FILE;
use crate::console::clock;
use crate::console::pen::Pen;
use crate::console::theme::Theme;
use crate::engine::snapshot::{DeadlineState, Snapshot};
use wheeltap_parsers::Nanos;

/// Draws from row `y` on, at most `rows` rows.
pub fn draw(pen: &mut Pen, y: u16, rows: u16, snapshot: &Snapshot) {
    let (theme, text) = (pen.theme, words(snapshot));
    if let DeadlineState::Running { length, until } = snapshot.deadline
        && until > snapshot.now
        && rows > 1
    {
        bar(pen, y, until.saturating_sub(snapshot.now), length);
        pen.put(0, y + 1, &text, style(theme, snapshot));
        return;
    }
    pen.put_wrapped(0, y, rows, &text, style(theme, snapshot));
}

/// The deadline in words.
pub fn words(snapshot: &Snapshot) -> String {
    let now = snapshot.now;
    match snapshot.deadline {
        DeadlineState::Unknown if snapshot.rover == NO_FILE => "deadline: unknown without a rover file".to_owned(),
        DeadlineState::Unknown => "deadline: the rover file does not say".to_owned(),
        DeadlineState::Never if snapshot.order.at.is_none() => {
            "no deadline: nothing on the wire would stop a move".to_owned()
        }
        DeadlineState::Never if snapshot.order.rest => "no deadline: at rest until the next order".to_owned(),
        DeadlineState::Never => "no deadline: nothing on the wire would stop it".to_owned(),
        DeadlineState::Resting { length } => {
            format!("deadline {}, no move in force", clock::length(length))
        }
        DeadlineState::Running { length, until } => {
            format!("deadline: {} of {} left", millis(until.saturating_sub(now)), millis(length))
        }
        DeadlineState::Lapsed { at, .. } => {
            format!("lapsed {}: the drive board should have stopped", clock::ago(now, at))
        }
    }
}

/// The deadline, or else the order's age, in a few characters.
pub fn short(snapshot: &Snapshot) -> String {
    match (snapshot.deadline, snapshot.order.at) {
        (DeadlineState::Running { until, .. }, _) => millis(until.saturating_sub(snapshot.now)),
        (DeadlineState::Lapsed { .. }, _) => "lapsed".to_owned(),
        (_, Some(at)) => clock::ago(snapshot.now, at),
        (_, None) => String::new(),
    }
}

/// Loud where nothing would stop a move, or where a deadline ran out.
pub fn style(theme: Theme, snapshot: &Snapshot) -> Style {
    let moving = snapshot.order.at.is_some() && !snapshot.order.rest;
    match snapshot.deadline {
        DeadlineState::Never if moving => theme.alarm(),
        DeadlineState::Lapsed { .. } => theme.alarm(),
        DeadlineState::Running { .. } => theme.strong(),
        _ => Style::new(),
    }
}

fn millis(time: Nanos) -> String {
    format!("{} ms", time.max(0) / 1_000_000)
}

fn bar(pen: &mut Pen, y: u16, left: Nanos, length: Nanos) {
    let cells = pen.width().min(40);
    let share = i128::from(left.max(0)) * i128::from(cells) / i128::from(length.max(1));
    let full = u16::try_from(share).unwrap_or(cells).min(cells);
    let (strong, faint) = (pen.theme.strong(), pen.theme.faint());
    let (on, off) = (pen.theme.pick("▬", "="), pen.theme.pick("·", "."));
    pen.line(0, y, full, on, strong);
    pen.line(full, y, cells, off, faint);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::sample;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    /// Full cells of the bar with this much left of 300 ms.
    fn full(left: Nanos) -> usize {
        let area = Rect::new(0, 0, 30, 2);
        let mut buffer = Buffer::empty(area);
        let mut snapshot = sample::cue();
        let until = snapshot.now + left;
        snapshot.deadline = DeadlineState::Running { length: 300_000_000, until };
        draw(&mut Pen::new(&mut buffer, area, Theme::from_env(true, true)), 0, 2, &snapshot);
        buffer.content().iter().filter(|cell| cell.symbol() == "=").count()
    }

    #[test]
    fn the_bar_shrinks_to_nothing() {
        assert_eq!([300_000_000, 150_000_000, 10_000_000, 0].map(full), [30, 15, 1, 0]);
    }

    #[test]
    fn a_move_that_nothing_would_stop_is_told_loudly() {
        let (theme, snapshot) = (Theme::from_env(true, true), sample::strafe());
        assert!(words(&snapshot).contains("nothing on the wire would stop it"));
        assert_eq!(style(theme, &snapshot), theme.alarm());
        assert_ne!(style(theme, &sample::resting()), theme.alarm());
    }
}
