//! The replay row: where it stands, how fast it goes, how far the findings have been read.

use crate::console::clock;
use crate::console::pen::Pen;
use crate::console::status::Replay;
use wheeltap_parsers::Nanos;

/// Draws the row.
pub fn draw(pen: &mut Pen, y: u16, replay: &Replay) {
    let (strong, faint) = (pen.theme.strong(), pen.theme.faint());
    let times = format!("{} of {}{}", clock::at(replay.position), clock::at_second(replay.length), read(replay));
    let end = pen.put_right(y, &times, faint);
    let mut left = pen.part(0, y, end.saturating_sub(1), 1);
    let state = if replay.playing { "running" } else { "STANDING" };
    let mut x = left.put(0, 0, state, strong);
    if let Some(from) = replay.cold_from {
        x = left.put(x, 0, &format!(", seen from {} on only", clock::at_second(from)), strong);
    }
    if let Some((from, to)) = replay.round {
        x = left.put(x, 0, &format!(", round {} to {}", clock::at_second(from), clock::at_second(to)), strong);
    }
    x = left.put(x, 0, &format!(" {}, [ ] to {}", speed(replay.speed), replay.sort.word()), faint);
    bar(&mut pen.part(x + 1, y, end.saturating_sub(x + 2), 1), replay);
}

fn bar(pen: &mut Pen, replay: &Replay) {
    let cells = pen.width();
    let (strong, faint) = (pen.theme.strong(), pen.theme.faint());
    let (here, read) = (place(replay.position, replay.length, cells), place(replay.read_to, replay.length, cells));
    pen.line(0, 0, cells, pen.theme.pick("·", "."), faint);
    pen.line(0, 0, read, pen.theme.pick("─", "-"), faint);
    pen.put(here.min(cells.saturating_sub(1)), 0, pen.theme.pick("◆", "#"), strong);
}

fn place(time: Nanos, length: Nanos, cells: u16) -> u16 {
    let share = i128::from(time.max(0)) * i128::from(cells) / i128::from(length.max(1));
    u16::try_from(share).unwrap_or(cells).min(cells)
}

/// The speed in words.
fn speed(speed: Option<u32>) -> String {
    match speed {
        None => "as fast as possible".to_owned(),
        Some(100) => "as it was".to_owned(),
        Some(50) => "at half speed".to_owned(),
        Some(25) => "at a quarter speed".to_owned(),
        Some(10) => "at a tenth speed".to_owned(),
        Some(n) if n % 100 == 0 => format!("{} times as fast", n / 100),
        Some(n) => format!("at {n} % speed"),
    }
}

/// Only while the findings have not been read to the end.
fn read(replay: &Replay) -> String {
    if replay.read_to >= replay.length {
        return String::new();
    }
    format!(", read to {}", clock::at_second(replay.read_to))
}
