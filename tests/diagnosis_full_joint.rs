//! The full joint in factors against every one of its 43,794,432 hypotheses.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use wheeltap::diagnosis::beliefs::Beliefs;
use wheeltap::diagnosis::cause::Cause;
use wheeltap::diagnosis::full_joint::FullJoint;
use wheeltap::diagnosis::hypothesis::{Hardware, Hypothesis, Locus};
use wheeltap::diagnosis::move_table::{Moves, TableFault};
use wheeltap::diagnosis::rollers::Rollers;
use wheeltap::diagnosis::test::{Order, Spin};
use wheeltap::diagnosis::wheel_state::{DutyLevel, WheelState};
use wheeltap::diagnosis::wiring::Wiring;
use wheeltap::rover::wheels::Wheel;

type Said = (Order, DutyLevel, [Option<i32>; 4]);

fn any_answer(rng: &mut ChaCha8Rng) -> Said {
    let mut pick = |n: u32| rng.next_u32() % n;
    let order = match pick(3) {
        0 => Order::OneWheel(Wheel::ALL[pick(4) as usize], if pick(2) == 0 { Spin::Forward } else { Spin::Backward }),
        _ => Order::Row(pick(11) as usize),
    };
    let duty = if pick(2) == 0 { DutyLevel::Low } else { DutyLevel::High };
    let said = [(); 4].map(|()| (pick(6) > 0).then(|| pick(3) as i32 - 1));
    (order, duty, said)
}

/// Sums over every hypothesis: total, by wheel and state, by number of faults; and the weight of one of them.
struct Brute {
    total: f64,
    states: [[f64; 6]; 4],
    by_faults: [f64; 8],
    samples: Vec<(Hypothesis, f64)>,
}

impl Brute {
    fn add(&mut self, part: &Self) {
        self.total += part.total;
        let states = self.states.iter_mut().flatten().zip(part.states.iter().flatten());
        for (to, from) in states.chain(self.by_faults.iter_mut().zip(&part.by_faults)) {
            *to += from;
        }
    }
}

fn chance(said: Option<i32>, right: i32) -> f64 {
    said.map_or(1.0, |said| if said == right { 0.98 } else { 0.01 })
}

fn state_of(number: usize, wheel: usize) -> usize {
    number / 6_usize.pow(wheel as u32) % 6
}

fn brute(said: &[Said], look: Option<Rollers>) -> Brute {
    let moves = Moves::default();
    let wheel_prior = [0.90, 0.05, 0.02, 0.01, 0.01, 0.01];
    let rollers: Vec<f64> = (0..16)
        .map(|mask| {
            let seen = look.map_or(1.0, |look| if look.index() == mask { 0.98 } else { 0.02 / 15.0 });
            seen * if mask == 0 { 0.9 } else { 0.1 / 15.0 }
        })
        .collect();
    let mut sums = Brute { total: 0.0, states: [[0.0; 6]; 4], by_faults: [0.0; 8], samples: Vec::new() };
    for (table_number, table) in moves.faults().into_iter().enumerate() {
        let table_prior = if table_number == 0 { 0.92 } else { 0.08 / 87.0 };
        for (wiring_number, wiring) in Wiring::all().into_iter().enumerate() {
            let wiring_prior = if wiring_number == 0 { 0.85 } else { 0.15 / 23.0 };
            let told: Vec<[i32; 4]> = said.iter().map(|(order, ..)| order.told(&moves, table)).collect();
            // Small sums first: forty million small numbers added to one large one lose more than the promise allows.
            let mut part = Brute { total: 0.0, states: [[0.0; 6]; 4], by_faults: [0.0; 8], samples: Vec::new() };
            for wheels in 0..1296 {
                let mut weight = table_prior * wiring_prior;
                for wheel in 0..4 {
                    let state = WheelState::ALL[state_of(wheels, wheel)];
                    weight *= wheel_prior[state_of(wheels, wheel)];
                    for ((_, duty, said), told) in said.iter().zip(&told) {
                        weight *= chance(said[wheel], state.turns(told[wiring.0[wheel] as usize], *duty));
                    }
                }
                let faulty = (0..4).filter(|wheel| state_of(wheels, *wheel) != 0).count();
                let faulty = faulty + usize::from(table_number != 0) + usize::from(wiring_number != 0);
                for (mask, chance) in rollers.iter().enumerate() {
                    let weight = weight * chance;
                    part.total += weight;
                    part.by_faults[faulty + usize::from(mask != 0)] += weight;
                    for wheel in 0..4 {
                        part.states[wheel][state_of(wheels, wheel)] += weight;
                    }
                }
                if (wheels * 31 + wiring_number * 7 + table_number) % 997 == 0 {
                    let mask = wheels % 16;
                    sums.samples.push((hypothesis(wheels, wiring, mask, table), weight * rollers[mask]));
                }
            }
            sums.add(&part);
        }
    }
    sums
}

fn hypothesis(wheels: usize, wiring: Wiring, mask: usize, table: TableFault) -> Hypothesis {
    let wheels = [0, 1, 2, 3].map(|wheel| WheelState::ALL[state_of(wheels, wheel)]);
    let rollers = Rollers::all()[mask];
    Hypothesis { hardware: Hardware { wheels, wiring, rollers, cause: Cause::None, locus: Locus::Open }, table }
}

#[test]
fn factors_equal_every_hypothesis() {
    for (seed, answers) in [(1, 3), (2, 5), (3, 1)] {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let said: Vec<Said> = (0..answers).map(|_| any_answer(&mut rng)).collect();
        let look = (seed == 2).then(|| Rollers::wrong_at(&[Wheel::FL]));
        let mut joint = FullJoint::new(&Beliefs::default(), Moves::default(), [false; 4]);
        for (order, duty, said) in &said {
            joint.stand(*order, *duty, *said);
        }
        if let Some(look) = look {
            joint.look(look);
        }
        let brute = brute(&said, look);
        assert!(brute.samples.len() > 2_000);
        for (hypothesis, weight) in &brute.samples {
            let (ours, right) = (joint.probability(hypothesis), weight / brute.total);
            assert!((ours - right).abs() <= 1e-12, "seed {seed}: {ours} against {right} for {hypothesis:?}");
        }
        let pairs = joint.states().into_iter().flatten().zip(brute.states.into_iter().flatten());
        for (ours, right) in pairs.chain(joint.by_faults().into_iter().zip(brute.by_faults)) {
            assert!((ours - right / brute.total).abs() <= 1e-12, "seed {seed}: {ours} against {}", right / brute.total);
        }
    }
}

/// A thousand answers that contradict each other leave a sum of 1.
#[test]
fn nothing_underflows() {
    let mut joint = FullJoint::new(&Beliefs::default(), Moves::default(), [false; 4]);
    let mut rng = ChaCha8Rng::seed_from_u64(9);
    for _ in 0..1_000 {
        let (order, duty, said) = any_answer(&mut rng);
        joint.stand(order, duty, said);
    }
    let sum: f64 = joint.by_faults().iter().sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
}
