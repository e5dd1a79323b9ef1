//! Answers that come a constant second after the last byte: the drive board's reader waits for an end mark.
//!
//! Readers of the usual library wait 1000 ms for an end mark that does not come, then take what they have (recalled: the
//! default time-out of a stream in the common 8-bit controller library). The delay then hangs on nothing else, not on the
//! length of the line: that tells it from a queue or a slow loop.

use wheeltap_parsers::{Interval, Nanos, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::rover::meaning::Role;

/// The wait, and how far an answer can lie from it, nanoseconds.
const WAIT: Nanos = 1_000_000_000;
const AROUND: Nanos = 20_000_000;
/// A delay less certain than this proves nothing, nanoseconds.
const SURE: Nanos = 100_000_000;
/// Fewest answers.
const ENOUGH: u64 = 3;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AnswerOneSecond {
    ledger: Ledger,
    /// The last byte to the drive board, its record's length, while nothing has come back since.
    last: Option<(Interval, u64)>,
    answers: u64,
    /// Shortest and longest delay, shortest and longest record.
    delays: Option<(Nanos, Nanos)>,
    lengths: Option<(u64, u64)>,
}

const WORDS: Words = Words {
    id: "answer-one-second",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "Not a queue: that grows and runs empty. Not a report on a clock of its own: its distance from the last byte would be a different one each time.",
    what_to_do: "Let the command board end each line with the mark that the drive board waits for, and let the drive board read byte by byte without waiting. Repeating orders faster makes it worse: each byte starts the second anew.",
    check_after: "Press and release ten times: each answer within 20 ms.",
};

impl AnswerOneSecond {
    fn answer(&mut self, event: &Event) {
        let Some((last, len)) = self.last.take() else { return };
        self.answers += 1;
        let delay = event.span.since(last);
        if delay.hi < WAIT - AROUND || delay.lo > WAIT + AROUND || delay.width() > SURE {
            return;
        }
        self.ledger.add(event, delay.lo);
        let (shortest, longest) = self.delays.unwrap_or((delay.lo, delay.hi));
        self.delays = Some((shortest.min(delay.lo), longest.max(delay.hi)));
        let (least, most) = self.lengths.unwrap_or((len, len));
        self.lengths = Some((least.min(len), most.max(len)));
    }
}

impl Rule for AnswerOneSecond {
    fn id(&self) -> &'static str {
        "answer-one-second"
    }

    fn looks_for(&self) -> &'static str {
        "a reader that waits a second for an end mark"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Answers]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        match event.wire {
            Some(Wire::ToDrive) if event.len > 0 => self.last = Some((event.span, event.len)),
            Some(Wire::FromDrive)
                if matches!(event.what, Happening::Frame(_))
                    && view.kind(event).is_some_and(|kind| matches!(kind.role, Role::Answer | Role::Report)) =>
            {
                self.answer(event);
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let near = self.ledger.count();
        let (Some((shortest, longest)), Some((least, most))) = (self.delays, self.lengths) else { return Vec::new() };
        if near < ENOUGH || near * 5 < self.answers * 4 {
            return Vec::new();
        }
        let says = format!(
            "The drive board answered a constant second after the last byte, {} of {}: {} to {}, whatever the length ({least} to {most} bytes)",
            times_words(near),
            self.answers,
            time_words(shortest),
            time_words(longest)
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
