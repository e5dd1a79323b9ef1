//! A tapped wire on which not one byte was ever heard.

use wheeltap_parsers::{Nanos, Wire};

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Evidence, Finding, Layer, Need, Rule, Severity, View};

/// Silence from the beginning of a session for so long is told. A wrong line rate would still show bytes.
const LONG: Nanos = 30_000_000_000;

/// The rule's ledgers, one for each wire.
#[derive(Clone, Debug, Default)]
pub struct SilentWire {
    heard: [bool; 2],
    silent: [Ledger; 2],
}

const fn words(wire: Wire) -> Words {
    Words {
        id: "silent-wire",
        severity: Severity::Note,
        layer: match wire {
            Wire::ToDrive => Layer::CommandBoard,
            Wire::FromDrive => Layer::Reader,
        },
        confidence: Confidence::Possible,
        not: "On a link that sends only when something changes, silence without a press is normal. A wrong line rate still shows bytes: this is no byte at all. A tap on the wrong pin, or with no ground, looks the same.",
        what_to_do: "Press a button, then switch that board off and on: its start-up text should come. If nothing comes, look at the tap's lead first. Then see on which pins the board's program really opens its UART: a newer tool chain may have moved the default pins, so name the pins in the program. Then look for two transmit pins tied together.",
        check_after: "Each press brings bytes; the start-up text comes with each switching on.",
    }
}

impl Rule for SilentWire {
    fn id(&self) -> &'static str {
        "silent-wire"
    }

    fn looks_for(&self) -> &'static str {
        "wires on which nothing is ever heard"
    }

    fn needs(&self) -> &'static [Need] {
        &[]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if let Some(wire) = event.wire.filter(|_| event.len > 0) {
            self.heard[wire.index()] = true;
        }
    }

    fn watches_time(&self) -> bool {
        true
    }

    fn passes(&mut self, until: Nanos, view: &View<'_>) {
        for wire in Wire::BOTH {
            let index = wire.index();
            let due = view.tapped[index] && !self.heard[index] && self.silent[index].count() == 0;
            if due && until >= LONG {
                self.silent[index].add_place(Evidence { at: LONG, wire, offset: 0, len: 0 }, 0);
            }
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let found = |wire: Wire| {
            let says = format!("Not one byte was heard on wire {} in the first 30 s or later", wire.symbol());
            let silent = !self.heard[wire.index()];
            silent.then(|| self.silent[wire.index()].finding(&words(wire), says)).flatten()
        };
        Wire::BOTH.into_iter().filter_map(found).collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
