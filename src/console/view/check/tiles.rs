//! The four wheels at their corners, large: name, which way it should turn, what was seen.

use ratatui::style::Style;

use super::words::{seen, turn_word};
use crate::console::check::Part;
use crate::console::pen::Pen;
use crate::console::view::large_blocks::{ARROW, HEIGHT, NAME, draw_name, draw_way};
use crate::engine::snapshot::wheel_check::{Check, Watched};
use crate::rover::wheels::Wheel;

/// Twice as large where there is room for it.
const fn scale(pen: &Pen) -> u16 {
    if pen.width() >= 112 && pen.height() >= 4 * HEIGHT + 2 { 2 } else { 1 }
}

/// Rows of an empty space: between front and rear, and below the rear, where there is room for them.
fn gaps(pen: &Pen, tiles: u16) -> (u16, u16) {
    let free = pen.height().saturating_sub(2 * tiles);
    (u16::from(free > 0), u16::from(free > 1))
}

/// Left and top of a wheel's tile; front is above.
const fn place(wheel: Wheel, tile: (u16, u16)) -> (u16, u16) {
    match wheel {
        Wheel::FL => (0, 0),
        Wheel::FR => (tile.0, 0),
        Wheel::RL => (0, tile.1),
        Wheel::RR => (tile.0, tile.1),
    }
}

/// Draws the four; gives the rows used.
pub fn draw_wheels(pen: &mut Pen, check: &Check, watched: &Watched, parts: &[Part]) -> u16 {
    let asks = matches!(check.ask, crate::engine::snapshot::wheel_check::Ask::Wheels(_));
    let scale = scale(pen);
    let (between, below) = gaps(pen, HEIGHT * scale);
    let tile = (pen.width() / 2, HEIGHT * scale + between);
    for wheel in Wheel::ALL {
        let (x, y) = place(wheel, tile);
        let due = asks && parts.len() == wheel.index();
        let mut part = pen.part(x, y, tile.0.saturating_sub(1), tile.1);
        draw_wheel(&mut part, wheel, watched.should[wheel.index()], scale, due);
        let seen = seen(parts, wheel);
        let words = match (seen, due, asks) {
            (Some(seen), ..) => format!("seen: {}", seen.word()),
            (None, true, _) => "seen: press a key".to_owned(),
            (None, false, true) => "seen: -".to_owned(),
            _ => String::new(),
        };
        let style = if due { part.theme.chosen() } else { part.theme.seen() };
        part.put((NAME + ARROW + 4) * scale, 3 * scale, &words, style);
    }
    2 * HEIGHT * scale + between + below
}

fn draw_wheel(pen: &mut Pen, wheel: Wheel, should: i32, scale: u16, due: bool) {
    let (strong, meant) = (pen.theme.strong(), pen.theme.meant());
    draw_name(&mut pen.part(0, 0, NAME * scale, HEIGHT * scale), wheel.name(), scale, strong);
    let at = (NAME + 2) * scale;
    draw_way(&mut pen.part(at, 0, ARROW * scale, HEIGHT * scale), Some(should), scale, meant);
    let mut words = pen.part((NAME + ARROW + 4) * scale, 0, pen.width(), HEIGHT * scale);
    words.put(0, 0, wheel.words(), if due { strong } else { Style::new() });
    words.put(0, scale, &format!("should: {}", turn_word(should)), meant);
    let top = match should {
        1.. => "top to the nose",
        0 => "does not turn",
        _ => "top to the tail",
    };
    words.put(0, 2 * scale, top, Style::new());
}

/// The rollers as they should run, and what was said of each corner; gives the rows used.
pub fn draw_rollers(pen: &mut Pen, parts: &[Part]) -> u16 {
    let (between, below) = gaps(pen, HEIGHT);
    let tile = (pen.width() / 2, HEIGHT + between);
    for wheel in Wheel::ALL {
        let (x, y) = place(wheel, tile);
        let mut part = pen.part(x, y, tile.0.saturating_sub(1), tile.1);
        let (strong, meant) = (part.theme.strong(), part.theme.meant());
        draw_name(&mut part.part(0, 0, NAME, HEIGHT), wheel.name(), 1, strong);
        // An X seen from above, nose up.
        let back = matches!(wheel, Wheel::FL | Wheel::RR);
        for row in 0..HEIGHT {
            let shift = if back { row } else { HEIGHT - 1 - row };
            let stroke = if back { part.theme.pick("╲", "\\") } else { part.theme.pick("╱", "/") };
            part.put(NAME + 3 + shift, row, stroke, meant);
            part.put(NAME + 6 + shift, row, stroke, meant);
        }
        let words = match parts.get(wheel.index()) {
            Some(Part::OtherHand(true)) => "seen: the other way",
            Some(_) => "seen: as drawn",
            None if parts.len() == wheel.index() => "seen: press a key",
            None => "seen: -",
        };
        let style = if parts.len() == wheel.index() { part.theme.chosen() } else { part.theme.seen() };
        part.put(NAME + ARROW + 8, 2, words, style);
    }
    2 * HEIGHT + between + below
}
