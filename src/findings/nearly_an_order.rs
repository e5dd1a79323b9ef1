//! A line that is no frame, but for a single byte of its head: an order that was hit looks so where nothing checks it. Or
//! but for the case of its letters: a word that the sender writes otherwise than the drive board reads it.

use wheeltap_parsers::{Part, TextClass, Wire};

use crate::engine::event::{Event, Happening};
use crate::findings::attribution::Explained;
use crate::findings::attribution::cause::Cause;
use crate::findings::attribution::trouble::Trouble;
use crate::findings::behind::Behind;
use crate::findings::ledger::{Ledger, Words, times_words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};

/// The rule's ledger.
#[derive(Clone, Debug, Default)]
pub struct NearlyAnOrder {
    ledger: Ledger,
    /// What its troubles were put down to.
    behind: Behind,
    /// The first such line, and what it would be.
    first: Option<(String, String)>,
}

const WORDS: Words = Words {
    id: "nearly-an-order",
    severity: Severity::Doubt,
    layer: Layer::Wire,
    confidence: Confidence::Possible,
    not: "A word that the rover file writes otherwise than the board sends it comes again letter by letter. A byte that was hit or lost on the wire differs each time.",
    what_to_do: "If the same line comes again, correct the word in the rover file. If not, an order was lost: look at ground and lead between the boards, then at motor noise. A check in each order would settle it.",
    check_after: "Ten minutes of driving without one.",
};

/// The line that this text of the wire to the drive board would be with one byte of its head put right, or with its
/// letters in another case.
pub fn nearly(event: &Event, view: &View<'_>) -> Option<Vec<u8>> {
    let (Happening::Text { class: TextClass::Free, raw } | Happening::Noise { raw }) = &event.what else {
        return None;
    };
    let whole = event.wire == Some(Wire::ToDrive) && raw.len() as u64 == event.len;
    let profile = view.rover.filter(|_| whole)?.profile(Wire::ToDrive)?;
    profile.one_byte_off(raw).or_else(|| profile.in_another_case(raw))
}

/// Whether this text has most of the fixed bytes of an order on wire `>`, in their order: what is left of one that was
/// hit, and no remark.
pub fn resembles(text: &[u8], view: &View<'_>) -> bool {
    let Some(profile) = view.rover.and_then(|rover| rover.profile(Wire::ToDrive)) else { return false };
    profile.kinds.iter().any(|kind| {
        let fixed = kind.parts.iter().filter_map(|part| match part {
            Part::Literal(bytes) => Some(bytes.as_slice()),
            _ => None,
        });
        let (mut all, mut found, mut rest) = (0, 0, text);
        for bytes in fixed {
            all += bytes.len();
            if let Some(place) = rest.windows(bytes.len()).position(|window| window == bytes) {
                found += bytes.len();
                rest = rest.get(place + bytes.len()..).unwrap_or_default();
            }
        }
        all > 0 && 4 * found >= 3 * all
    })
}

impl Rule for NearlyAnOrder {
    fn id(&self) -> &'static str {
        "nearly-an-order"
    }

    fn looks_for(&self) -> &'static str {
        "lines that are one byte off an order"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::Lines]
    }

    fn sees(&self) -> &'static [Sort] {
        &[Sort::Text, Sort::Noise]
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some(order) = nearly(event, view) else { return };
        self.ledger.add(event, 1);
        if let (None, Happening::Text { raw, .. } | Happening::Noise { raw }) = (&self.first, &event.what) {
            let shown = |bytes: &[u8]| bytes.trim_ascii_end().escape_ascii().to_string();
            self.first = Some((shown(raw), shown(&order)));
        }
    }

    fn explained(&mut self, explained: &Explained) {
        if explained.trouble == Trouble::Nearly {
            self.behind.add(explained.cause);
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let Some((line, order)) = &self.first else { return Vec::new() };
        let says = format!(
            "A line that is no order would be one but for a single byte of its head or the case of its letters, {}: first \"{line}\", where \"{order}\" \
             would be one",
            times_words(self.ledger.count())
        );
        let words = self.behind.into_words(&WORDS, &[Cause::Wire]);
        self.ledger.finding(&words, says + &self.behind.words(&[Cause::Wire])).into_iter().collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
