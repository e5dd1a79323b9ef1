//! The page of wheel details: each wheel large enough to read with both hands on the rover.

use ratatui::style::Style;

use super::large_digits;
use super::motor_limits;
use super::wheel::{chip, draw_tyre, meant_border, seen_chip};
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::console::theme::Theme;
use crate::engine::snapshot::{Snapshot, WheelState};
use crate::rover::wheels::{Level, RollerHand, per_cent};

/// Draws the page: four tiles where they fit, below them what the motors bear; else a text.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let (width, height) = (pen.width(), pen.height());
    if width < 72 || height < 20 {
        return draw_text(pen, snapshot, scroll);
    }
    let limits = motor_limits::words(&snapshot.motors);
    let below = if height >= 24 { 3 } else { 2 };
    let (tile, rows) = (width / 2 - 1, (height - below) / 2);
    for (at, wheel) in (0u16..).zip(&snapshot.wheels) {
        let (x, y) = (at % 2 * (tile + 2), at / 2 * rows);
        draw_tile(&mut pen.part(x, y, tile, rows), wheel);
    }
    let style = motor_limits::style(pen.theme, &snapshot.motors);
    pen.put_wrapped(0, height - below, below, &limits, style);
}

fn draw_text(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let mut sheet = Sheet::new(pen.width());
    let strong = pen.theme.strong();
    for wheel in &snapshot.wheels {
        sheet.gap();
        sheet.text(0, &name(wheel), strong);
        let all = standing(pen.theme, wheel).into_iter();
        for (text, style) in all.chain(wiring(pen.theme, wheel)) {
            sheet.text(2, &text, style);
        }
    }
    sheet.gap();
    sheet.text(0, &motor_limits::words(&snapshot.motors), motor_limits::style(pen.theme, &snapshot.motors));
    sheet.draw(pen, scroll);
}

/// Tyre, large number, beside it what is ordered, meant and seen, below it the rest.
fn draw_tile(pen: &mut Pen, wheel: &WheelState) {
    let (theme, width, height) = (pen.theme, pen.width(), pen.height());
    let way = wheel.meant.map_or("not heard yet", motion::wheel);
    pen.heading(&name(wheel), way);
    let tyre = if width < 48 { 5 } else { 7 };
    draw_tyre(&mut pen.part(0, 1, tyre, (height - 2).min(11)), wheel);
    let number = wheel.meant.map_or_else(|| "-".to_owned(), |duty| per_cent(duty).to_string());
    let (strong, cells) = (pen.theme.strong(), large_digits::width("-100"));
    large_digits::draw(&mut pen.part(tyre + 1, 1, cells, large_digits::HEIGHT), &number, strong);
    let beside = tyre + cells + 2;
    let mut part = pen.part(beside, 1, width, large_digits::HEIGHT);
    put_all(&mut part, standing(theme, wheel));
    let gap = u16::from(height > 9);
    let mut part = pen.part(tyre + 1, 1 + gap + large_digits::HEIGHT, width, height);
    put_all(&mut part, wiring(theme, wheel));
}

fn put_all(pen: &mut Pen, all: Vec<(String, Style)>) {
    let mut y = 0;
    for (text, style) in all {
        y = pen.put_wrapped(0, y, 3, &text, style);
    }
}

fn name(wheel: &WheelState) -> String {
    format!("{} {}", wheel.wheel.name(), wheel.wheel.words())
}

/// What is ordered, meant and seen, and the motor's volts.
fn standing(theme: Theme, wheel: &WheelState) -> Vec<(String, Style)> {
    let mut all = Vec::new();
    if let Some(ordered) = wheel.ordered {
        all.push((chip(theme.solid(), "ordered", ordered), theme.ordered()));
    }
    if let Some(seen) = wheel.seen {
        all.push((seen_chip(theme, seen), theme.seen()));
        all.push((format!("at the pins of the {}", seen.place.word()), theme.seen()));
    }
    let Some(meant) = wheel.meant else {
        return all;
    };
    let (border, style) = meant_border(theme, wheel);
    all.push((chip(border, "meant", meant), style));
    if let Some(confirmed) = wheel.confirmed {
        all.push((format!("drive board says {}", motion::duty(confirmed)), Style::new()));
    }
    let (seen, style) = if wheel.proven { ("seen to obey", theme.seen()) } else { ("not yet seen", theme.faint()) };
    if wheel.seen.is_none() || wheel.proven {
        all.push((seen.to_owned(), style));
    }
    if let Some(range) = wheel.motor_millivolts {
        all.push(("inferred at 1 A".to_owned(), Style::new()));
        all.push((format!("motor {}", volts(range)), Style::new()));
    }
    all
}

/// Inputs, rollers, and where it is wired.
fn wiring(theme: Theme, wheel: &WheelState) -> Vec<(String, Style)> {
    let plain = Style::new();
    let mut all = Vec::new();
    all.extend(wheel.inputs.map(|inputs| (inputs_words(inputs), plain)));
    let wired = if wheel.wiring.is_empty() { "wiring: not in the rover file" } else { &wheel.wiring };
    all.push((wired.to_owned(), theme.faint()));
    let (back, slash) = (theme.pick("╲", "\\"), theme.pick("╱", "/"));
    all.push((rollers(back, slash, wheel), theme.faint()));
    all
}

fn inputs_words([one, two]: [Level; 2]) -> String {
    format!("meant: IN1 {}, IN2 {}", level(one), level(two))
}

const fn level(level: Level) -> &'static str {
    match level {
        Level::Low => "low",
        Level::High => "high",
        Level::Pulsed => "pulsed",
    }
}

/// Tenths of a volt, outward: the range shown always holds the range worked out.
fn volts([low, high]: [i64; 2]) -> String {
    let tenths = |value: i64| format!("{}{}.{}", if value < 0 { "-" } else { "" }, value.abs() / 10, value.abs() % 10);
    let (low, high) = (low.div_euclid(100), -(-i128::from(high)).div_euclid(100) as i64);
    format!("{}-{} V", tenths(low), tenths(high))
}

fn rollers(back: &str, slash: &str, wheel: &WheelState) -> String {
    let stroke = match wheel.rollers {
        RollerHand::Back => back,
        RollerHand::Slash => slash,
    };
    format!("rollers should run {stroke} from above")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_range_of_volts_is_rounded_outward() {
        assert_eq!(volts([3150, 4101]), "3.1-4.2 V");
        assert_eq!(volts([-3150, -20]), "-3.2-0.0 V");
        assert_eq!(volts([3000, 4000]), "3.0-4.0 V");
    }
}
