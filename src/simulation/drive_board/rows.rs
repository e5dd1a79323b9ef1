//! The plain line's table of moves inside the drive board: a row for each move, and what may be wrong in it.

use crate::rover::wheels::Wheel;
use crate::simulation::mixer::of_way;
use crate::simulation::{Fault, Settings, Way};

/// Signs of FL, FR, RL, RR for each move that is not as it should be.
#[derive(Clone, Debug, Default)]
pub(in crate::simulation) struct Rows(Vec<(Way, [i32; 4])>);

impl Rows {
    /// The table of this build.
    pub(in crate::simulation) fn new(settings: &Settings) -> Self {
        let mut rows = Self::default();
        for fault in &settings.faults {
            match *fault {
                Fault::RowSign(way, wheel) => rows.turn_sign(way, wheel),
                Fault::RowsExchanged(a, b) => {
                    let (one, other) = (rows.signs(a), rows.signs(b));
                    rows.put(a, other);
                    rows.put(b, one);
                }
                _ => {}
            }
        }
        rows
    }

    /// The row of a move.
    pub(in crate::simulation) fn signs(&self, way: Way) -> [i32; 4] {
        self.0.iter().find(|(row, _)| *row == way).map_or_else(|| of_way(way), |(_, signs)| *signs)
    }

    /// The row as it should be.
    pub(in crate::simulation) fn correct(&mut self, way: Way) {
        self.0.retain(|(row, _)| *row != way);
    }

    /// The moves whose rows are wrong.
    pub(in crate::simulation) fn wrong(&self) -> impl Iterator<Item = Way> {
        self.0.iter().filter(|(way, signs)| *signs != of_way(*way)).map(|(way, _)| *way)
    }

    fn turn_sign(&mut self, way: Way, wheel: Wheel) {
        let mut signs = self.signs(way);
        signs[wheel.index()] *= -1;
        self.put(way, signs);
    }

    fn put(&mut self, way: Way, signs: [i32; 4]) {
        self.correct(way);
        self.0.push((way, signs));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulation::Style;

    #[test]
    fn rows_are_wrong_until_they_are_corrected() {
        let mut settings = Settings::demo(Style::PlainLine, 1);
        settings.faults = vec![Fault::RowSign(Way::Port, Wheel::FL), Fault::RowsExchanged(Way::Ahead, Way::SpinPort)];
        let mut rows = Rows::new(&settings);
        assert_eq!(rows.signs(Way::Port), [1, 1, 1, -1]);
        assert_eq!((rows.signs(Way::Ahead), rows.signs(Way::SpinPort)), ([-1, 1, -1, 1], [1; 4]));
        assert_eq!(rows.signs(Way::Astern), [-1; 4]);
        assert_eq!(rows.wrong().count(), 3);
        for way in [Way::Port, Way::Ahead, Way::SpinPort] {
            rows.correct(way);
        }
        assert_eq!(rows.wrong().count(), 0);
    }
}
