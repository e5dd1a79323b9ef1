//! The rules of one engine, and who is asked of what: a rule that this link can never let judge is never asked, the
//! others hear of the sorts of event that they name.

use wheeltap_parsers::Nanos;

use crate::engine::event::Event;
use crate::findings::attribution::Explained;
use crate::findings::sorts::Sort;
use crate::findings::{Finding, Need, NotJudged, Rule, View, gives, rules};
use crate::rover::file::RoverFile;
use crate::timing::cadence::Rhythm;
use crate::timing::link::LinkFacts;

/// Every rule, and the places of those that ask for something.
pub struct Rules {
    all: Vec<Box<dyn Rule>>,
    /// For each sort of event, those that want to see it.
    listeners: [Vec<usize>; Sort::ALL.len()],
    /// Those that watch time.
    watchers: Vec<usize>,
}

impl Clone for Rules {
    fn clone(&self) -> Self {
        Self {
            all: self.all.iter().map(|rule| rule.copy()).collect(),
            listeners: self.listeners.clone(),
            watchers: self.watchers.clone(),
        }
    }
}

impl Rules {
    /// Every rule, before anything was seen.
    pub fn new(rover: Option<&RoverFile>, link: &LinkFacts) -> Self {
        let all = rules();
        // What a wire that opens later, a rate that is told later or a rhythm that is learned may give counts as given.
        let mut ever = gives(rover, [true; 2], Rhythm::Learning);
        ever.push(Need::LineRate);
        ever.extend(link.pins.then_some(Need::Pins));
        ever.extend(link.dump.then_some(Need::Levels));
        let able = |rule: &dyn Rule| rule.needs().iter().all(|need| ever.contains(need));
        let those = |asks: &dyn Fn(&dyn Rule) -> bool| -> Vec<usize> {
            let known = all.iter().map(AsRef::as_ref).enumerate();
            known.filter(|(_, rule)| able(*rule) && asks(*rule)).map(|(place, _)| place).collect()
        };
        let listeners = Sort::ALL.map(|sort| those(&|rule| rule.sees().contains(&sort)));
        let watchers = those(&|rule| rule.watches_time());
        Self { all, listeners, watchers }
    }

