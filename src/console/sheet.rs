//! A long text of headings and paragraphs, wrapped to a width, of which some rows are in view.

use ratatui::style::Style;

use super::pen::Pen;
use super::scroll::Scroll;
use super::text_fit::wrap;

/// Rows of text with their style and indent.
#[derive(Debug, Default)]
pub struct Sheet {
    width: u16,
    rows: Vec<(u16, Style, String)>,
}

impl Sheet {
    /// An empty sheet for rows of `width` cells.
    pub const fn new(width: u16) -> Self {
        Self { width, rows: Vec::new() }
    }

    /// Adds a paragraph, `indent` cells in.
    pub fn text(&mut self, indent: u16, text: &str, style: Style) {
        let room = self.width.saturating_sub(indent).max(1);
        for row in wrap(text, room.into()) {
            self.rows.push((indent, style, row.to_owned()));
        }
    }

    /// Adds a drawing: its rows stay as they are, and are cut where they do not fit.
    pub fn drawing(&mut self, rows: &str, style: Style) {
        self.rows.extend(rows.lines().map(|row| (0, style, row.to_owned())));
    }

    /// Adds a paragraph with a word in front of it, when `text` is not empty.
    pub fn pair(&mut self, word: &str, text: &str, style: Style) {
        if text.is_empty() {
            return;
        }
        self.text(0, &format!("{word}: {text}"), style);
    }

    /// Adds an empty row, unless there is nothing above it.
    pub fn gap(&mut self) {
        if !self.rows.is_empty() {
            self.rows.push((0, Style::new(), String::new()));
        }
    }

    /// Draws the rows in view; a last row that tells of more below or above is kept free when they do not all fit.
    pub fn draw(&self, pen: &mut Pen, scroll: &mut Scroll) {
        let height = usize::from(pen.height());
        let all = self.rows.len() <= height;
        let room = if all { height } else { height.saturating_sub(1) };
        scroll.fit(self.rows.len(), room);
        let shown = self.rows.iter().skip(scroll.top).take(room);
        for (y, (indent, style, text)) in (0..).zip(shown) {
            pen.put(*indent, y, text, *style);
        }
        if !all {
            let last = (scroll.top + room).min(self.rows.len());
            let says = format!("rows {} to {last} of {}, more with up and down", scroll.top + 1, self.rows.len());
            let faint = pen.theme.faint();
            pen.put(0, room as u16, &says, faint);
        }
    }
}
