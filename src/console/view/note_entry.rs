//! The line at the bottom in which a remark is typed.

use crate::console::pen::Pen;
use crate::console::text_fit::{fitting, width};

/// Draws the row; the end of a long remark stays in view.
pub fn draw(pen: &mut Pen, y: u16, entry: &str) {
    let (strong, chosen) = (pen.theme.strong(), pen.theme.chosen());
    let x = pen.put(0, y, "note:", strong) + 1;
    let room = usize::from(pen.width().saturating_sub(x + 1));
    let x = pen.put(x, y, tail(entry, room), strong);
    pen.put(x, y, " ", chosen);
}

/// The longest end of `text` that is at most `cells` wide.
pub fn tail(text: &str, cells: usize) -> &str {
    let over = width(text).saturating_sub(cells);
    let mut from = fitting(text, over);
    while from < text.len() && (!text.is_char_boundary(from) || width(&text[from..]) > cells) {
        from += 1;
    }
    text.get(from..).unwrap_or_default()
}
