//! A pen bound to one rectangle: whatever it is told to write, it stays inside and writes nothing harmful.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::text_fit::{cut, harmless, width, wrap};
use super::theme::{Border, Theme};

/// Writes inside its rectangle; places count from its top left corner.
pub struct Pen<'a> {
    buffer: &'a mut Buffer,
    area: Rect,
    /// Colours and symbols.
    pub theme: Theme,
}

impl<'a> Pen<'a> {
    /// A pen for `area`.
    pub fn new(buffer: &'a mut Buffer, area: Rect, theme: Theme) -> Self {
        let area = area.intersection(buffer.area);
        Self { buffer, area, theme }
    }

    /// Cells across.
    pub const fn width(&self) -> u16 {
        self.area.width
    }

    /// Rows.
    pub const fn height(&self) -> u16 {
        self.area.height
    }

    /// A pen for a part of this one; what lies outside is cut off.
    pub fn part(&mut self, x: u16, y: u16, width: u16, height: u16) -> Pen<'_> {
        let wanted = Rect { x: self.area.x.saturating_add(x), y: self.area.y.saturating_add(y), width, height };
        let area = wanted.intersection(self.area);
        Pen { buffer: self.buffer, area, theme: self.theme }
    }

    /// The rows from `top` on, at most `height` of them.
    pub fn rows(&mut self, top: u16, height: u16) -> Pen<'_> {
        self.part(0, top, self.area.width, height)
    }

    /// Writes `text` at a place; returns the place behind it. What does not fit is cut, with a mark.
    pub fn put(&mut self, x: u16, y: u16, text: &str, style: Style) -> u16 {
        if x >= self.area.width || y >= self.area.height || text.is_empty() {
            return x;
        }
        let room = self.area.width - x;
        let clean = harmless(text, self.theme.ascii);
        let shown = cut(&clean, room.into(), self.theme.pick("…", ".."));
        let (left, top) = (self.area.x + x, self.area.y + y);
        let (end, _) = self.buffer.set_stringn(left, top, shown, room.into(), style);
        end.saturating_sub(self.area.x)
    }

    /// Writes `text` so that it ends at the right edge; returns where it begins.
    pub fn put_right(&mut self, y: u16, text: &str, style: Style) -> u16 {
        let cells = u16::try_from(width(text)).unwrap_or(u16::MAX);
        let x = self.area.width.saturating_sub(cells);
        self.put(x, y, text, style);
        x
    }

    /// Writes `text` in the middle.
    pub fn put_centred(&mut self, y: u16, text: &str, style: Style) {
        let cells = u16::try_from(width(text)).unwrap_or(u16::MAX);
        self.put(self.area.width.saturating_sub(cells) / 2, y, text, style);
    }

    /// Writes `text` over as many rows as it needs, at most `rows`; returns the row behind it. The last row says when
    /// something was cut.
    pub fn put_wrapped(&mut self, x: u16, y: u16, rows: u16, text: &str, style: Style) -> u16 {
        let room = usize::from(self.area.width.saturating_sub(x));
        let clean = harmless(text, self.theme.ascii);
        let all = wrap(&clean, room);
        let rows = rows.min(self.area.height.saturating_sub(y));
        let shown = all.len().min(rows.into());
        for (row, part) in (y..).zip(all.iter().take(shown)) {
            self.put(x, row, part, style);
        }
        let next = y.saturating_add(shown as u16);
        if shown < all.len() && shown > 0 {
            let mark = self.theme.pick("…", "..");
            let end = all.get(shown - 1).map_or(0, |row| width(row));
            let at = end.min(room.saturating_sub(width(mark))) as u16;
            self.put(x + at, next - 1, mark, style);
        }
        next
    }

    /// Fills the row from `x` up to `end` with one piece of line.
    pub fn line(&mut self, x: u16, y: u16, end: u16, piece: &str, style: Style) {
        for at in x..end.min(self.area.width) {
            self.put(at, y, piece, style);
        }
    }

    /// A heading with a thin rule and, at the right, a word of its own.
    pub fn heading(&mut self, title: &str, aside: &str) {
        let (style, faint) = (self.theme.heading(), self.theme.faint());
        let piece = self.theme.solid().across;
        let after = self.put(0, 0, title, style);
        let room = usize::from(self.area.width.saturating_sub(after + 1));
        let shown = cut(aside, room, self.theme.pick("…", "..")).into_owned();
        let end = self.put_right(0, &shown, faint);
        let gap = u16::from(!shown.is_empty());
        self.line(after + 1, 0, end.saturating_sub(gap), piece, faint);
    }

    /// A border along the edge of the whole rectangle.
    pub fn border(&mut self, border: Border, style: Style) {
        let (right, bottom) = (self.area.width, self.area.height);
        if right < 2 || bottom < 2 {
            return;
        }
        for y in [0, bottom - 1] {
            self.line(1, y, right - 1, border.across, style);
        }
        for y in 1..bottom - 1 {
            self.put(0, y, border.down, style);
            self.put(right - 1, y, border.down, style);
        }
        let places = [(0, 0), (right - 1, 0), (0, bottom - 1), (right - 1, bottom - 1)];
        for ((x, y), corner) in places.into_iter().zip(border.corners) {
            self.put(x, y, corner, style);
        }
    }

    /// Gives a whole row a style, keeping its text.
    pub fn shade(&mut self, y: u16, style: Style) {
        let row = Rect { y: self.area.y.saturating_add(y), height: 1, ..self.area };
        self.buffer.set_style(row.intersection(self.area), style);
    }
}
