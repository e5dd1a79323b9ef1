//! How the command board comes up, and what it prints on the order wire while it does.

use wheeltap_parsers::Nanos;

use crate::simulation::chance::Chance;
use crate::simulation::{Fault, MS, Settings};

/// From the ROM's line to the loader's.
const ROM: Nanos = 9 * MS;
/// From the loader's line to the application's at power-up: the network is still there from before.
const FIRST_JOIN: Nanos = 291 * MS;

/// Where the board is on its way up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// Its ROM speaks next.
    Dark,
    /// The loader speaks next.
    Rom,
    /// The application speaks next.
    Loaded,
    /// Working.
    Up,
}

/// Why it starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reason {
    Power,
    Button,
    Sag,
}

impl Reason {
    /// As its ROM prints it.
    const fn words(self) -> &'static str {
        match self {
            Self::Power => "0x01(power)",
            Self::Button => "0x02(ext)",
            Self::Sag => "0x0F(sag)",
        }
    }
}

/// What a step of the way up gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Said {
    /// Text on the wire.
    Text(Vec<u8>),
    /// The application's line; the first order follows it at once.
    Up(Vec<u8>),
}

/// The way up.
#[derive(Clone, Debug)]
pub(super) struct StartUp {
    phase: Phase,
    due: Nanos,
    reason: Reason,
    glued: bool,
}

impl StartUp {
    pub(super) fn new(settings: &Settings) -> Self {
        // The build that sags is also the one whose application forgets its line end.
        let glued = settings.has(Fault::SupplySag) || settings.has(Fault::BootGlued);
        Self { phase: Phase::Dark, due: 300 * MS, reason: Reason::Power, glued }
    }

    /// Whether the board works.
    pub(super) fn is_up(&self) -> bool {
        self.phase == Phase::Up
    }

    /// The gear the board comes up with: another one after a reset.
    pub(super) const fn gear(&self) -> u8 {
        if matches!(self.reason, Reason::Sag) { 3 } else { 2 }
    }

    /// When it says something next.
    pub(super) fn next_at(&self) -> Option<Nanos> {
        (!self.is_up()).then_some(self.due)
    }

    /// The supply has failed at `now`: everything again.
    pub(super) fn again(&mut self, now: Nanos) {
        *self = Self { phase: Phase::Dark, due: now + 12 * MS, reason: Reason::Sag, ..*self };
    }

    /// The reset button was pressed at `now`: everything again.
    pub(super) fn by_button(&mut self, now: Nanos) {
        self.again(now);
        self.reason = Reason::Button;
    }

    /// What is due at `now`.
    pub(super) fn act(&mut self, now: Nanos, chance: &mut Chance) -> Option<Said> {
        if self.next_at()? > now {
            return None;
        }
        match self.phase {
            Phase::Dark => {
                (self.phase, self.due) = (Phase::Rom, now + ROM);
                let mut text = vec![0x00, 0xF8];
                text.extend(format!("GC2 rom 1.4 rst={} strap=0b10110\r\n", self.reason.words()).bytes());
                Some(Said::Text(text))
            }
            Phase::Rom => {
                // After a reset the network has to be joined again.
                let again = self.reason != Reason::Power;
                let join = if again { chance.span(2_350 * MS, 2_600 * MS) } else { FIRST_JOIN };
                (self.phase, self.due) = (Phase::Loaded, now + join);
                Some(Said::Text(b"load @3F40 len 6144 ok\r\n".to_vec()))
            }
            Phase::Loaded => {
                self.phase = Phase::Up;
                let end = if self.glued { " " } else { "\r\n" };
                Some(Said::Up(format!("eye ok heap 91k net up{end}").into_bytes()))
            }
            Phase::Up => None,
        }
    }
}
