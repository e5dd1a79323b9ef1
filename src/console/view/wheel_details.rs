//! The page of wheel details: each wheel large enough to read with both hands on the rover.

use ratatui::style::Style;

use super::large_digits;
use super::wheel::{draw_tyre, meant_border};
use crate::console::motion;
use crate::console::pen::Pen;
use crate::console::scroll::Scroll;
use crate::console::sheet::Sheet;
use crate::engine::snapshot::{Snapshot, WheelState};
use crate::rover::wheels::{Level, RollerHand, per_cent};

/// Draws the page: four tiles where they fit, else a text.
pub fn draw(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let (width, height) = (pen.width(), pen.height());
    if width < 72 || height < 20 {
        return draw_text(pen, snapshot, scroll);
    }
    let (tile, rows) = (width / 2 - 1, height / 2);
    for (at, wheel) in (0u16..).zip(&snapshot.wheels) {
        let (x, y) = (at % 2 * (tile + 2), at / 2 * rows);
        draw_tile(&mut pen.part(x, y, tile, rows), wheel);
    }
}

fn draw_text(pen: &mut Pen, snapshot: &Snapshot, scroll: &mut Scroll) {
    let mut sheet = Sheet::new(pen.width());
    let strong = pen.theme.strong();
    for wheel in &snapshot.wheels {
        sheet.gap();
        sheet.text(0, &name(wheel), strong);
        for (text, style) in details(pen, wheel) {
            sheet.text(2, &text, style);
        }
    }
    sheet.draw(pen, scroll);
}

fn draw_tile(pen: &mut Pen, wheel: &WheelState) {
    let height = pen.height();
    let way = wheel.meant.map_or("not heard yet", motion::wheel);
    pen.heading(&name(wheel), way);
    let tall = height.saturating_sub(2).min(9);
    draw_tyre(&mut pen.part(0, 1, 7, tall), wheel);
    let number = wheel
        .meant
        .map_or_else(|| "-".to_owned(), |duty| per_cent(duty).to_string());
    let (strong, cells) = (pen.theme.strong(), large_digits::width(&number));
    let large = large_digits::HEIGHT;
    large_digits::draw(&mut pen.part(9, 1, cells, large), &number, strong);
    pen.put(10 + cells, large, "%", strong);
    draw_details(pen, wheel, cells);
}

/// Beside the large number where there is room, else below it.
fn draw_details(pen: &mut Pen, wheel: &WheelState, number: u16) {
    let (width, height) = (pen.width(), pen.height());
    let below = height >= 14;
    let (x, top) = if below {
        (9, 7)
    } else {
        (9 + number.max(15) + 3, 1)
    };
    let mut y = 0;
    let all = details(pen, wheel);
    let mut part = pen.part(x, top, width, height.saturating_sub(top + 1));
    for (text, style) in all {
        y = part.put_wrapped(0, y, 3, &text, style);
    }
}

fn name(wheel: &WheelState) -> String {
    format!("{} {}", wheel.wheel.name(), wheel.wheel.words())
}

fn details(pen: &Pen, wheel: &WheelState) -> Vec<(String, Style)> {
    let (theme, plain) = (pen.theme, Style::new());
    let mut all = Vec::new();
    if let Some(ordered) = wheel.ordered {
        let down = theme.solid().down;
        all.push((
            format!("{down}ordered {}{down}", motion::duty(ordered)),
            theme.ordered(),
        ));
    }
    if let Some(meant) = wheel.meant {
        let (border, style) = meant_border(theme, wheel);
        all.push((
            format!("{0}meant {1}{0}", border.down, motion::duty(meant)),
            style,
        ));
    }
    let seen = if wheel.proven {
        "seen to obey this move"
    } else {
        "not yet seen to obey this move"
    };
    all.push((
        seen.to_owned(),
        if wheel.proven { theme.seen() } else { plain },
    ));
    all.extend(wheel.inputs.map(|inputs| (inputs_words(inputs), plain)));
    all.extend(wheel.motor_millivolts.map(|range| (volts(range), plain)));
    all.push((
        rollers(theme.pick("╲", "\\"), theme.pick("╱", "/"), wheel),
        plain,
    ));
    if !wheel.wiring.is_empty() {
        all.push((wheel.wiring.clone(), theme.faint()));
    }
    all
}

fn inputs_words([one, two]: [Level; 2]) -> String {
    format!("IN1 {}, IN2 {}", level(one), level(two))
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
    let tenths = |value: i64| {
        format!(
            "{}{}.{}",
            if value < 0 { "-" } else { "" },
            value.abs() / 10,
            value.abs() % 10
        )
    };
    let (low, high) = (
        low.div_euclid(100),
        -(-i128::from(high)).div_euclid(100) as i64,
    );
    format!("motor {} to {} V", tenths(low), tenths(high))
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
        assert_eq!(volts([3150, 4101]), "motor 3.1 to 4.2 V");
        assert_eq!(volts([-3150, -20]), "motor -3.2 to 0.0 V");
        assert_eq!(volts([3000, 4000]), "motor 3.0 to 4.0 V");
    }
}
