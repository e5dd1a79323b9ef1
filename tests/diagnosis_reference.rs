//! The posterior against a second, smaller one written from the definition: one loop over all hypotheses, no blocks, no
//! tables worked out beforehand, its own kinematics.
#![allow(clippy::unwrap_used, clippy::needless_pass_by_value)]

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use wheeltap::diagnosis::Diagnosis;
use wheeltap::diagnosis::body::{Turn, Way};
use wheeltap::diagnosis::hypothesis::Hypothesis;
use wheeltap::diagnosis::model::Model;
use wheeltap::diagnosis::move_table::TableFault;
use wheeltap::diagnosis::observation::Observation;
use wheeltap::diagnosis::rollers::Rollers;
use wheeltap::diagnosis::test::{Order, Spin};
use wheeltap::diagnosis::wheel_state::DutyLevel;
use wheeltap::rover::machine::Machine;
use wheeltap::rover::wheels::Wheel;

/// FL FR RL RR of each motion, in the order forward, backward, left, right, forward-left, forward-right,
/// backward-left, backward-right, turn-left, turn-right, rest. Direction table common to Lynch and Park (2017), section
/// 13.2, and Taheri, Qiao and Ghaeminezhad (2015), both from memory.
const ROWS: [&str; 11] = ["++++", "----", "-++-", "+--+", "0++0", "+00+", "-00-", "0--0", "-+-+", "+-+-", "0000"];

fn row(number: usize) -> Vec<i32> {
    ROWS[number]
        .chars()
        .map(|c| {
            if c == '+' {
                1
            } else if c == '-' {
                -1
            } else {
                0
            }
        })
        .collect()
}

/// What the outputs are told.
fn told(order: Order, table: TableFault) -> Vec<i32> {
    match (order, table) {
        (Order::OneWheel(wheel, spin), _) => {
            (0..4).map(|w| i32::from(w == wheel as usize) * if spin == Spin::Forward { 1 } else { -1 }).collect()
        }
        (Order::Row(r), TableFault::Exchanged(a, b)) => row(if r == a {
            b
        } else if r == b {
            a
        } else {
            r
        }),
        (Order::Row(r), TableFault::WrongSign(at, wheel)) => {
            let mut signs = row(r);
            if r == at {
                signs[wheel as usize] *= -1;
            }
            signs
        }
        (Order::Row(r), TableFault::None) => row(r),
    }
}

/// How the wheels turn.
fn turning(h: &Hypothesis, order: Order, duty: DutyLevel) -> Vec<i32> {
    let outputs = told(order, h.table);
    (0..4)
        .map(|wheel| {
            let driven = outputs[h.hardware.wiring.0[wheel] as usize];
            // Sound, reversed, dead, forward only, backward only, weak.
            match h.hardware.wheels[wheel] as usize {
                0 => driven,
                1 => -driven,
                2 => 0,
                3 => driven.max(0),
                4 => driven.min(0),
                _ => driven * i32::from(duty == DutyLevel::High),
            }
        })
        .collect()
}

