//! Pictures of blocks to be read from two metres: the names of the wheels, and which way each goes.

use ratatui::style::Style;

use crate::console::pen::Pen;

/// Rows of a picture at scale 1.
pub const HEIGHT: u16 = 5;
/// Cells of an arrow at scale 1.
pub const ARROW: u16 = 7;
/// Cells of the two letters of a wheel's name at scale 1.
pub const NAME: u16 = 7;

const UP: [&str; 5] = ["   #   ", "  ###  ", " ##### ", "  ###  ", "  ###  "];
const DOWN: [&str; 5] = ["  ###  ", "  ###  ", " ##### ", "  ###  ", "   #   "];
const STILL: [&str; 5] = ["       ", " ##### ", " ##### ", " ##### ", "       "];
const ASK: [&str; 5] = [" ##### ", "     # ", "   ### ", "       ", "   #   "];

/// An arrow for the way the top of the tyre goes, up to the nose; a square for still; a question mark for nobody knows.
pub fn draw_way(pen: &mut Pen, turn: Option<i32>, scale: u16, style: Style) {
    let rows = match turn {
        Some(1..) => &UP,
        Some(0) => &STILL,
        Some(_) => &DOWN,
        None => &ASK,
    };
    draw(pen, 0, rows, scale, style);
}

/// The two letters of a wheel's name.
pub fn draw_name(pen: &mut Pen, name: &str, scale: u16, style: Style) {
    for (x, letter) in (0..).step_by(usize::from(4 * scale)).zip(name.chars()) {
        draw(pen, x, letter_rows(letter), scale, style);
    }
}

const fn letter_rows(letter: char) -> &'static [&'static str; 5] {
    match letter {
        'F' => &["###", "#  ", "## ", "#  ", "#  "],
        'L' => &["#  ", "#  ", "#  ", "#  ", "###"],
        _ => &["## ", "# #", "## ", "# #", "# #"],
    }
}

/// Each mark of the picture is `scale` rows high; cells are narrow, so it is as many cells wide.
fn draw(pen: &mut Pen, left: u16, rows: &[&str; 5], scale: u16, style: Style) {
    let block = pen.theme.pick("█", "#");
    for (y, row) in (0..).step_by(usize::from(scale)).zip(rows) {
        for (x, _) in (0..).zip(row.chars()).filter(|(_, mark)| *mark == '#') {
            for down in 0..scale {
                pen.line(left + x * scale, y + down, left + (x + 1) * scale, block, style);
            }
        }
    }
}
