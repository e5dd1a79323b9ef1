//! Troubles: what can be observed, each by itself, before anybody asks why.

use wheeltap_parsers::Nanos;

/// One sort of trouble.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Trouble {
    /// A deadline ran out with a move in force.
    Lapse,
    /// Orders that should repeat stopped while a wheel was meant to turn.
    Silence,
    /// An order came certainly late.
    Late,
    /// Orders came close together right after a silence.
    Bunch,
    /// A frame did not arrive intact.
    Damage,
    /// A line that is no order, and would be one but for a single byte.
    Nearly,
    /// Bytes that are neither frame nor text.
    Noise,
    /// An order came glued to text.
    Glued,
    /// The drive board refused an order.
    Refused,
    /// Sequence numbers are missing.
    SequenceGap,
    /// The sequence began anew.
    SequenceRestart,
    /// A sequence number came again or out of turn.
    SequenceOrder,
    /// The panel's own counter jumped.
    PanelJump,
    /// The panel's own counter went back.
    PanelBack,
    /// A board started in mid-run.
    Start,
    /// The tap heard nothing, or could not keep it.
    Deaf,
}

impl Trouble {
    /// Every sort.
    pub const ALL: [Self; 16] = [
        Self::Lapse,
        Self::Silence,
        Self::Late,
        Self::Bunch,
        Self::Damage,
        Self::Nearly,
        Self::Noise,
        Self::Glued,
        Self::Refused,
        Self::SequenceGap,
        Self::SequenceRestart,
        Self::SequenceOrder,
        Self::PanelJump,
        Self::PanelBack,
        Self::Start,
        Self::Deaf,
    ];

    /// Stable id, as `decode --json` prints it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Lapse => "lapse",
            Self::Silence => "silence",
            Self::Late => "late",
            Self::Bunch => "bunched",
            Self::Damage => "damage",
            Self::Nearly => "nearly-an-order",
            Self::Noise => "noise",
            Self::Glued => "glued",
            Self::Refused => "refused",
            Self::SequenceGap => "sequence-gap",
            Self::SequenceRestart => "sequence-restart",
            Self::SequenceOrder => "sequence-order",
            Self::PanelJump => "panel-jump",
            Self::PanelBack => "panel-back",
            Self::Start => "start",
            Self::Deaf => "deaf",
        }
    }

    /// In words, after a number.
    pub const fn words(self, count: u64) -> &'static str {
        match (self, count == 1) {
            (Self::Lapse, true) => "lapse",
            (Self::Lapse, false) => "lapses",
            (Self::Silence, true) => "silence",
            (Self::Silence, false) => "silences",
            (Self::Late, true) => "late order",
            (Self::Late, false) => "late orders",
            (Self::Bunch, true) => "bunched order",
            (Self::Bunch, false) => "bunched orders",
            (Self::Damage, true) => "damaged frame",
            (Self::Damage, false) => "damaged frames",
            (Self::Nearly, true) => "line one byte off an order",
            (Self::Nearly, false) => "lines one byte off an order",
            (Self::Noise, true) => "noise run",
            (Self::Noise, false) => "noise runs",
            (Self::Glued, true) => "order glued to text",
            (Self::Glued, false) => "orders glued to text",
            (Self::Refused, true) => "refused order",
            (Self::Refused, false) => "refused orders",
            (Self::SequenceGap, true) => "gap in the sequence",
            (Self::SequenceGap, false) => "gaps in the sequence",
            (Self::SequenceRestart, true) => "sequence restart",
            (Self::SequenceRestart, false) => "sequence restarts",
            (Self::SequenceOrder, true) => "number out of turn",
            (Self::SequenceOrder, false) => "numbers out of turn",
            (Self::PanelJump, true) => "jump of the panel's counter",
            (Self::PanelJump, false) => "jumps of the panel's counter",
            (Self::PanelBack, true) => "step back of the panel's counter",
            (Self::PanelBack, false) => "steps back of the panel's counter",
            (Self::Start, true) => "start in mid-run",
            (Self::Start, false) => "starts in mid-run",
            (Self::Deaf, true) => "stretch missing",
            (Self::Deaf, false) => "stretches missing",
        }
    }

    /// How long its cause may take to show, if no order closes it before. Never more than 5 s.
    pub const fn horizon(self) -> Nanos {
        match self {
            Self::Lapse | Self::Silence => 5_000_000_000,
            Self::Damage | Self::Nearly | Self::Noise | Self::Start | Self::PanelJump => 1_000_000_000,
            Self::Refused => 100_000_000,
            _ => 0,
        }
    }

    /// Whether it is a want of orders.
    pub const fn is_silence(self) -> bool {
        matches!(self, Self::Lapse | Self::Silence)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cause_takes_more_than_five_seconds() {
        assert!(Trouble::ALL.iter().all(|trouble| trouble.horizon() <= 5_000_000_000));
        assert!(Trouble::ALL.iter().filter(|trouble| trouble.is_silence()).all(|one| one.horizon() == 5_000_000_000));
    }
}
