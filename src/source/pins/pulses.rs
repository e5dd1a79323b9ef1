//! How well a wheel's duty can be known: which inputs were recorded, and its pulses against the step of the dump's times.

use super::dump::Picos;
use super::edges::Edges;
use super::half_bridge::SLOWEST;
use super::level::Level;
use super::signal::Signal;
use super::wire_probe::length;
pub use crate::timing::link::DutyKnown;

/// The usual pace of such pulses, 1 kHz: common practice, no source.
const USUAL: Picos = 1_000_000_000;
/// Fewer periods tell no pace.
const FEWEST: usize = 8;
/// An edge lies up to a step from where it is told, so a duty is known to a step in its period. So much is as good as
/// exact, thousandths.
const FINE: i32 = 10;
/// With fewer than eight steps in a period, pulses may be seen where there are none, or be missed, thousandths.
const COARSE: i32 = 125;

/// How well the duty of a half bridge with these inputs can be known.
pub fn known(edges: &Edges, inputs: &[Signal]) -> DutyKnown {
    let mut spans: Vec<Picos> = inputs.iter().flat_map(|input| periods(edges, input)).collect();
    spans.sort_unstable();
    let pace = spans.get(spans.len() / 2).copied().filter(|_| spans.len() >= FEWEST);
    let same = spans.iter().filter(|span| Some(**span) == pace).count();
    // Simulators write exact times on a grid that looks coarse; then the header's unit is finer, and no period differs.
    let exact = edges.unit() < edges.step() && pace.is_some() && same * 8 >= spans.len() * 7;
    let error = if exact { 0 } else { thousandths(edges.step(), pace.unwrap_or(USUAL)) };
    match (error <= FINE, error <= COARSE, inputs.len() > 2) {
        (true, _, true) => DutyKnown::Whole,
        (true, _, false) => DutyKnown::WhenPulsed,
        (false, true, true) => DutyKnown::Within(error),
        _ => DutyKnown::WayOnly,
    }
}

/// The limits in words, to follow the names of the inputs; nothing where there are none.
pub fn known_words(known: DutyKnown, edges: &Edges) -> String {
    let step = length(edges.step());
    match known {
        DutyKnown::Whole => String::new(),
        DutyKnown::WhenPulsed => {
            "; no enable recorded: only which way it would turn is known, and a duty only where the \
                                  direction inputs pulse"
                .to_owned()
        }
        DutyKnown::Within(error) => {
            format!("; the dump's times step by {step}, so a duty is known to {}.{} % only", error / 10, error % 10)
        }
        DutyKnown::WayOnly => format!(
            "; the dump's times step by {step}, too coarse for its pulses: only which way is judged. Record with steps of \
             {} or less",
            length(USUAL / 100)
        ),
    }
}

/// From each rise of the signal to the next, where that may be a period.
fn periods(edges: &Edges, signal: &Signal) -> Vec<Picos> {
    let rises = edges.of(signal).iter().filter(|(_, level)| *level == Level::High).map(|(at, _)| *at);
    let rises: Vec<Picos> = rises.collect();
    let spans = rises.iter().zip(rises.iter().skip(1)).map(|(one, two)| two - one);
    spans.filter(|span| (1..=SLOWEST).contains(span)).collect()
}

/// Of a period, rounded up.
fn thousandths(step: Picos, period: Picos) -> i32 {
    let period = i128::from(period.max(1));
    let share = (i128::from(step) * 1000 + period - 1) / period;
    i32::try_from(share).unwrap_or(i32::MAX)
}
