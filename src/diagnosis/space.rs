//! The space: every hypothesis up to a number of faults, in blocks of one move table each.
//!
//! Block 0 is the right table with every hardware; each table fault has a block with the hardware of one fault fewer,
//! which is a beginning of the same list.

use crate::diagnosis::action::Exchanges;
use crate::diagnosis::cause;
use crate::diagnosis::hypothesis::{self, Hardware, Hypothesis};
use crate::diagnosis::model::Model;
use crate::diagnosis::move_table::{Moves, TableFault};
use crate::diagnosis::prediction::Question;
use crate::diagnosis::sight::Sight;
use crate::diagnosis::test::Order;
use crate::rover::machine::Machine;
use crate::rover::mecanum::Signs;

/// Every hypothesis of a model.
#[derive(Clone, Debug)]
pub struct Space {
    /// Every hardware, fewer faults first.
    pub hardware: Vec<Hardware>,
    /// The rows.
    pub moves: Moves,
    /// How hypotheses become answers.
    pub sight: Sight,
    tables: Vec<TableFault>,
    shorter: usize,
}

/// The hypotheses that share one move table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    /// The table's number.
    pub table: usize,
    /// Place of its first hypothesis.
    pub at: usize,
    /// How many hypotheses.
    pub len: usize,
}

impl Space {
    /// The space of this model for this machine and these rows.
    pub fn new(model: &Model, machine: &Machine, moves: Moves) -> Self {
        let hardware = hypothesis::hardware(model.most_faults, model.extended, machine);
        let tables = match model.most_faults {
            0 => vec![TableFault::None],
            _ if model.table_trusted => vec![TableFault::None],
            _ => moves.faults(),
        };
        let shorter = hypothesis::beginning(&hardware, model.most_faults.saturating_sub(1));
        let sight =
            Sight { body: model.body.table(), inverted: cause::inverted(machine), doubts_friction: model.extended };
        Self { hardware, moves, sight, tables, shorter }
    }

    /// How many hypotheses.
    pub fn len(&self) -> usize {
        self.hardware.len() + (self.tables.len() - 1) * self.shorter
    }

    /// Never: nothing wrong is always a hypothesis.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// How many tables there are, the right one counted.
    pub fn tables(&self) -> usize {
        self.tables.len()
    }

    /// The fault of the table of this number.
    pub fn table(&self, number: usize) -> TableFault {
        self.tables.get(number).copied().unwrap_or(TableFault::None)
    }

    /// What the outputs are told with the table of this number.
    pub fn told(&self, order: Order, table: usize) -> Signs {
        order.told(&self.moves, self.table(table))
    }

    /// One block for each table.
    pub fn blocks(&self) -> impl Iterator<Item = Block> + '_ {
        (0..self.tables.len()).map(|table| self.block(table))
    }

    /// The block of this table.
    pub fn block(&self, table: usize) -> Block {
        match table {
            0 => Block { table, at: 0, len: self.hardware.len() },
            _ => Block { table, at: self.hardware.len() + (table - 1) * self.shorter, len: self.shorter },
        }
    }

    /// The hypothesis at this place.
    pub fn hypothesis(&self, place: usize) -> Hypothesis {
        let (table, hardware) = match place.checked_sub(self.hardware.len()) {
            Some(rest) if self.shorter > 0 => (1 + rest / self.shorter, rest % self.shorter),
            _ => (0, place),
        };
        let hardware = self.hardware.get(hardware).copied().unwrap_or(Hardware::SOUND);
        Hypothesis { hardware, table: self.table(table) }
    }

    /// The number of the answer that this hypothesis predicts, for the rover after these exchanges.
    pub fn answer(&self, hypothesis: &Hypothesis, question: Question, after: &Exchanges) -> u8 {
        let hardware = &hypothesis.hardware;
        let turning =
            |order: Order, duty| self.sight.turning(hardware, order.told(&self.moves, hypothesis.table), duty, after);
        match question {
            Question::Wheels(order, duty) => self.sight.wheels(hardware, turning(order, duty)),
            Question::Body(row, duty) => self.sight.body(hardware, turning(Order::Row(row), duty), after),
            Question::Rollers => self.sight.rollers(hardware, after).index() as u8,
            Question::Tape => Sight::tape(hardware),
        }
    }

    /// Every hypothesis, in order.
    pub fn hypotheses(&self) -> impl Iterator<Item = Hypothesis> + '_ {
        (0..self.len()).map(|place| self.hypothesis(place))
    }
}
