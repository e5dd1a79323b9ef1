//! Bytes that are neither frame nor text.

use wheeltap_parsers::TextClass;

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NoiseRuns {
    ledger: Ledger,
    bytes: u64,
    /// What its troubles were put down to.
    behind: Behind,
    /// By wire, the last run, until it is known that no start-up text follows it.
    last: [Option<Event>; 2],
}

/// A board's transmit pin can put a byte or two on the wire as it starts. Common practice, no source.
const STRAY: u64 = 4;

/// Readable bytes of which so many stand together are a remark of the board, too short between binary frames to be called
/// text by the decoder.
const REMARK: u64 = 8;

/// Whether this noise is readable from end to end, and long enough to be a remark.
pub fn is_remark(event: &Event) -> bool {
    let Happening::Noise { raw } = &event.what else { return false };
    let readable = |byte: &u8| (0x20..0x7F).contains(byte) || matches!(byte, b'\t' | b'\r' | b'\n');
    event.len >= REMARK && raw.len() as u64 == event.len && raw.iter().all(readable)
}

impl NoiseRuns {
    fn count(&mut self, run: &Event) {
        self.ledger.add(run, run.len as i64);
        self.bytes += run.len;
    }

    /// With the runs that nothing has followed yet.
    fn complete(&self) -> Self {
        let mut all = self.clone();
        for run in self.last.iter().flatten() {
            all.count(run);
        }
        all
    }
}

const WORDS: Words = Words {
    id: "noise",
    severity: Severity::Doubt,
    layer: Layer::Wire,
    confidence: Confidence::Certain,
    not: "One stray byte right before start-up text comes with each start of a board. A wrong line rate makes everything noise; a lost ground makes it differ each time.",
    what_to_do: "If nothing but noise arrives, try the line rate first, then the ground lead, then crossed or inverted leads. If it comes with the motors, look at leads and capacitors.",
    check_after: "A minute at rest and a minute at full duty with none.",
};

impl Rule for NoiseRuns {
    fn id(&self) -> &'static str {
        "noise"
    }

    fn looks_for(&self) -> &'static str {
        "bytes that are neither frame nor text"
    }

    fn needs(&self) -> &'static [Need] {
        &[]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        let Some(wire) = event.wire.filter(|_| event.len > 0) else { return };
        if let Some(run) = self.last[wire.index()].take() {
            let starts = matches!(event.what, Happening::Text { class: TextClass::Start { .. }, .. });
            if !(starts && run.len <= STRAY && run.offset + run.len == event.offset) {
                self.count(&run);
            }
        }
        if matches!(event.what, Happening::Noise { .. }) && !is_remark(event) {
            self.last[wire.index()] = Some(event.clone());
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble == Trouble::Noise {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let all = self.complete();
        let runs = all.ledger.count();
        let says = match runs {
            1 => format!("{} bytes were neither frame nor text", all.bytes),
            runs => format!("{} bytes were neither frame nor text, in {runs} runs", all.bytes),
        };
        let words = self.behind.into_words(&WORDS, &[Cause::Wire, Cause::NothingFits, Cause::NothingYet]);
        all.ledger.finding(&words, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
