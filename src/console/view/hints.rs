//! The keys that work now, with a word each, made from the key table.

use crate::console::key_table::{Key, KeyBinding, Place, TABLE};
use crate::console::pen::Pen;

/// One hint: neighbours of the table that share their words, such as back and on.
type Hint = &'static [KeyBinding];

/// Where each hint goes.
pub struct Hints {
    items: Vec<(u16, u16, Hint)>,
    /// Rows that they need.
    pub rows: u16,
}

impl Hints {
    /// The hints of `places`, flowing over rows of `width` cells, each place from a new row on.
    pub fn new(places: &[Place], width: u16) -> Self {
        let mut hints = Self { items: Vec::new(), rows: 0 };
        for place in places {
            let (roomy, tight) = (Self::block(all(*place), width, 2), Self::block(all(*place), width, 1));
            let block = if tight.rows < roomy.rows { tight } else { roomy };
            let top = hints.rows;
            let moved = block.items.into_iter().map(|(x, y, hint)| (x, y + top, hint));
            hints.items.extend(moved);
            hints.rows += block.rows;
        }
        hints
    }

    /// Help and quit alone, for the smallest screens.
    pub fn least(width: u16) -> Self {
        let wanted = [Key::Char('?'), Key::Char('q')];
        let least = |hint: &Hint| hint.iter().any(|b| wanted.contains(&b.key));
        Self::block(all(Place::Everywhere).filter(least), width, 1)
    }

    fn block(all: impl Iterator<Item = Hint>, width: u16, gap: u16) -> Self {
        let (mut x, mut y, mut items) = (0, 0, Vec::new());
        for hint in all {
            let cells = cells(hint);
            if x > 0 && x + cells > width {
                (x, y) = (0, y + 1);
            }
            items.push((x, y, hint));
            x += cells + gap;
        }
        let rows = if items.is_empty() { 0 } else { y + 1 };
        Self { items, rows }
    }

    /// Draws them from the pen's first row on.
    pub fn draw(&self, pen: &mut Pen) {
        let (key, faint) = (pen.theme.key(), pen.theme.faint());
        for (x, y, hint) in &self.items {
            let mut x = *x;
            for binding in *hint {
                x = pen.put(x, *y, &binding.key.name(), key) + 1;
            }
            pen.put(x, *y, words(hint), faint);
        }
    }
}

fn all(place: Place) -> impl Iterator<Item = Hint> {
    let one = |a: &KeyBinding, b: &KeyBinding| a.place == b.place && a.short == b.short;
    TABLE
        .chunk_by(one)
        .filter(move |hint| hint.first().is_some_and(|b| b.place == place))
        .filter(|hint| !words(hint).is_empty())
}

fn words(hint: Hint) -> &'static str {
    hint.first().map_or("", |binding| binding.short)
}

fn cells(hint: Hint) -> u16 {
    let keys: usize = hint.iter().map(|b| b.key.name().len() + 1).sum();
    (keys + words(hint).len()) as u16
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_hint_is_cut_at_eighty() {
        for place in Place::ALL {
            for (x, _, hint) in Hints::new(&[place], 80).items {
                assert!(x + cells(hint) <= 80, "{hint:?}");
            }
        }
    }

    #[test]
    fn every_key_but_control_c_is_hinted_where_it_works() {
        for place in Place::ALL {
            let hinted: Vec<_> = Hints::new(&[place], 80).items.into_iter().flat_map(|(.., hint)| hint).collect();
            let wanted = TABLE.iter().filter(|b| b.place == place && b.key != Key::Ctrl('c'));
            assert_eq!(hinted, wanted.collect::<Vec<_>>());
        }
    }

    #[test]
    fn the_pages_take_one_row_of_eighty_and_a_replay_two() {
        assert_eq!(Hints::new(&[Place::Everywhere], 80).rows, 1);
        assert_eq!(Hints::new(&[Place::Replay], 80).rows, 2);
    }
}
