//! Two sessions side by side: what was set differently, what came differently, and whether that is more than chance.
//!
//! Each figure is taken from the engine's events of each session by itself ([`Side`]); [`Comparison`] holds both against
//! each other. Tests are exact and take the things counted as independent; how many were made is part of the answer.

pub mod chance;
pub mod measure;
pub mod side;

use crate::findings::{Finding, Severity};
use measure::{Counts, Measure, Spread};
pub use side::Side;

/// One thing that is stated about both sessions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// What.
    pub name: String,
    /// In the first session and in the second.
    pub values: [String; 2],
}

/// A finding of either session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingPair {
    /// Its id, and its wheel where one is meant.
    pub id: String,
    /// How bad.
    pub severity: Severity,
    /// How often in each; 0 where it was not found.
    pub counts: [u64; 2],
    /// What it says, of the second session where it is in both.
    pub says: String,
}

/// Legs of one name.
#[derive(Clone, Debug, PartialEq)]
pub struct LegPair {
    /// The move.
    pub name: String,
    /// How many in each.
    pub counts: [u64; 2],
    /// Mean length in each, seconds.
    pub mean_s: [Option<f64>; 2],
    /// Mean turn ordered while it lasted, per cent, plus is counter-clockwise: the driver's corrections.
    pub correction: [Option<f64>; 2],
}

/// Both sessions.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Settings that differ, and those that do not.
    pub settings: Vec<Setting>,
    /// What was measured in both.
    pub measures: Vec<Measure>,
    /// Findings of either, those that came or went first.
    pub findings: Vec<FindingPair>,
    /// Legs by move.
    pub legs: Vec<LegPair>,
    /// How many tests were made.
    pub tests: usize,
}

impl Comparison {
    /// Holds the second session against the first.
    pub fn of(sides: [&Side; 2]) -> Self {
        let mut measures = measures(sides);
        let tests = measure::correct(&mut measures);
        Self { settings: settings(sides), measures, findings: findings(sides), legs: legs(sides), tests }
    }

    /// Whether a danger or a fault came that was not there before.
    pub fn worse(&self) -> bool {
        self.findings.iter().any(|pair| pair.severity <= Severity::Fault && pair.counts[0] == 0)
    }
}

fn settings(sides: [&Side; 2]) -> Vec<Setting> {
    let mut names: Vec<&String> = sides[0].settings.iter().map(|(name, _)| name).collect();
    names.extend(sides[1].settings.iter().map(|(name, _)| name).filter(|name| sides[0].setting(name).is_none()));
    let said = |side: &Side, name: &str| side.setting(name).unwrap_or("not stated").to_owned();
    let row = |name: &String| Setting { name: name.clone(), values: sides.map(|side| said(side, name)) };
    names.into_iter().map(row).collect()
}

fn measures(sides: [&Side; 2]) -> Vec<Measure> {
    let rates = |name, unit, pick: fn(&Side) -> Counts| Measure::rate(name, unit, sides.map(pick));
    let spreads = |name, unit, pick: fn(&Side) -> &[i64]| {
        Measure::spread(name, unit, sides.map(pick).map(Spread::of), sides.map(pick))
    };
    vec![
        rates("damaged frames on >", "of frames", |side| {
            Counts::new(side.damaged[0], side.frames[0] + side.damaged[0])
        }),
        rates("damaged frames on <", "of frames", |side| {
            Counts::new(side.damaged[1], side.frames[1] + side.damaged[1])
        }),
        rates("orders certainly late", "of orders", |side| Counts::new(side.late, side.orders)),
        rates("orders with frames missing before them", "of orders", |side| {
            Counts::new(side.gaps_in_sequence, side.orders)
        }),
        rates("orders refused", "of orders answered", |side| Counts::new(side.refused, side.answered)),
        rates("lapses", "of legs", |side| Counts::new(side.lapses, side.leg_count)),
        spreads("time between orders", "ms", |side| &side.between_us),
        spreads("delay of answers", "ms", |side| &side.delays_us),
        spreads("sag per full duty step", "V", |side| &side.sags_uv),
    ]
    .into_iter()
    .filter(Measure::is_anything)
    .collect()
}

fn findings(sides: [&Side; 2]) -> Vec<FindingPair> {
    let same = |a: &Finding, b: &Finding| a.id == b.id && a.wheel == b.wheel;
    let of = |finding: &Finding, counts| {
        let wheel = finding.wheel.map_or_else(String::new, |wheel| format!(" {}", wheel.name()));
        let id = format!("{}{wheel}", finding.id);
        FindingPair { id, severity: finding.severity, counts, says: finding.says.clone() }
    };
    let [a, b] = sides.map(|side| &side.findings);
    let mut pairs: Vec<FindingPair> = b
        .iter()
        .map(|now| of(now, [a.iter().find(|old| same(old, now)).map_or(0, |old| old.count), now.count]))
        .collect();
    let went = a.iter().filter(|old| !b.iter().any(|now| same(old, now)));
    pairs.extend(went.map(|old| of(old, [old.count, 0])));
    pairs.sort_by_key(|pair| (pair.counts[0] > 0 && pair.counts[1] > 0, pair.severity, pair.id.clone()));
    pairs
}

fn legs(sides: [&Side; 2]) -> Vec<LegPair> {
    let mut names: Vec<&String> = sides.iter().flat_map(|side| side.legs.keys()).collect();
    names.sort();
    names.dedup();
    let row = |name: &String| {
        let of = sides.map(|side| side.legs.get(name).copied().unwrap_or_default());
        LegPair {
            name: name.clone(),
            counts: of.map(|legs| legs.count),
            mean_s: of.map(side::Legs::mean_s),
            correction: of.map(side::Legs::correction),
        }
    };
    names.into_iter().map(row).collect()
}
