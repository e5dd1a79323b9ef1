//! Frames that did not arrive intact, one finding for each cause of damage.

use wheeltap_parsers::{Cause, LineEnd};

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause as Reason;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers, one for each cause.
#[derive(Clone, Debug, Default)]
pub struct DamagedFrames {
    ledgers: [Ledger; Cause::ALL.len()],
    /// How many of each would be whole with another end mark, and with which.
    other_ends: [(u64, Option<LineEnd>); Cause::ALL.len()],
    /// How many of each lack nothing but their end mark.
    unended: [u64; Cause::ALL.len()],
    /// What those of each were put down to.
    behind: [Behind; Cause::ALL.len()],
    frames: u64,
}

impl Rule for DamagedFrames {
    fn id(&self) -> &'static str {
        "damaged-frames"
    }

    fn looks_for(&self) -> &'static str {
        "frames that did not arrive intact"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Order, Sort::Frame, Sort::Damage]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        match &event.what {
            Happening::Frame(_) => self.frames += 1,
            Happening::Damage { cause, raw, .. } => {
                if let Some(place) = Cause::ALL.iter().position(|known| known == cause) {
                    self.ledgers[place].add(event, event.len as i64);
                    let profile = event.wire.and_then(|wire| view.rover?.profile(wire));
                    let unended = profile.is_some_and(|profile| profile.lacks_end(raw).is_some());
                    self.unended[place] += u64::from(unended);
                    if let Some(end) = profile.and_then(|profile| profile.other_line_end(raw)) {
                        let (count, _) = self.other_ends[place];
                        self.other_ends[place] = (count + 1, Some(end));
                    }
                }
            }
            _ => {}
        }
    }

    fn explained(&mut self, explained: &Explained) {
        let damage = explained.damage.and_then(|damage| Cause::ALL.iter().position(|known| *known == damage));
        if let Some(behind) = damage.and_then(|place| self.behind.get_mut(place)) {
            behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let damaged: u64 = self.ledgers.iter().map(Ledger::count).sum();
        let all = self.frames + damaged;
        let each = Cause::ALL.into_iter().zip(&self.ledgers).zip(self.other_ends).zip(self.unended);
        each.zip(&self.behind)
            .filter_map(|((((cause, ledger), (count, end)), unended), behind)| {
                let says = format!(
                    "{} a frame was damaged: {} ({} of {all} frames)",
                    times_words(ledger.count()),
                    cause.says(),
                    ledger.count()
                );
                let end = end.filter(|_| count == ledger.count());
                let words = match end {
                    Some(end) => other_end(cause, end),
                    None if unended >= UNENDED && unended == ledger.count() => no_end(cause),
                    None => words(cause),
                };
                // A check that is wrong is a hit; what else is broken may be something else.
                let own: &[Reason] = match cause {
                    Cause::BadCheck => &[Reason::Wire],
                    _ => &[Reason::EndMark, Reason::EndMarkOrHit],
                };
                ledger.finding(&behind.into_words(&words, own), capitalised(&says) + &behind.words(own))
            })
            .collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Every frame of this damage would be whole with another end mark.
const fn other_end(cause: Cause, end: LineEnd) -> Words {
    let what_to_do = match end {
        LineEnd::CrLf => {
            "Does the drive board obey these orders? Then write end = \"CR LF\" in [framing] of the rover file: each would be right without the CR before its LF. Does it not? Then let the command board end its lines with LF alone."
        }
        LineEnd::Cr => {
            "Does the drive board obey these orders? Then write end = \"CR\" in [framing] of the rover file: each would be right if a bare CR ended it. Does it not? Then let the command board end its lines with the mark that the rover file states."
        }
        LineEnd::Lf => {
            "Does the drive board obey these orders? Then write end = \"LF\" in [framing] of the rover file: each would be right if a bare LF ended it. Does it not? Then let the command board end its lines with the mark that the rover file states."
        }
    };
    Words {
        severity: Severity::Fault,
        layer: Layer::CommandBoard,
        not: "Noise does not hit the same place of every line: here only the end of the line differs from the rover file.",
        what_to_do,
        check_after: "Every order is obeyed, and the session read with that rover file has none.",
        ..words(cause)
    }
}

/// From so many on, frames that lack nothing but their end mark did not lose it on the wire.
const UNENDED: u64 = 3;

/// Every frame of this damage is whole but for its end mark.
const fn no_end(cause: Cause) -> Words {
    Words {
        layer: Layer::CommandBoard,
        not: "Lost bytes are lost anywhere: here each frame is whole up to its end mark, and only that is missing.",
        what_to_do: "See which orders these are, and let the command board end each of them with the mark that the drive board waits for. If other lines have that mark, it is one print in the program that forgot it.",
        check_after: "Twenty presses of these orders, each a frame of its own.",
        ..words(cause)
    }
}

const fn words(cause: Cause) -> Words {
    let base = Words {
        id: cause.id(),
        severity: Severity::Fault,
        layer: Layer::Wire,
        confidence: Confidence::Certain,
        not: "Noise differs each time and follows the motors; a wrong line rate gives the same garbage for the same order.",
        what_to_do: "Look at ground and lead between the boards first, then at motor noise: 100 nF across each motor, leads apart.",
        check_after: "Ten minutes of driving without one.",
    };
    match cause {
        Cause::BadCheck => base,
        Cause::Truncated | Cause::Glued => Words {
            not: "A cut frame with start-up text after it is a reset of the sender; without, bytes lost on the wire, a loose lead, or a sender that was interrupted.",
            what_to_do: "Look what follows it: start-up text means a reset, look at the supply. Let the sender begin with a bare end mark.",
            check_after: "Twenty hard starts without one.",
            ..base
        },
        Cause::Overlong => Words {
            layer: Layer::CommandBoard,
            not: "A lost end mark joins two lines; a wrong rover file makes every line too long.",
            what_to_do: "If each frame is too long, correct the rover file (end mark, fields). Otherwise look for lost bytes.",
            ..base
        },
        Cause::OutOfRange | Cause::NotANumber => Words {
            severity: Severity::Doubt,
            layer: Layer::CommandBoard,
            not: "On a link without a check a hit byte looks the same as a value the sender really sent.",
            what_to_do: "If it comes back for the same order, look at the sender's number; if it never repeats, look at the wire.",
            ..base
        },
        Cause::UnknownWord => Words {
            severity: Severity::Doubt,
            layer: Layer::CommandBoard,
            not: "A word that comes again and again is missing in the rover file; one that comes once was hit on the wire.",
            what_to_do: "Add the word to the rover file, or look at the wire if it never repeats.",
            ..base
        },
    }
}
