//! Nothing that is heard is a frame, and the tap listens at another line rate than the sender's.

use std::sync::{Arc, OnceLock};

use wheeltap_parsers::Wire;

use crate::engine::event::{Event, Happening};
use crate::findings::ledger::{Ledger, Words};
use crate::findings::sorts::Sort;
use crate::findings::{Confidence, Finding, Layer, Need, Rule, Severity, View};
use crate::timing::rate::expectation::RATES;
use crate::timing::rate::uart::HeardByte;
use crate::timing::rate::{Models, likeliest};

/// Fewest bytes heard of which anything is said.
const ENOUGH: usize = 64;
/// Most bytes that are looked at.
const MOST: usize = 600;
/// A piece shorter than this shows little of a rate.
const PIECE: usize = 4;
/// Rates closer than this many hundredths are the same.
const SAME: u32 = 5;
/// Another sender must be so much likelier, in natural logarithms.
const SURE: f64 = 25.0;

/// What one wire gave while no frame was known on it.
#[derive(Clone, Debug, Default)]
struct Heard {
    ledger: Ledger,
    bytes: u64,
    pieces: Vec<Vec<HeardByte>>,
    kept: usize,
    fits: bool,
    /// The rates of the tap and of the rover file, baud.
    rates: Option<(u32, u32)>,
    /// The sender that the pieces look like: worked out when it is asked for, and again only once there are more of them.
    sender: OnceLock<Option<u32>>,
}

/// The rule's ledgers, one for each wire.
#[derive(Clone, Debug, Default)]
pub struct WrongRate {
    wires: [Heard; 2],
}

const WORDS: Words = Words {
    id: "wrong-rate",
    severity: Severity::Fault,
    layer: Layer::Tap,
    confidence: Confidence::Possible,
    not: "A wrong rate makes the same bytes of the same order each time; a lost ground or noise makes other ones. A wrong rover file shows readable lines.",
    what_to_do: "Listen again at the rate that is named. If every rate gives the same, look at the ground lead, then for inverted levels.",
    check_after: "Each press gives a frame.",
};

const SENDER: Words = Words {
    severity: Severity::Doubt,
    layer: Layer::CommandBoard,
    what_to_do: "Listen again at the rate that is named. If it reads clean there, the command board sends at another rate than the drive board is set to: set both alike.",
    ..WORDS
};

const DRIVE_SENDER: Words = Words {
    layer: Layer::Reader,
    what_to_do: "Listen again at the rate that is named. If it reads clean there, the drive board sends at another rate than the tap listens at: set the second tap to it, and see that the command board reads at it.",
    ..SENDER
};

/// The models take some tenths of a second to work out: once for all.
fn models() -> &'static Arc<Models> {
    static MODELS: OnceLock<Arc<Models>> = OnceLock::new();
    MODELS.get_or_init(Arc::default)
}

const fn same(one: u32, other: u32) -> bool {
    one.abs_diff(other) as u64 * 100 <= other as u64 * SAME as u64
}

impl Heard {
    fn take(&mut self, event: &Event, raw: &[u8]) {
        self.bytes += event.len;
        self.ledger.add(event, event.len as i64);
        if raw.len() >= PIECE && self.kept < MOST {
            self.kept += raw.len();
            self.pieces.push(raw.iter().map(|byte| HeardByte { byte: *byte, framing_error: false }).collect());
            self.sender = OnceLock::new();
        }
    }

    /// The rate of the sender that the pieces look like, heard at `tap`; `None` where none is sure.
    fn sender(&self, tap: u32) -> Option<u32> {
        let tried = RATES.into_iter().find(|rate| same(tap, *rate))?;
        let likely = likeliest(models(), tried, &self.pieces);
        likely.filter(|(rate, by)| *by >= SURE && !same(*rate, tap)).map(|(rate, _)| rate)
    }

    fn finding(&self, wire: Wire) -> Option<Finding> {
        let (tap, stated) = self.rates.filter(|_| !self.fits && self.kept >= ENOUGH)?;
        let heard = format!("Of {} bytes on wire {} not one frame is known", self.bytes, wire.symbol());
        if !same(tap, stated) {
            let says = format!("{heard}: the tap listens at {tap} baud, the rover file says {stated}");
            return self.ledger.finding(&WORDS, says);
        }
        let rate = (*self.sender.get_or_init(|| self.sender(tap)))?;
        let says = format!("{heard}; heard at {tap} baud they look like those of a sender at about {rate}");
        self.ledger.finding(if wire == Wire::ToDrive { &SENDER } else { &DRIVE_SENDER }, says)
    }
}

impl Rule for WrongRate {
    fn id(&self) -> &'static str {
        "wrong-rate"
    }

    fn looks_for(&self) -> &'static str {
        "senders at another line rate than the tap's"
    }

    fn needs(&self) -> &'static [Need] {
        &[Need::Meaning, Need::LineRate]
    }

    fn sees(&self) -> &'static [Sort] {
        &Sort::RECORDS
    }

    fn see(&mut self, event: &Event, view: &View<'_>) {
        let Some((wire, rover)) = event.wire.zip(view.rover) else { return };
        let heard = &mut self.wires[wire.index()];
        if heard.fits || rover.profile(wire).is_none() {
            return;
        }
        match &event.what {
            Happening::Frame(_) => *heard = Heard { fits: true, ..Heard::default() },
            Happening::Noise { raw } | Happening::Text { raw, .. } | Happening::Damage { raw, .. } => {
                heard.rates = view.rates[wire.index()].map(|tap| (tap, rover.rate));
                heard.take(event, raw);
            }
            _ => {}
        }
    }

    fn findings(&self) -> Vec<Finding> {
        Wire::BOTH.into_iter().zip(&self.wires).filter_map(|(wire, heard)| heard.finding(wire)).collect()
    }

    fn copy(&self) -> Box<dyn Rule> {
        Box::new(self.clone())
    }
}
