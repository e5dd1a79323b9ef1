//! What can be wrong with the wagon, each with what a tap sees of it.

use super::chance::Chance;
use super::{Style, Way};
use crate::rover::wheels::Wheel;

/// Every move but rest.
const MOVES: [Way; 10] = [
    Way::Ahead,
    Way::Astern,
    Way::Port,
    Way::Starboard,
    Way::AheadPort,
    Way::AheadStarboard,
    Way::AsternPort,
    Way::AsternStarboard,
    Way::SpinPort,
    Way::SpinStarboard,
];
/// The stream of draws of a fault that is not told.
const SECRET: u64 = 20;

/// Which of the two hands of rollers belongs to a corner, as its sign.
pub(super) const fn hand(corner: Wheel) -> i32 {
    if matches!(corner, Wheel::FL | Wheel::RR) { -1 } else { 1 }
}

/// One thing that is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fault {
    /// The two leads of this wheel's motor are exchanged. A tap sees a perfect wire; only a person at the wheel, or
    /// the operator's corrections, can show it.
    LeadsReversed(Wheel),
    /// This wheel's motor plug is out. A tap sees a perfect wire.
    Dead(Wheel),
    /// The motor plugs of these two wheels are exchanged at the drivers. A tap sees a perfect wire.
    PlugsExchanged(Wheel, Wheel),
    /// These two wheels, whose rollers have different hands, are mounted at each other's corner. A tap sees a perfect
    /// wire, a person at the stand sees wheels that turn as they should; only the floor, or a look, can show it.
    WheelsExchanged(Wheel, Wheel),
    /// In the drive board's table the row of this move has the wrong sign for one wheel. A tap sees a perfect wire.
    RowSign(Way, Wheel),
    /// In the drive board's table the rows of these two moves are exchanged. A tap sees a perfect wire.
    RowsExchanged(Way, Way),
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
    /// The faults that are not of one wheel, plug or row.
    const OF_THE_LINK: [Self; 13] = [
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

    /// Every fault, those of wheels, plugs and rows for each of them.
    pub fn all() -> Vec<Self> {
        let mut all: Vec<Self> = Self::of_the_wheels(Style::PlainLine).concat();
        let exchanged = |a: usize| MOVES[a + 1..].iter().map(move |b| Self::RowsExchanged(MOVES[a], *b));
        all.extend((0..MOVES.len()).flat_map(exchanged));
        all.extend(Self::OF_THE_LINK);
        all
    }

    /// The faults that only a person at the wheels can see, sort by sort: leads, plug out, plugs exchanged, wheels
    /// exchanged, and, where the build has a table of moves, a wrong sign in it.
    fn of_the_wheels(style: Style) -> Vec<Vec<Self>> {
        let pairs = || (0..4).flat_map(|a| (a + 1..4).map(move |b| (Wheel::ALL[a], Wheel::ALL[b])));
        let hands_differ = |(a, b): &(Wheel, Wheel)| hand(*a) != hand(*b);
        let row = |way: &Way| {
            let way = *way;
            let driven = Wheel::ALL.into_iter().filter(move |wheel| super::mixer::of_way(way)[wheel.index()] != 0);
            driven.map(move |wheel| Self::RowSign(way, wheel)).collect::<Vec<_>>()
        };
        let mut sorts = vec![
            Wheel::ALL.map(Self::LeadsReversed).to_vec(),
            Wheel::ALL.map(Self::Dead).to_vec(),
            pairs().map(|(a, b)| Self::PlugsExchanged(a, b)).collect(),
            pairs().filter(hands_differ).map(|(a, b)| Self::WheelsExchanged(a, b)).collect(),
        ];
        if style == Style::PlainLine {
            sorts.push(MOVES.iter().flat_map(row).collect());
        }
        sorts
    }

    /// One fault of the wheels that `seed` picks: first the sort, then which. The same seed picks the same.
    pub fn secret(seed: u64, style: Style) -> Self {
        let mut chance = Chance::new(seed, SECRET);
        let sorts = Self::of_the_wheels(style);
        let sort = &sorts[chance.below(sorts.len() as u64) as usize];
        sort[chance.below(sort.len() as u64) as usize]
    }

    /// Its name, as written on a command line.
    pub fn name(self) -> String {
        let wheel = |wheel: Wheel| wheel.name().to_lowercase();
        match self {
            Self::LeadsReversed(one) => format!("leads-reversed-{}", wheel(one)),
            Self::Dead(one) => format!("dead-{}", wheel(one)),
            Self::PlugsExchanged(a, b) => format!("plugs-exchanged-{}-{}", wheel(a), wheel(b)),
            Self::WheelsExchanged(a, b) => format!("wheels-exchanged-{}-{}", wheel(a), wheel(b)),
            Self::RowSign(way, one) => format!("row-sign-{}-{}", way.name(), wheel(one)),
            Self::RowsExchanged(a, b) => format!("rows-exchanged-{}-{}", a.name(), b.name()),
            other => other.link_name().to_owned(),
        }
    }

    const fn link_name(self) -> &'static str {
        match self {
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
            _ => "",
        }
    }

    /// The names of all faults for a person: what stands for a wheel or a move is in capitals.
    pub fn names() -> String {
        let link = Self::OF_THE_LINK.map(Self::link_name).join(", ");
        format!(
            "leads-reversed-W, dead-W, plugs-exchanged-W-W, wheels-exchanged-W-W, row-sign-M-W, rows-exchanged-M-M, \
             {link}; W is a wheel (fl, fr, rl, rr), M a move of the plain line (ahead, port, ..)"
        )
    }

    /// The fault of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|fault| fault.name() == name)
    }

    /// What is wrong, in one sentence.
    pub fn says(self) -> String {
        match self {
            Self::LeadsReversed(one) => {
                format!("The two leads of {}'s motor are exchanged: the wheel turns the wrong way.", one.name())
            }
            Self::Dead(one) => format!("The motor plug of {} is out: the wheel does not turn.", one.name()),
            Self::PlugsExchanged(a, b) => {
                format!("The motor plugs of {} and {} are exchanged: each gets the other's orders.", a.name(), b.name())
            }
            Self::WheelsExchanged(a, b) => format!(
                "The wheels of {} and {} are mounted at each other's corner: their rollers have the wrong hand there.",
                a.name(),
                b.name()
            ),
            Self::RowSign(way, one) => {
                format!("In the drive board's table the row `{}` has the wrong sign for {}.", way.name(), one.name())
            }
            Self::RowsExchanged(a, b) => {
                format!("In the drive board's table the rows `{}` and `{}` are exchanged.", a.name(), b.name())
            }
            other => other.link_says().to_owned(),
        }
    }

    const fn link_says(self) -> &'static str {
        match self {
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
            _ => "",
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
            // Only the plain line's drive board has a table of moves; the later builds mix.
            Self::RowSign(..) | Self::RowsExchanged(..) => matches!(style, Style::PlainLine),
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
        let all = Fault::all();
        let names: BTreeSet<String> = all.iter().map(|fault| fault.name()).collect();
        // 4 leads, 4 plugs out, 6 pairs of plugs, 4 pairs of wheels whose hands differ, 32 signs, 45 pairs of rows.
        assert_eq!((names.len(), all.len()), (4 + 4 + 6 + 4 + 32 + 45 + 13, 108));
        for fault in all {
            assert_eq!(Fault::from_name(&fault.name()), Some(fault));
            assert!(fault.says().ends_with('.'), "{}", fault.says());
        }
        assert_eq!(Fault::from_name("leads-reversed"), None);
        for style in Style::ALL {
            assert_eq!(Style::from_name(style.name()).unwrap(), style);
        }
    }

    #[test]
    fn a_secret_is_the_same_for_the_same_seed_and_every_sort_comes_up() {
        for style in Style::ALL {
            let picked: Vec<Fault> = (0..200).map(|seed| Fault::secret(seed, style)).collect();
            let again: Vec<Fault> = (0..200).map(|seed| Fault::secret(seed, style)).collect();
            assert_eq!(picked, again);
            assert!(picked.iter().all(|fault| fault.applies_to(style)));
            let sorts: BTreeSet<String> =
                picked.iter().map(|fault| fault.name().split('-').take(2).collect::<Vec<_>>().join("-")).collect();
            // A dead wheel's name has the wheel second: four names for one sort.
            assert_eq!(sorts.len(), if style == Style::PlainLine { 8 } else { 7 }, "{sorts:?}");
        }
    }
}
