//! Single answers that took certainly longer than this drive board's answers do.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words, least_words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::timing::answers::Reply;

/// How many delays say what is usual.
const USUAL: usize = 64;
/// Fewest delays before one is called late.
const ENOUGH: usize = 32;
/// Late is twice the usual and this much more, nanoseconds: no human notices less (common practice, no source).
const MORE: Nanos = 20_000_000;
/// With so many orders waiting behind it, the answer is late because of a queue, which has a rule of its own.
const QUEUE: u32 = 4;

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AnswerLate {
    ledger: Ledger,
    /// Upper ends of recent delays.
    recent: VecDeque<Nanos>,
    /// Half of them were no longer, when it was last worked out.
    usual: Option<Nanos>,
    answers: u64,
}

const WORDS: Words = Words {
    id: "answer-late",
    severity: Severity::Doubt,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "Not the adapter: only what is certain on both wires is counted. Answers that fall further and further behind are a queue; a constant second is a reader that waits for an end mark.",
    what_to_do: "See what the drive board's loop does at those times: a delay, a print, a sensor that is waited for. Read the wire in every round of the loop.",
    check_after: "Ten minutes of driving with none.",
};

impl AnswerLate {
    fn take(&mut self, event: &Event, reply: Reply) {
        self.answers += 1;
        let late = |usual: &Nanos| reply.delay.lo > 2 * usual + MORE;
        if self.usual.as_ref().is_some_and(late) && reply.behind < QUEUE {
            self.ledger.add(event, reply.delay.lo);
            return;
        }
        if self.recent.len() == USUAL {
            self.recent.pop_front();
        }
        self.recent.push_back(reply.delay.hi);
        if self.recent.len() >= ENOUGH && self.answers.is_multiple_of(16) {
            let mut recent: Vec<Nanos> = self.recent.iter().copied().collect();
            let middle = recent.len() / 2;
            self.usual = Some(*recent.select_nth_unstable(middle).1);
        }
    }
}

impl Rule for AnswerLate {
    fn id(&self) -> &'static str {
        "answer-late"
    }

    fn looks_for(&self) -> &'static str {
        "answers that take longer than usual"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::NumberedAnswers]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame]
    }

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        if let Some(reply) = event.reply() {
            self.take(event, reply);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let says = format!(
            "An answer took certainly longer than usual {} of {}: at worst at least {} where half take no more than {}",
            times_words(self.ledger.count()),
            self.answers,
            least_words(self.ledger.worst()),
            time_words(self.usual.unwrap_or(0))
        );
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