    /// Those that want this sort of event see it.
    pub fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some(listeners) = self.listeners.get(Sort::of(event, view) as usize) else { return };
        for place in listeners {
            if let Some(rule) = self.all.get_mut(*place) {
                rule.see(event, view);
            }
        }
    }

    /// All hear of a cause that was decided.
    pub fn explained(&mut self, explained: &Explained) {
        self.all.iter_mut().for_each(|rule| rule.explained(explained));
    }

    /// Nothing earlier than `until` will come any more.
    pub fn pass(&mut self, until: Nanos, view: &View<'_>) {
        for place in &self.watchers {
            if let Some(rule) = self.all.get_mut(*place) {
                rule.passes(until, view);
            }
        }
    }

    /// Findings of those that may judge by what the link gives: worst first, then by first time.
    pub fn findings(&self, gives: &[Need]) -> Vec<Finding> {
        let able = self.all.iter().filter(|rule| rule.needs().iter().all(|need| gives.contains(need)));
        let mut findings: Vec<Finding> = able.flat_map(|rule| rule.findings()).collect();
        findings.sort_by_key(|finding| (finding.severity, finding.first, finding.id));
        findings
    }

    /// Those that cannot judge, and what the link lacks. Pins are no part of a link: without a recording of levels, a
    /// `dump`, nothing is said of them.
    pub fn not_judged(&self, gives: &[Need], dump: bool) -> Vec<NotJudged> {
        let of_levels = |need: &Need| matches!(need, Need::Pins | Need::Levels);
        let about = self.all.iter().filter(|rule| dump || !rule.needs().iter().any(of_levels));
        let all = about.map(|rule| NotJudged {
            id: rule.id(),
            looks_for: rule.looks_for(),
            lacks: rule.needs().iter().copied().filter(|need| !gives.contains(need)).collect(),
        });
        all.filter(|one| !one.lacks.is_empty()).collect()
    }

    /// The same, but every rule that can judge sees everything: nothing that it finds may be different.
    #[cfg(test)]
    pub fn asked_of_everything(mut self) -> Self {
        let able: std::collections::BTreeSet<usize> = self.listeners.iter().flatten().copied().collect();
        self.listeners = std::array::from_fn(|_| able.iter().copied().collect());
        self
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::Arc;

    use wheeltap_parsers::{Input, Wire};

    use crate::engine::Engine;
    use crate::rover::built_in;
    use crate::rover::file::RoverFile;
    use crate::timing::link::{LinkFacts, WireFacts, chunk};

    const EVENING: &str = include_str!("../../logs/moonwagon-evening.jsonl");
    const BROWN_OUT: &str = include_str!("../../logs/two-chip-brownout.jsonl");
    const WATCHDOG: &str = include_str!("../../logs/two-chip-watchdog.jsonl");

    fn number(read: &serde_json::Value, key: &str) -> Option<i64> {
        read.get(key)?.as_i64().map(|number| number * 1_000)
    }

    /// Plays a plain log: every so many reads one bit is turned over, in between the tap goes deaf or loses bytes.
    fn play(mut engine: Engine, log: &str, hit: usize) -> String {
        let facts = engine.link().wire(Wire::ToDrive).unwrap().clone();
        let (mut offsets, mut last) = ([0_u64; 2], 0);
        for (n, line) in log.lines().skip(1).enumerate() {
            let read: serde_json::Value = serde_json::from_str(line).unwrap();
            let at = number(&read, "t_us").unwrap();
            let wire = if read["wire"] == ">" { Wire::ToDrive } else { Wire::FromDrive };
            let hex = read["hex"].as_str().unwrap();
            let byte = |at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap();
            let mut bytes: Vec<u8> = (0..hex.len()).step_by(2).map(byte).collect();
            let middle = bytes.len() / 2;
            bytes[middle] ^= u8::from(n % hit == hit - 1) << (n / hit % 8);
            let offset = offsets[wire.index()];
            offsets[wire.index()] += bytes.len() as u64;
            let empty = number(&read, "e_us").unwrap_or(last);
            engine.push(Input::Chunk(chunk(&facts, wire, offset, at, empty, &bytes)));
            if hit <= 50 && n % (7 * hit) == 3 * hit {
                engine.push(Input::PortGone { at, wire });
                engine.push(Input::PortBack { at, wire });
                engine.push(Input::Lost { at, since: at, wire, bytes: 5, damaged: false });
                engine.push(Input::Note { at, text: "tap" });
            }
            last = at;
        }
        engine.finish();
        format!("{:#?}", engine.findings())
    }

    /// What a rule says it does not look at may change nothing that it finds.
    #[test]
    fn a_rule_that_sees_everything_finds_the_same() {
        let known =
            [("cue-line", EVENING), ("letter-line", BROWN_OUT), ("letter-line", WATCHDOG), ("plain-line", EVENING)];
        for (name, log) in known {
            let file = built_in::find(name).unwrap();
            let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
            let wire = |port: &str| WireFacts {
                rate: Some(115_200),
                settings: "8N1".to_owned(),
                latency: 1_000_000,
                port: port.to_owned(),
            };
            let link = LinkFacts { wires: [Some(wire("one")), Some(wire("other"))], ..LinkFacts::default() };
            for hit in [usize::MAX, 50, 9] {
                let engine = Engine::new(link.clone(), Some(Arc::clone(&rover)));
                let mut all = engine.clone();
                all.rules = all.rules.asked_of_everything();
                let (some, all) = (play(engine, log, hit), play(all, log, hit));
                assert!(hit > 50 || some.lines().count() > 20, "{name}: too little is found to tell anything");
                assert_eq!(some, all, "{name}, every {hit}th read hit");
            }
        }
    }
}
