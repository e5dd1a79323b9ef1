//! The operator's corrections: the mean turn asked for while driving straight and while sliding names one wheel.
//!
//! A wheel that is reversed or weak turns the rover against every straight order, and the operator steers against it.
//! With `FL = x - y - w`, `FR = x + y + w`, `RL = x + y - w`, `RR = x - y + w` a missing share of one wheel turns the
//! rover by `-FL, +FR, -RL, +RR` of what that wheel was to do. The correction has the other sign:
//!
//! | wheel | forward | left |
//! |---|---|---|
//! | FL | - | + |
//! | FR | + | + |
//! | RL | - | - |
//! | RR | + | - |
//!
//! Backward and right are forward and left with their signs turned over.

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Means;
use crate::rover::wheels::Wheel;

/// A move is straight when its main part is at least this, and the other part 0, per cent.
const STRAIGHT: i64 = 30;
/// The same backwards.
const BACK: i64 = -STRAIGHT;
/// Corrections before the operator can have seen the rover turn are not counted. Common practice, no source.
const SEEN: Nanos = 400_000_000;
/// Fewest moves along each axis before anything is claimed.
const ENOUGH: u64 = 5;
/// The least mean correction that is believed, per cent.
const LEAST: f64 = 5.0;
/// The mean must be so many times its own standard error away from nothing.
const SURE: f64 = 3.0;

/// The four straight moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Straight {
    Forward,
    Backward,
    Left,
    Right,
}

impl Straight {
    const ALL: [Self; 4] = [Self::Forward, Self::Backward, Self::Left, Self::Right];

    const fn words(self) -> &'static str {
        ["forward", "backward", "left", "right"][self as usize]
    }

    fn of(ahead: i64, left: i64) -> Option<Self> {
        match (ahead, left) {
            (STRAIGHT.., 0) => Some(Self::Forward),
            (i64::MIN..=BACK, 0) => Some(Self::Backward),
            (0, STRAIGHT..) => Some(Self::Left),
            (0, i64::MIN..=BACK) => Some(Self::Right),
            _ => None,
        }
    }
}

/// Mean and spread of the corrections of one straight move.
#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    count: u64,
    sum: f64,
    squares: f64,
}

impl Mean {
    fn add(&mut self, value: f64) {
        self.count += 1;
        self.sum += value;
        self.squares += value * value;
    }

    fn mean(self) -> f64 {
        if self.count == 0 { 0.0 } else { self.sum / self.count as f64 }
    }

    /// Standard deviation of the single moves.
    fn spread(self) -> f64 {
        if self.count < 2 {
            return 0.0;
        }
        let n = self.count as f64;
        ((self.squares - self.sum * self.sum / n) / (n - 1.0)).max(0.0).sqrt()
    }

    /// The sign of the mean, if it is large and sure enough.
    fn sign(self) -> Option<bool> {
        let error = self.spread() / (self.count.max(1) as f64).sqrt();
        let mean = self.mean();
        (mean.abs() >= LEAST && mean.abs() >= SURE * error).then_some(mean > 0.0)
    }
}

/// The move under way.
#[derive(Clone, Copy, Debug)]
struct Under {
    straight: Straight,
    began: Nanos,
    correction: Mean,
}

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct TurnCorrection {
    means: [Mean; 4],
    under: Option<Under>,
    ledger: Ledger,
}

const WORDS: Words = Words {
    id: "turn-correction",
    severity: Severity::Doubt,
    layer: Layer::Wheel,
    confidence: Confidence::Possible,
    not: "A dead or weak wheel gives the same signs as a reversed one, only weaker; weight that is not centred corrects only when sliding; motors that differ from side to side only when driving straight. The wire shows what was asked for, never the wheel.",
    what_to_do: "Wheels off the ground, hands clear: drive this wheel alone and look. If it turns backwards, change its motor leads or its sign, never both. Pack out before any terminal is touched.",
    check_after: "Ten metres forward and a slide to each side: the mean correction is within 2.",
};

impl Rule for TurnCorrection {
    fn id(&self) -> &'static str {
        "turn-correction"
    }

    fn looks_for(&self) -> &'static str {
        "a wheel that the operator steers against all the time"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Twist]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        if matches!(event.what, Happening::Frame(_)) && view.is_order(event) {
            self.order(event, view);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let mut all = self.clone();
        if let Some(under) = all.under.take() {
            all.count(under);
        }
        let Some(wheel) = all.wheel() else { return Vec::new() };
        let each = Straight::ALL.iter().zip(all.means).filter(|(_, mean)| mean.count > 0);
        let each: Vec<String> = each.map(|(straight, mean)| mean_words(*straight, mean)).collect();
        let says = format!(
            "The operator steers against a turn: mean correction {}. Of single wheels only {} fits both, reversed or weak: drive {} alone",
            each.join(", "),
            wheel.name(),
            wheel.name()
        );
        let found = all.ledger.finding(&WORDS, says);
        found.map(|found| Finding { wheel: Some(wheel), ..found }).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

fn mean_words(straight: Straight, mean: Mean) -> String {
    let moves = if mean.count == 1 { "move" } else { "moves" };
    format!("{} {:+.0} ({} {moves}, spread {:.0})", straight.words(), mean.mean(), mean.count, mean.spread())
}

impl TurnCorrection {
    fn order(&mut self, event: &Event, view: &View<'_>) {
        let part = |means| view.whole(event, means).unwrap_or(0);
        let moving = view.state.is_some_and(crate::rover::state::RoverState::moving);
        let straight = Straight::of(part(Means::Ahead), part(Means::Left)).filter(|_| moving);
        if straight != self.under.map(|under| under.straight) {
            if let Some(under) = self.under.take() {
                self.leg(under, event);
            }
            self.under = straight.map(|straight| Under { straight, began: event.at, correction: Mean::default() });
        }
        if let Some(under) = self.under.as_mut().filter(|under| event.at - under.began >= SEEN) {
            under.correction.add(part(Means::Turn) as f64);
        }
    }

    fn leg(&mut self, under: Under, event: &Event) {
        if under.correction.count > 0 {
            self.count(under);
            self.ledger.add(event, under.correction.mean().abs() as i64);
        }
    }

    fn count(&mut self, under: Under) {
        if under.correction.count > 0 {
            self.means[under.straight as usize].add(under.correction.mean());
        }
    }

    /// The one wheel whose signs are those of the corrections along both axes.
    fn wheel(&self) -> Option<Wheel> {
        let [forward, backward, left, right] = self.means;
        let ahead = axis(forward, backward)?;
        let sideways = axis(left, right)?;
        Some(match (ahead, sideways) {
            (false, true) => Wheel::FL,
            (true, true) => Wheel::FR,
            (false, false) => Wheel::RL,
            (true, false) => Wheel::RR,
        })
    }
}

/// The sign along one axis from both of its directions; `None` where they are too few, too small, or say different things.
fn axis(plus: Mean, minus: Mean) -> Option<bool> {
    let turned = Mean { sum: -minus.sum, ..minus };
    let both =
        Mean { count: plus.count + minus.count, sum: plus.sum + turned.sum, squares: plus.squares + minus.squares };
    let apart = plus.count >= ENOUGH && minus.count >= ENOUGH && plus.mean() * turned.mean() < 0.0;
    both.sign().filter(|_| both.count >= ENOUGH && !apart)
}
