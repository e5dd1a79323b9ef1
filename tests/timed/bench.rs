//! A bench for rules of time: lines put on either wire at stated times.

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::findings::{Finding, Need};
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Wire};

use super::one_rover::{MS, RATE};

/// What stands on the wires.
#[derive(Clone, Debug, Default)]
pub struct Wires {
    said: Vec<(i64, Wire, Vec<u8>)>,
}

impl Wires {
    /// Puts text on a wire; its last byte is complete at `ms`.
    pub fn put(&mut self, ms: i64, wire: Wire, text: &str) -> &mut Self {
        self.said.push((ms * MS, wire, text.as_bytes().to_vec()));
        self
    }

    /// Puts a numbered order on the wire.
    pub fn order(&mut self, ms: i64, number: i64, way: &str) -> &mut Self {
        self.put(ms, Wire::ToDrive, &format!("o{:03} {way}\n", number % 1000))
    }

    /// Puts its answer on the wire back.
    pub fn answer(&mut self, ms: i64, number: i64) -> &mut Self {
        self.put(ms, Wire::FromDrive, &format!("a{:03} got\n", number % 1000))
    }

    /// Orders `way` every `period` from `ms` on, each answered `delay` later.
    pub fn steady(&mut self, ms: i64, period: i64, numbers: std::ops::Range<i64>, delay: Option<i64>) -> &mut Self {
        let first = numbers.start;
        for number in numbers {
            let at = ms + (number - first) * period;
            self.order(at, number, "ahead");
            if let Some(delay) = delay {
                self.answer(at + delay, number);
            }
        }
        self
    }

    /// Plays it to an engine that taps these wires and looks every millisecond; the session goes on to `end`.
    pub fn play(&self, rover: &Arc<RoverFile>, back: bool, end: i64) -> Engine {
        let facts = WireFacts { rate: Some(RATE), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() };
        let link = LinkFacts { wires: [Some(facts.clone()), back.then(|| facts.clone())], ..LinkFacts::default() };
        let mut engine = Engine::new(link, Some(Arc::clone(rover)));
        let mut said = self.said.clone();
        said.sort_by_key(|(at, ..)| *at);
        let mut offsets = [0_u64; 2];
        for (at, wire, bytes) in said.iter().filter(|(_, wire, _)| back || *wire == Wire::ToDrive) {
            let begun = at - bytes.len() as i64 * 100_000;
            engine.push(Input::Tick(begun));
            engine.push(Input::Chunk(chunk(&facts, *wire, offsets[wire.index()], *at, begun, bytes)));
            offsets[wire.index()] += bytes.len() as u64;
        }
        engine.push(Input::Tick(end * MS));
        engine.finish();
        engine
    }
}

/// The finding of this id.
pub fn found(engine: &Engine, id: &str) -> Option<Finding> {
    engine.findings().into_iter().find(|finding| finding.id == id)
}

/// How often it was found.
pub fn count(engine: &Engine, id: &str) -> u64 {
    found(engine, id).map_or(0, |finding| finding.count)
}

/// What the rule of this id lacks; empty where it can judge.
pub fn lacks(engine: &Engine, id: &str) -> Vec<Need> {
    engine.not_judged().into_iter().find(|rule| rule.id == id).map(|rule| rule.lacks).unwrap_or_default()
}

/// Orders of fingers, not of a clock.
pub fn presses() -> Wires {
    let mut wires = Wires::default();
    for n in 0..60 {
        let at = 1_000 + n * 1_700 + n * n % 311;
        wires.order(at, 2 * n, "ahead").order(at + 420 + n * 37 % 500, 2 * n + 1, "rest");
    }
    wires
}
