//! Answers that fall further and further behind: orders wait in the drive board, which honours the oldest first.

use std::collections::VecDeque;

use wheeltap_parsers::{Interval, Nanos};

use crate::engine::event::Event;
use crate::findings::ledger::{Ledger, Words, least_words, time_words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::timing::answers::Reply;

/// Growth is looked for over so many answers.
const OVER: usize = 8;
/// Fewest orders that wait behind an answer in a growing queue.
const WAITING: u32 = 3;
/// So many answers in a row within a tenth of the longest delay are a full queue.
const FULL: u32 = 16;

/// An answer of the recent past.
#[derive(Clone, Copy, Debug)]
struct Heard {
    at: Nanos,
    delay: Interval,
    behind: u32,
}

/// One time at which the queue grew.
#[derive(Clone, Copy, Debug)]
struct Episode {
    begins: Heard,
    peak: Heard,
    /// Answers in a row near the peak: now, and the most.
    near: u32,
    full: u32,
}

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct AnswerGrowing {
    ledger: Ledger,
    recent: VecDeque<Heard>,
    open: Option<Episode>,
    worst: Option<Episode>,
}

const WORDS: Words = Words {
    id: "answer-growing",
    severity: Severity::Fault,
    layer: Layer::Reader,
    confidence: Confidence::Certain,
    not: "Not one slow answer: over eight answers each half took certainly longer than the one before, with more orders waiting. A constant second is another fault: a reader that waits for an end mark.",
    what_to_do: "Let the drive board read all that waits and obey only the newest order; let the command board send at a fixed rate that the drive board can follow.",
    check_after: "Stir the stick for a minute: the delay stays flat, and nothing moves after the release.",
};

impl AnswerGrowing {
    fn take(&mut self, event: &Event, reply: Reply) {
        let now = Heard { at: event.at, delay: reply.delay, behind: reply.behind };
        match &mut self.open {
            Some(episode) => {
                if episode.goes_on(now) {
                    self.note_worst();
                } else {
                    self.open = None;
                }
            }
            None => self.begin(event, now),
        }
        if self.recent.len() == OVER {
            self.recent.pop_front();
        }
        self.recent.push_back(now);
    }

    fn begin(&mut self, event: &Event, now: Heard) {
        let Some(begins) = self.recent.front().copied().filter(|_| self.recent.len() == OVER) else { return };
        let Some(midway) = self.recent.get(OVER / 2) else { return };
        let grows = midway.delay.lo > begins.delay.hi && now.delay.lo > midway.delay.hi;
        if grows && now.behind >= WAITING.max(begins.behind + 1) {
            self.open = Some(Episode { begins, peak: now, near: 0, full: 0 });
            self.ledger.add(event, now.delay.lo);
            self.note_worst();
        }
    }

    fn note_worst(&mut self) {
        let longer = |other: &Episode| self.open.is_some_and(|open| open.peak.delay.lo >= other.peak.delay.lo);
        if self.worst.as_ref().is_none_or(longer) || self.worst.is_some_and(|w| self.is_open(w)) {
            self.worst = self.open;
        }
    }

    fn is_open(&self, episode: Episode) -> bool {
        self.open.is_some_and(|open| open.begins.at == episode.begins.at)
    }
}

impl Episode {
    /// False when the queue has run empty.
    fn goes_on(&mut self, now: Heard) -> bool {
        self.near = if now.delay.hi * 10 >= self.peak.delay.lo * 9 { self.near + 1 } else { 0 };
        self.full = self.full.max(self.near);
        if now.delay.lo * 10 > self.peak.delay.hi * 11 {
            (self.near, self.full) = (0, 0);
        }
        if now.delay.lo > self.peak.delay.lo {
            self.peak = now;
        }
        now.behind > self.begins.behind && now.delay.hi > self.begins.delay.hi
    }

    /// How many orders a second more came than were read.
    fn surplus(&self) -> i64 {
        let time = (self.peak.at - self.begins.at).max(1);
        let more = i64::from(self.peak.behind.saturating_sub(self.begins.behind));
        (more * 1_000_000_000 + time / 2) / time
    }
}

impl Rule for AnswerGrowing {
    fn id(&self) -> &'static str {
        "answer-growing"
    }

    fn looks_for(&self) -> &'static str {
        "answers that fall further and further behind"
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
        let Some(worst) = self.worst else { return Vec::new() };
        let Episode { begins, peak, full, .. } = worst;
        let mut says = format!(
            "Answers fell further and further behind {}; at worst from {} to {} within {}, {} orders a second more than are read",
            times_words(self.ledger.count()),
            time_words(begins.delay.hi),
            least_words(peak.delay.lo),
            time_words(peak.at - begins.at),
            worst.surplus()
        );
        if full >= FULL {
            says += ", then kept there: the queue is full, and what comes more is dropped";
        }
        self.ledger.finding(&WORDS, says).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
