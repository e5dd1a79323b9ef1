//! Frames that did not arrive intact, one finding for each cause of damage.

use wheeltap_parsers::Cause;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledgers, one for each cause.
#[derive(Clone, Debug, Default)]
pub struct DamagedFrames {
    ledgers: [Ledger; Cause::ALL.len()],
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

    fn see(&mut self, event: &Event, _view: &View<'_>) {
        match &event.what {
            Happening::Frame(_) => self.frames += 1,
            Happening::Damage { cause, .. } => {
                if let Some(place) = Cause::ALL.iter().position(|known| known == cause) {
                    self.ledgers[place].add(event, event.len as i64);
                }
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let damaged: u64 = self.ledgers.iter().map(Ledger::count).sum();
        let all = self.frames + damaged;
        let each = Cause::ALL.into_iter().zip(&self.ledgers);
        each.filter_map(|(cause, ledger)| {
            let says = format!(
                "{} a frame was damaged: {} ({} of {all} frames)",
                times_words(ledger.count()),
                cause.says(),
                ledger.count()
            );
            ledger.finding(&words(cause), capitalised(&says))
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
            layer: Layer::CommandBoard,
            not: "A cut frame with start-up text after it is a reset of the sender; without, a loose lead or a sender that was interrupted.",
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
