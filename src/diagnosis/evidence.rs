//! Evidence: the observations kept, which of them repeat a test, and what each weighs.

use crate::diagnosis::action::Exchanges;
use crate::diagnosis::beliefs::Misreading;
use crate::diagnosis::move_table::Moves;
use crate::diagnosis::observation::{Factor, Kept, Observation, ObservationId};
use crate::diagnosis::test::{Order, Test};

/// Every observation that was not taken back, in order.
#[derive(Clone, Debug, Default)]
pub struct Evidence {
    kept: Vec<Kept>,
    next: usize,
}

impl Evidence {
    /// Keeps one.
    pub fn keep(&mut self, said: Observation, after: Exchanges) -> ObservationId {
        let id = ObservationId(self.next);
        self.next += 1;
        self.kept.push(Kept { id, said, after, doubted: false });
        id
    }

    /// Takes one back; false when it is not there.
    pub fn take_back(&mut self, id: ObservationId) -> bool {
        let before = self.kept.len();
        self.kept.retain(|kept| kept.id != id);
        self.kept.len() < before
    }

    /// Doubts one, or no longer; false when it is not there.
    pub fn doubt(&mut self, id: ObservationId, doubted: bool) -> bool {
        let found = self.kept.iter_mut().find(|kept| kept.id == id);
        found.map(|kept| kept.doubted = doubted).is_some()
    }

    /// All that are kept, in order.
    pub fn all(&self) -> &[Kept] {
        &self.kept
    }

    /// The factors of one, weakened where an earlier one answers the same test, softened where it is doubted.
    pub fn factors(&self, kept: &Kept, misread: &Misreading, moves: &Moves) -> Vec<Factor> {
        let repeat = self.earlier(kept).any(|earlier| same_test(earlier, kept));
        let factors = kept.said.factors(misread, moves).into_iter();
        let doubted = factors.map(|factor| if kept.doubted { factor.doubted(misread.doubted) } else { factor });
        doubted.map(|factor| if repeat { factor.weakened(misread.repeat) } else { factor }).collect()
    }

    fn earlier(&self, kept: &Kept) -> impl Iterator<Item = &Kept> {
        let id = kept.id;
        self.kept.iter().take_while(move |earlier| earlier.id != id)
    }

    /// Later answers to the same test.
    pub fn repeats(&self, kept: &Kept) -> impl Iterator<Item = &Kept> {
        self.kept.iter().filter(move |later| later.id > kept.id && same_test(later, kept))
    }

    /// Whether this test was answered.
    pub fn has(&self, test: Test) -> bool {
        self.kept.iter().any(|kept| kept.said.test() == test)
    }

    /// Whether this row was seen on the stand.
    pub fn row_on_stand(&self, row: usize) -> bool {
        self.kept.iter().any(|kept| matches!(kept.said.test(), Test::Stand(Order::Row(at), _) if at == row))
    }

    /// Whether this row was seen at all, every wheel or both answers of the floor.
    pub fn row_seen(&self, row: usize) -> bool {
        self.kept.iter().any(|kept| match kept.said {
            Observation::Stand(Order::Row(at), _, said) => at == row && said.iter().all(Option::is_some),
            Observation::Floor(at, _, way, turn) => at == row && way.is_some() && turn.is_some(),
            _ => false,
        })
    }

    /// The exchanges under which something was observed, each once, in order of first use.
    pub fn exchanges(&self) -> Vec<&Exchanges> {
        let mut found: Vec<&Exchanges> = Vec::new();
        for kept in self.kept.iter().filter(|kept| !kept.after.is_none()) {
            if !found.contains(&&kept.after) {
                found.push(&kept.after);
            }
        }
        found
    }
}

fn same_test(a: &Kept, b: &Kept) -> bool {
    a.said.test() == b.said.test() && a.after == b.after
}
