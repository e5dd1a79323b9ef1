//! Predictions: for each hardware, what a person should see of an order; worked out once and kept.

use std::sync::OnceLock;

use crate::diagnosis::action::Exchanges;
use crate::diagnosis::pattern;
use crate::diagnosis::sight::Sight;
use crate::diagnosis::space::Space;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::rover::mecanum::Signs;

/// What is asked of the person.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Question {
    /// How do the wheels turn: 81 answers.
    Wheels(Order, DutyLevel),
    /// What does the body do: 27 answers, twice.
    Body(usize, DutyLevel),
    /// Which rollers are wrong: 16 answers.
    Rollers,
    /// Is there tape on nose and FL: 2 kinds of hypothesis.
    Tape,
}

/// Predictions for the rover after some exchanges.
#[derive(Debug)]
pub struct Predictions {
    /// The exchanges.
    pub after: Exchanges,
    columns: Vec<OnceLock<Column>>,
    rollers: OnceLock<Vec<u8>>,
    tape: OnceLock<Vec<u8>>,
}

/// By hardware: the number of the answer.
#[derive(Debug)]
struct Column {
    wheels: Vec<u8>,
    body: Vec<u8>,
}

impl Predictions {
    /// Nothing worked out yet.
    pub fn new(after: Exchanges) -> Self {
        let columns = (0..2 * pattern::COUNT).map(|_| OnceLock::new()).collect();
        Self { after, columns, rollers: OnceLock::new(), tape: OnceLock::new() }
    }

    /// Calls `each` for every block of the space with the block's place and the answers of its hypotheses.
    pub fn blocks(&self, space: &Space, question: Question, mut each: impl FnMut(usize, &[u8])) {
        for block in space.blocks() {
            let answers = self.answers(space, question, block.table);
            each(block.at, answers.get(..block.len).unwrap_or_default());
        }
    }

    /// The answers of every hardware when the table of this number is in force.
    pub fn answers(&self, space: &Space, question: Question, table: usize) -> &[u8] {
        match question {
            Question::Wheels(order, duty) => &self.column(space, space.told(order, table), duty).wheels,
            Question::Body(row, duty) => &self.column(space, space.told(Order::Row(row), table), duty).body,
            Question::Rollers => self.rollers.get_or_init(|| {
                space.hardware.iter().map(|it| space.sight.rollers(it, &self.after).index() as u8).collect()
            }),
            Question::Tape => self.tape.get_or_init(|| space.hardware.iter().map(Sight::tape).collect()),
        }
    }

    fn column(&self, space: &Space, told: Signs, duty: DutyLevel) -> &Column {
        let place = duty as usize * pattern::COUNT + usize::from(pattern::number(told));
        self.columns[place].get_or_init(|| self.work_out(space, told, duty))
    }

    fn work_out(&self, space: &Space, told: Signs, duty: DutyLevel) -> Column {
        let answer = |hardware| {
            let turning = space.sight.turning(hardware, told, duty, &self.after);
            (space.sight.wheels(hardware, turning), space.sight.body(hardware, turning, &self.after))
        };
        let (wheels, body) = space.hardware.iter().map(answer).unzip();
        Column { wheels, body }
    }
}
