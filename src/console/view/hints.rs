//! The keys that work now, with a word each, made from the key table.

use crate::console::key_table::{Key, KeyBinding, Place, TABLE};
use crate::console::pen::Pen;

/// Where each hint goes.
pub struct Hints {
    items: Vec<(u16, u16, &'static KeyBinding)>,
    /// Rows that they need.
    pub rows: u16,
}

impl Hints {
    /// The hints of `places`, flowing over rows of `width` cells. Too wide a hint is left out; help and quit come first
    /// where there is room for one row only.
    pub fn new(places: &[Place], width: u16) -> Self {
        let roomy = Self::flow(places, width, 2);
        let tight = Self::flow(places, width, 1);
        if tight.rows < roomy.rows {
            tight
        } else {
            roomy
        }
    }

    /// Help and quit alone, for the smallest screens.
    pub fn least(width: u16) -> Self {
        let wanted = [Key::Char('?'), Key::Char('q')];
        let least = TABLE
            .iter()
            .filter(|b| b.place == Place::Everywhere && wanted.contains(&b.key));
        Self::place(least, width, 1)
    }

    fn flow(places: &[Place], width: u16, gap: u16) -> Self {
        let here = |place: Place| {
            TABLE
                .iter()
                .filter(move |b| b.place == place && !b.short.is_empty())
        };
        let mut hints = Self {
            items: Vec::new(),
            rows: 0,
        };
        for place in places {
            let block = Self::place(here(*place), width, gap);
            let top = hints.rows;
            hints
                .items
                .extend(block.items.into_iter().map(|(x, y, b)| (x, y + top, b)));
            hints.rows += block.rows;
        }
        hints
    }

    fn place(bindings: impl Iterator<Item = &'static KeyBinding>, width: u16, gap: u16) -> Self {
        let (mut x, mut y, mut items) = (0, 0, Vec::new());
        for binding in bindings {
            let cells = (binding.key.name().len() + 1 + binding.short.len()) as u16;
            if x > 0 && x + cells > width {
                (x, y) = (0, y + 1);
            }
            items.push((x, y, binding));
            x += cells + gap;
        }
        let rows = if items.is_empty() { 0 } else { y + 1 };
        Self { items, rows }
    }

    /// Draws them from the pen's first row on.
    pub fn draw(&self, pen: &mut Pen) {
        let (key, faint) = (pen.theme.key(), pen.theme.faint());
        for (x, y, binding) in &self.items {
            let x = pen.put(*x, *y, &binding.key.name(), key);
            pen.put(x + 1, *y, binding.short, faint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_hint_is_cut_at_eighty() {
        for place in Place::ALL {
            for (x, _, binding) in Hints::new(&[place], 80).items {
                let cells = binding.key.name().len() + 1 + binding.short.len();
                assert!(usize::from(x) + cells <= 80, "{binding:?}");
            }
        }
    }

    #[test]
    fn the_pages_take_one_row_of_eighty() {
        assert_eq!(Hints::new(&[Place::Everywhere], 80).rows, 1);
    }
}
