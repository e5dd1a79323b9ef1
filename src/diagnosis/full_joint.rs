//! The full joint for wheels and rollers watched, without the floor: every combination of faults, however many.
//!
//! Given wiring and move table, the four wheels are independent of each other, and what is seen of wheels does not
//! depend on the rollers. So one number for each table, wiring, wheel and state carries the whole joint: with eleven
//! rows 88 * 24 * 4 * 6 = 50,688 numbers stand for 6^4 * 24 * 16 * 88 = 43,794,432 hypotheses, exactly.

use crate::diagnosis::beliefs::{Beliefs, Misreading};
use crate::diagnosis::cause::Cause;
use crate::diagnosis::hypothesis::Hypothesis;
use crate::diagnosis::move_table::{Moves, TableFault};
use crate::diagnosis::reading;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::{DutyLevel, WheelState};
use crate::diagnosis::wiring::Wiring;
use crate::rover::wheels::Wheel;

/// Weights by wheel, then state.
type Wheels = [[f64; 6]; 4];

/// The joint in factors.
#[derive(Clone, Debug)]
pub struct FullJoint {
    moves: Moves,
    inverted: [bool; 4],
    tables: Vec<TableFault>,
    wirings: Vec<Wiring>,
    misread: Misreading,
    /// By table, then wiring; the states of each wheel sum to 1.
    wheels: Vec<Wheels>,
    /// By table, then wiring: logarithm of its weight with all states of the wheels.
    logs: Vec<f64>,
    rollers: [f64; Rollers::COUNT],
}

impl FullJoint {
    /// Before any test. `inverted` says, by wheel, whether the drive board's table turns the sign for it.
    pub fn new(beliefs: &Beliefs, moves: Moves, inverted: [bool; 4]) -> Self {
        let tables = moves.faults();
        let wirings = Wiring::all();
        let wheel = WheelState::ALL.map(|state| beliefs.wheel_state(state));
        let chance = |table| {
            let table = beliefs.table(table, tables.len());
            wirings.iter().map(move |wiring| table * beliefs.wiring(*wiring))
        };
        let logs: Vec<f64> = tables.iter().flat_map(|table| chance(*table)).map(f64::ln).collect();
        let sum: f64 = wheel.iter().sum();
        let rollers = Rollers::all().map(|rollers| beliefs.rollers(rollers));
        let misread = beliefs.misread;
        let wheels = vec![[wheel.map(|chance| chance / sum); 4]; logs.len()];
        Self { moves, inverted, tables, wirings, misread, wheels, logs, rollers }
    }

    /// Takes what was seen of the wheels on the stand; `None` for a wheel not looked at.
    pub fn stand(&mut self, order: Order, duty: DutyLevel, said: [Option<i32>; 4]) {
        let chance = self.chances(duty, said);
        for (number, table) in self.tables.iter().enumerate() {
            let told = order.told(&self.moves, *table);
            let places = number * self.wirings.len()..(number + 1) * self.wirings.len();
            for (place, wiring) in places.zip(&self.wirings) {
                let driven = Wheel::ALL.map(|wheel| {
                    let output = wiring.output_of(wheel);
                    Wiring::mirrored(output, wheel, self.inverted) * told[output.index()]
                });
                self.logs[place] += take(&mut self.wheels[place], driven, &chance).ln();
            }
        }
    }

    /// Takes a look at the rollers.
    pub fn look(&mut self, said: Rollers) {
        for (number, weight) in self.rollers.iter_mut().enumerate() {
            *weight *= reading::rollers(&self.misread, said, number as u8);
        }
        let total: f64 = self.rollers.iter().sum();
        self.rollers = self.rollers.map(|weight| weight / total);
    }

    /// Chance of what was said of each wheel: by wheel, by how it is driven, by state.
    fn chances(&self, duty: DutyLevel, said: [Option<i32>; 4]) -> [[[f64; 6]; 3]; 4] {
        said.map(|said| {
            [-1, 0, 1].map(|driven| {
                WheelState::ALL.map(|state| reading::wheel(&self.misread, said, state.turns(driven, duty)))
            })
        })
    }

    /// By table, then wiring: probability with all states of the wheels.
    fn shares(&self) -> Vec<f64> {
        let most = self.logs.iter().fold(f64::NEG_INFINITY, |most, log| most.max(*log));
        let weights: Vec<f64> = self.logs.iter().map(|log| (log - most).exp()).collect();
        let total: f64 = weights.iter().sum();
        weights.into_iter().map(|weight| weight / total).collect()
    }

    /// Probability of one hypothesis of the base model; 0 for one with a common cause.
    pub fn probability(&self, hypothesis: &Hypothesis) -> f64 {
        let hardware = &hypothesis.hardware;
        let table = self.tables.iter().position(|table| *table == hypothesis.table);
        let wiring = self.wirings.iter().position(|wiring| *wiring == hardware.wiring);
        let (Some(table), Some(wiring)) = (table, wiring) else { return 0.0 };
        if hardware.cause != Cause::None {
            return 0.0;
        }
        let place = table * self.wirings.len() + wiring;
        let states = self.wheels[place].iter().zip(hardware.wheels);
        let wheels: f64 = states.map(|(weights, state)| weights[state.index()]).product();
        self.shares()[place] * wheels * self.rollers[hardware.rollers.index()]
    }

    /// Probability of each state of each wheel.
    pub fn states(&self) -> Wheels {
        let mut states = [[0.0; 6]; 4];
        for (share, wheels) in self.shares().iter().zip(&self.wheels) {
            for (to, weight) in states.iter_mut().flatten().zip(wheels.iter().flatten()) {
                *to += share * weight;
            }
        }
        states
    }

    /// Probability of 0, 1, ... 7 faulty components.
    pub fn by_faults(&self) -> [f64; 8] {
        let shares = self.shares();
        let right = self.rollers[Rollers::RIGHT.index()];
        let mut chances = [0.0; 8];
        for (place, weights) in self.wheels.iter().enumerate() {
            let base = usize::from(self.tables[place / self.wirings.len()] != TableFault::None)
                + usize::from(self.wirings[place % self.wirings.len()] != Wiring::RIGHT);
            let mut number = [shares[place], 0.0, 0.0, 0.0, 0.0, 0.0];
            for [sound, faulty @ ..] in weights {
                number = one_more(number, *sound, faulty.iter().sum());
            }
            number = one_more(number, right, self.rollers.iter().skip(1).sum());
            for (faults, chance) in number.iter().enumerate() {
                chances[base + faults] += chance;
            }
        }
        chances
    }
}

/// Weighs the states of four wheels driven so; gives the chance of the answer and brings each wheel back to a sum of 1.
fn take(wheels: &mut Wheels, driven: [i32; 4], chance: &[[[f64; 6]; 3]; 4]) -> f64 {
    let mut answer = 1.0;
    for ((states, driven), chance) in wheels.iter_mut().zip(driven).zip(chance) {
        let factors = &chance[(driven + 1) as usize];
        let mut sum = 0.0;
        for (weight, factor) in states.iter_mut().zip(factors) {
            *weight *= factor;
            sum += *weight;
        }
        *states = states.map(|weight| weight / sum);
        answer *= sum;
    }
    answer
}

/// The number of faulty components after one more component.
fn one_more(number: [f64; 6], sound: f64, faulty: f64) -> [f64; 6] {
    std::array::from_fn(|faults| {
        let fewer = faults.checked_sub(1).map_or(0.0, |fewer| number[fewer] * faulty);
        number[faults] * sound + fewer
    })
}