/// The body's two answers: normal equations by Cramer's rule, with a touch of damping in place of the smallest fit.
fn body(h: &Hypothesis, turning: &[i32]) -> ([i32; 2], i32) {
    let corners = [(1.0, 0.8, -1.0), (1.0, -0.8, 1.0), (-1.0, 0.8, 1.0), (-1.0, -0.8, -1.0)];
    let mut m = [[0.0_f64; 3]; 3];
    let mut b = [0.0_f64; 3];
    for (wheel, (x, y, s)) in corners.into_iter().enumerate() {
        let s = if h.hardware.rollers.index() >> wheel & 1 == 1 { -s } else { s };
        let axes = [1.0, s, (s * x - y) / 1.8];
        for i in 0..3 {
            b[i] += axes[i] * f64::from(turning[wheel]);
            for j in 0..3 {
                m[i][j] += axes[i] * axes[j];
            }
        }
    }
    for (i, line) in m.iter_mut().enumerate() {
        line[i] += 1e-7;
    }
    let det = |m: [[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let parts: Vec<f64> = (0..3)
        .map(|column| {
            let mut with = m;
            for i in 0..3 {
                with[i][column] = b[i];
            }
            det(with) / det(m)
        })
        .collect();
    let largest = parts.iter().fold(0.0_f64, |most, part| most.max(part.abs()));
    let sign =
        |part: f64| if part.abs() > 1e-4 && part.abs() > 0.25 * largest - 1e-4 { part.signum() as i32 } else { 0 };
    ([sign(parts[0]), sign(parts[1])], sign(parts[2]))
}

fn one<T: PartialEq>(said: Option<T>, right: T, wrong: f64, answers: f64) -> f64 {
    said.map_or(1.0, |said| if said == right { 1.0 - wrong } else { wrong / (answers - 1.0) })
}

/// Chance of one observation.
fn likelihood(h: &Hypothesis, said: Observation) -> f64 {
    match said {
        Observation::Stand(order, duty, said) => {
            said.iter().zip(turning(h, order, duty)).map(|(said, right)| one(*said, right, 0.02, 3.0)).product()
        }
        Observation::Floor(row, duty, way, turn) => {
            let (went, turned) = body(h, &turning(h, Order::Row(row), duty));
            one(way.map(|way| [way.ahead, way.left]), went, 0.05, 9.0) * one(turn.map(Turn::sign), turned, 0.03, 3.0)
        }
        Observation::Look(said) => one(Some(said), h.hardware.rollers, 0.02, 16.0),
        Observation::Tape | Observation::Correction(..) => 1.0,
    }
}

fn prior(h: &Hypothesis) -> f64 {
    let wheels: f64 = h.hardware.wheels.iter().map(|s| [0.90, 0.05, 0.02, 0.01, 0.01, 0.01][*s as usize]).product();
    let wiring = if h.hardware.wiring.0 == Wheel::ALL { 0.85 } else { 0.15 / 23.0 };
    let rollers = if h.hardware.rollers.index() == 0 { 0.90 } else { 0.10 / 15.0 };
    wheels * wiring * rollers * if h.table == TableFault::None { 0.92 } else { 0.08 / 87.0 }
}

/// An answer that a person might give.
fn any_observation(rng: &mut ChaCha8Rng) -> Observation {
    let mut pick = |n: u32| rng.next_u32() % n;
    let duty = if pick(2) == 0 { DutyLevel::Low } else { DutyLevel::High };
    let sign = |n: u32| n as i32 - 1;
    match pick(5) {
        0 => Observation::Look(Rollers::all()[pick(16) as usize]),
        1 => {
            let way = Way::from_parts(sign(pick(3)), sign(pick(3)));
            let turn = Turn::from_sign(sign(pick(3)));
            let row = pick(11) as usize;
            Observation::Floor(row, duty, (pick(4) > 0).then_some(way), Some(turn))
        }
        kind => {
            let order = if kind == 2 {
                Order::OneWheel(Wheel::ALL[pick(4) as usize], if pick(2) == 0 { Spin::Forward } else { Spin::Backward })
            } else {
                Order::Row(pick(11) as usize)
            };
            let mut said = [None; 4];
            for said in &mut said {
                *said = (pick(5) > 0).then(|| sign(pick(3)));
            }
            said[0] = said[0].or(Some(0));
            Observation::Stand(order, duty, said)
        }
    }
}

/// Different tests only: a repeat weighs less, which is another promise.
fn different(rng: &mut ChaCha8Rng, count: usize) -> Vec<Observation> {
    let mut list: Vec<Observation> = Vec::new();
    while list.len() < count {
        let said = any_observation(rng);
        if list.iter().all(|other| other.test() != said.test()) {
            list.push(said);
        }
    }
    list
}

fn compare(diagnosis: &Diagnosis, seed: u64, count: usize) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut diagnosis = diagnosis.afresh();
    let said = different(&mut rng, count);
    for said in &said {
        diagnosis.observe(*said).unwrap();
    }
    let weigh = |h: Hypothesis| said.iter().fold(prior(&h), |weight, said| weight * likelihood(&h, *said));
    let weights: Vec<f64> = diagnosis.space().hypotheses().map(weigh).collect();
    let total: f64 = weights.iter().sum();
    for (place, weight) in weights.iter().enumerate() {
        let ours = diagnosis.posterior().probability(place);
        assert!((ours - weight / total).abs() <= 1e-9, "seed {seed}, place {place}: {ours} against {}", weight / total);
    }
    let first: f64 = diagnosis.space().hypotheses().map(|h| prior(&h)).sum();
    let evidence = (total / first).ln();
    assert!((diagnosis.posterior().log_evidence() - evidence).abs() < 1e-8, "seed {seed}");
}

#[test]
fn two_faults_on_random_answers() {
    let diagnosis = Diagnosis::new(Model { most_faults: 2, ..Model::base() }, &Machine::default(), &[]);
    for seed in 0..40 {
        compare(&diagnosis, seed, 2 + seed as usize % 12);
    }
}

#[test]
fn three_faults_on_random_answers() {
    let diagnosis = Diagnosis::new(Model::base(), &Machine::default(), &[]);
    for seed in 100..104 {
        compare(&diagnosis, seed, 6);
    }
}
