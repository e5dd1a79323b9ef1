//! A link whose frames are a shipped file's own: nothing is learned but whether each press says what it should.

use std::sync::Arc;

use wheeltap_parsers::{Nanos, What, Wire};

use super::body::Read;
use super::learned::Press;
use super::probe;
use super::rhythm::Rhythm;
use super::step::Step;
use crate::rover::file::RoverFile;
use crate::rover::mecanum::{Motion, body_motion, scrub};
use crate::rover::state::{Fields, RoverState, motion_words};

/// One order: during which step, when, and what it means for the body.
struct Order {
    step: Option<Step>,
    at: Nanos,
    says: &'static str,
}

/// The presses heard, each with the motion that its orders mean.
pub fn presses(rover: &Arc<RoverFile>, heard: &[Read]) -> Vec<Press> {
    let orders = orders(rover, heard);
    let moves = Motion::ALL.into_iter().filter(|motion| *motion != Motion::Rest);
    moves.filter_map(|motion| press(&orders, motion)).collect()
}

/// The rhythm of the orders, where it is even over most of what was heard.
pub fn rhythm(rover: &Arc<RoverFile>, heard: &[Read]) -> Rhythm {
    let orders = orders(rover, heard);
    let moving: Vec<&Order> = orders.iter().filter(|order| order.says != Motion::Rest.id()).collect();
    let pairs = moving.iter().zip(moving.iter().skip(1)).filter(|(a, b)| a.step == b.step && a.step.is_some());
    let mut gaps: Vec<Nanos> = pairs.map(|(a, b)| b.at - a.at).collect();
    gaps.sort_unstable();
    let Some(gap) = gaps.get(gaps.len() / 2).copied().filter(|_| gaps.len() >= 8) else { return Rhythm::OnChange(1) };
    let near = gaps.iter().filter(|one| (**one - gap).abs() * 3 <= gap).count();
    if near * 10 >= gaps.len() * 8 { Rhythm::Every(gap) } else { Rhythm::OnChange(1) }
}

fn orders(rover: &Arc<RoverFile>, heard: &[Read]) -> Vec<Order> {
    let mut orders = Vec::new();
    let Some(profile) = rover.profile(Wire::ToDrive) else { return orders };
    let mut state = RoverState::new(Arc::clone(&rover.meaning));
    probe::decode(profile, heard, |read, record| {
        let What::Frame { kind, values, .. } = record.what else { return };
        let (Some(layout), Some(meaning)) =
            (profile.kinds.get(kind), rover.meaning.kinds[Wire::ToDrive.index()].get(kind))
        else {
            return;
        };
        state.take(Wire::ToDrive, Fields { meaning, fields: &layout.fields, values }, record.at);
        if let Some(duties) = state.meant() {
            let says = motion_words(body_motion(duties), scrub(duties));
            orders.push(Order { step: read.and_then(|read| read.step), at: record.at.hi, says });
        }
    });
    orders
}

fn press(orders: &[Order], motion: Motion) -> Option<Press> {
    let during: Vec<&Order> = orders.iter().filter(|order| order.step == Some(Step::Move(motion))).collect();
    let rest = Motion::Rest.id();
    let moving = during.iter().filter(|order| order.says != rest);
    // A stick passes through other motions on its way: the one it stayed in longest counts.
    let count = |says: &str| during.iter().filter(|order| order.says == says).count();
    let says = moving.max_by_key(|order| (count(order.says), order.says == motion.id())).map(|order| order.says);
    let last_moving = during.iter().rposition(|order| order.says != rest);
    let rested = last_moving.and_then(|place| during.get(place + 1)).map(|order| order.at);
    let heard = during.len();
    (heard > 0).then(|| Press { motion, frames: heard, says: says.map(str::to_owned), several: Vec::new(), rested })
}
