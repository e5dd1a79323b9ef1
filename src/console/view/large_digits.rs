//! Digits three cells wide and five rows high, to be read from across the bench.

use ratatui::style::Style;

use crate::console::pen::Pen;

/// Rows of a digit.
pub const HEIGHT: u16 = 5;

/// Cells from one digit to the next.
const STEP: u16 = 4;

/// Cells that `text` needs.
pub fn width(text: &str) -> u16 {
    (text.len() as u16 * STEP).saturating_sub(1)
}

/// Draws digits and a minus sign; other characters leave a gap.
pub fn draw(pen: &mut Pen, text: &str, style: Style) {
    let block = pen.theme.pick("█", "#");
    for (x, c) in (0..).step_by(STEP.into()).zip(text.chars()) {
        for (y, bits) in (0..).zip(rows(c)) {
            for column in 0..3 {
                if bits >> (2 - column) & 1 == 1 {
                    pen.put(x + column, y, block, style);
                }
            }
        }
    }
}

/// Three bits a row, the left cell first.
const fn rows(c: char) -> [u8; 5] {
    match c {
        '0' => [0b111, 0b101, 0b101, 0b101, 0b111],
        '1' => [0b010, 0b110, 0b010, 0b010, 0b111],
        '2' => [0b111, 0b001, 0b111, 0b100, 0b111],
        '3' => [0b111, 0b001, 0b111, 0b001, 0b111],
        '4' => [0b101, 0b101, 0b111, 0b001, 0b001],
        '5' => [0b111, 0b100, 0b111, 0b001, 0b111],
        '6' => [0b111, 0b100, 0b111, 0b101, 0b111],
        '7' => [0b111, 0b001, 0b001, 0b010, 0b010],
        '8' => [0b111, 0b101, 0b111, 0b101, 0b111],
        '9' => [0b111, 0b101, 0b111, 0b001, 0b111],
        '-' => [0b000, 0b000, 0b111, 0b000, 0b000],
        _ => [0; 5],
    }
}
