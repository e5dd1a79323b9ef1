//! The place in a list or long text.

/// Which rows are in view; `rows` and `room` are set by the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Scroll {
    /// First row in view.
    pub top: usize,
    /// Rows in view at the last drawing.
    pub room: usize,
}

impl Scroll {
    /// Fits `top` to `rows` rows of which `room` are in view.
    pub fn fit(&mut self, rows: usize, room: usize) {
        self.room = room;
        self.top = self.top.min(rows.saturating_sub(room));
    }

    /// Moves by `rows`.
    pub fn by(&mut self, rows: isize) {
        self.top = self.top.saturating_add_signed(rows);
    }

    /// Rows of one page, one row of overlap; at least one.
    pub fn page(&self) -> isize {
        self.room.saturating_sub(1).max(1).cast_signed()
    }
}

/// First row in view so that `cursor` of `rows` lies inside `room` rows, near its middle.
pub fn around(cursor: usize, rows: usize, room: usize) -> usize {
    cursor.saturating_sub(room / 2).min(rows.saturating_sub(room))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_cursor_is_always_in_view(rows in 1usize..500, at in 0usize..500, room in 1usize..60) {
            let cursor = at.min(rows - 1);
            let top = around(cursor, rows, room);
            prop_assert!(top <= cursor && cursor < top + room);
        }
    }
}
