//! What can be wrong with the wagon, each with what a tap sees of it.

use super::Style;
use crate::rover::wheels::Wheel;

/// One thing that is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fault {
    /// The two leads of this wheel's motor are exchanged. A tap sees a perfect wire; only a person at the wheel, or
    /// the operator's corrections, can show it.
    LeadsReversed(Wheel),
    /// This wheel's motor plug is out. A tap sees a perfect wire.
    Dead(Wheel),
    /// Orders are sent only when the stick changes. A tap sees gaps longer than the deadline while the order in force
    /// is a move, both counters going on by one, and the drive board reporting a lapse.
    SendOnChange,
    /// The command board's supply dips on hard starts. A tap sees a frame cut short, start-up text with the reason
    /// sag, seconds of silence, the sequence at its beginning again, and the first order glued to the text.
    SupplySag,
    /// The radio to the panel drops out. A tap sees the panel counter jump while the sequence goes on by one, then
    /// several orders close together.
    RadioGaps,
    /// Bits on the order wire are hit at any time. A tap sees failed checks, scattered, different each time.
    Noise,
    /// Bits on the order wire are hit while the motors work. A tap sees failed checks that grow with duty.
    MotorNoise,
    /// Single bytes of the order wire are missing. A tap sees frames short by a byte.
    LostBytes,
    /// The command board's loop is held up now and then. A tap sees orders late by 30 to 90 ms on an otherwise even
    /// cadence.
    LateSender,
    /// Some releases are never noticed by the panel. A tap sees one move run on into the next with no rest between.
    ReleaseLost,
    /// The command board leaves off the byte that ends a frame. A tap sees frames run together.
    NoEndMark,
    /// The command board's own start-up text lacks its line end. A tap sees the first order of each start glued to it.
    BootGlued,
    /// The command board ends its lines with CR LF, and the drive board takes the CR for part of the line. A tap sees
    /// 0D before each 0A, orders that look right, and no wheel that follows.
    CrBeforeLf,
    /// A second panel drives as well. A tap sees two series of panel counters mixed, and orders that contradict each
    /// other.
    TwoPanels,
    /// The lead from the drive board back is broken. A tap sees perfect orders and silence on the wire back.
    AnswersCut,
}

impl Fault {
    /// Every fault, the wheels' ones for each wheel.
    pub const ALL: [Self; 21] = [
        Self::LeadsReversed(Wheel::FL),
        Self::LeadsReversed(Wheel::FR),
        Self::LeadsReversed(Wheel::RL),
        Self::LeadsReversed(Wheel::RR),
        Self::Dead(Wheel::FL),
        Self::Dead(Wheel::FR),
        Self::Dead(Wheel::RL),
        Self::Dead(Wheel::RR),
        Self::SendOnChange,
        Self::SupplySag,
        Self::RadioGaps,
        Self::Noise,
        Self::MotorNoise,
        Self::LostBytes,
        Self::LateSender,
        Self::ReleaseLost,
        Self::NoEndMark,
        Self::BootGlued,
        Self::CrBeforeLf,
        Self::TwoPanels,
        Self::AnswersCut,
    ];

    /// Its name, as written on a command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::LeadsReversed(wheel) => {
                ["leads-reversed-fl", "leads-reversed-fr", "leads-reversed-rl", "leads-reversed-rr"][wheel.index()]
            }
            Self::Dead(wheel) => ["dead-fl", "dead-fr", "dead-rl", "dead-rr"][wheel.index()],
            Self::SendOnChange => "send-on-change",
            Self::SupplySag => "supply-sag",
            Self::RadioGaps => "radio-gaps",
            Self::Noise => "noise",
            Self::MotorNoise => "motor-noise",
            Self::LostBytes => "lost-bytes",
            Self::LateSender => "late-sender",
            Self::ReleaseLost => "release-lost",
            Self::NoEndMark => "no-end-mark",
            Self::BootGlued => "boot-glued",
            Self::CrBeforeLf => "cr-before-lf",
            Self::TwoPanels => "two-panels",
            Self::AnswersCut => "answers-cut",
        }
    }

    /// The fault of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|fault| fault.name() == name)
    }

    /// What is wrong, in one sentence.
    pub const fn says(self) -> &'static str {
        match self {
            Self::LeadsReversed(_) => "The two leads of this motor are exchanged: the wheel turns the wrong way.",
            Self::Dead(_) => "This motor's plug is out: the wheel does not turn.",
            Self::SendOnChange => {
                "Orders are sent only when the stick changes, so a stick kept still runs into the deadline."
            }
            Self::SupplySag => "Hard starts pull the command board's supply down until it resets.",
            Self::RadioGaps => {
                "The radio between the panel and the command board drops out for half a second now and then."
            }
            Self::Noise => "Bits on the order wire are hit at any time.",
            Self::MotorNoise => "Bits on the order wire are hit while the motors work.",
            Self::LostBytes => "Single bytes go missing on the order wire.",
            Self::LateSender => "The command board sends some orders 30 to 90 ms late.",
            Self::ReleaseLost => "Some releases are never noticed, so the move goes on until the next press.",
            Self::NoEndMark => "Frames are sent without the byte that ends them.",
            Self::BootGlued => "The command board's start-up text has no line end, so the first order is glued to it.",
            Self::CrBeforeLf => "Lines end with CR LF, but the drive board expects LF alone and does not obey.",
            Self::TwoPanels => "Two panels drive at once.",
            Self::AnswersCut => "The lead from the drive board back to the command board is broken.",
        }
    }

    /// Whether a build of this style can have it.
    pub const fn applies_to(self, style: Style) -> bool {
        match self {
            // The plain line never repeats, so it always sends on change; it has no deadline to run into.
            Self::SendOnChange => !matches!(style, Style::PlainLine),
            // The ladder's frames have no end byte: their length is stated.
            Self::NoEndMark => !matches!(style, Style::Ladder),
            Self::CrBeforeLf => matches!(style, Style::PlainLine | Style::CueLine),
            Self::AnswersCut => style.answers(),
            _ => true,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn names_are_told_apart_and_lead_back() {
        let names: BTreeSet<&str> = Fault::ALL.iter().map(|fault| fault.name()).collect();
        assert_eq!(names.len(), Fault::ALL.len());
        for fault in Fault::ALL {
            assert_eq!(Fault::from_name(fault.name()), Some(fault));
            assert!(fault.says().ends_with('.'));
        }
        assert_eq!(Fault::from_name("leads-reversed"), None);
        for style in Style::ALL {
            assert_eq!(Style::from_name(style.name()).unwrap(), style);
        }
    }
}
