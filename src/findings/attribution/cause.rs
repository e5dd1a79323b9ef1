//! Causes: why a trouble happened, and in which layer to look.

use crate::findings::Layer;

/// One cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// The command board was reset by a sagging supply, or began as after power-on in mid-run.
    CommandSupply,
    /// The command board was reset otherwise: watchdog, crash, reset pin.
    CommandReset,
    /// The command board's sequence began anew with no start-up text heard.
    Restarted,
    /// The drive board was reset by a sagging supply, or began as after power-on in mid-run.
    DriveSupply,
    /// The drive board was reset otherwise.
    DriveReset,
    /// Start-up text of switching on, with no line end before the first order.
    Glue,
    /// Orders that are whole but for their end mark: none, or another than the rover file's.
    EndMark,
    /// Messages of the panel did not reach the command board.
    Radio,
    /// Two senders, or two panels: two series of the panel's counter.
    TwoSeries,
    /// Orders or messages came out of turn.
    OutOfTurn,
    /// The command board sends only when something changes, and nothing did.
    SendsOnChange,
    /// The command board repeats, and was held up.
    HeldUp,
    /// The command board skipped numbers, or whole frames never reached the tap.
    Skipped,
    /// Frames were hit on the wire.
    Wire,
    /// The drive board's reader refused what stood intact on the wire.
    Reader,
    /// The tap itself was deaf.
    Tap,
    /// The radio or the command board: without a second counter they cannot be told apart.
    CannotTell,
    /// No order came within the horizon: whoever stopped sending is not known.
    Stopped,
}

impl Cause {
    /// Every cause.
    pub const ALL: [Self; 18] = [
        Self::CommandSupply,
        Self::CommandReset,
        Self::Restarted,
        Self::DriveSupply,
        Self::DriveReset,
        Self::Glue,
        Self::EndMark,
        Self::Radio,
        Self::TwoSeries,
        Self::OutOfTurn,
        Self::SendsOnChange,
        Self::HeldUp,
        Self::Skipped,
        Self::Wire,
        Self::Reader,
        Self::Tap,
        Self::CannotTell,
        Self::Stopped,
    ];

    /// Stable id, as `decode --json` prints it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::CommandSupply => "command-board-supply",
            Self::CommandReset => "command-board-reset",
            Self::Restarted => "command-board-restarted",
            Self::DriveSupply => "drive-board-supply",
            Self::DriveReset => "drive-board-reset",
            Self::Glue => "start-up-text-without-end",
            Self::EndMark => "end-mark",
            Self::Radio => "radio",
            Self::TwoSeries => "two-series",
            Self::OutOfTurn => "out-of-turn",
            Self::SendsOnChange => "sends-on-change",
            Self::HeldUp => "sender-held-up",
            Self::Skipped => "numbers-skipped",
            Self::Wire => "hit-on-the-wire",
            Self::Reader => "refused-intact",
            Self::Tap => "tap-deaf",
            Self::CannotTell => "cannot-be-told-apart",
            Self::Stopped => "orders-stopped",
        }
    }

    /// In words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::CommandSupply => "the command board's supply sagged and it started anew",
            Self::CommandReset => "the command board was reset",
            Self::Restarted => "the command board began anew; no start-up text was heard",
            Self::DriveSupply => "the drive board's supply sagged and it started anew",
            Self::DriveReset => "the drive board was reset",
            Self::Glue => "text with no line end stood before the order",
            Self::EndMark => "orders are whole but for their end mark",
            Self::Radio => "messages of the panel were lost in the air",
            Self::TwoSeries => "two panels drive at once",
            Self::OutOfTurn => "something came out of turn",
            Self::SendsOnChange => "the command board sends only when something changes",
            Self::HeldUp => "the command board was held up",
            Self::Skipped => "the command board skipped numbers, or whole frames never reached the tap",
            Self::Wire => "frames were hit on the wire",
            Self::Reader => "the drive board refused what stood intact on the wire",
            Self::Tap => "the tap itself was deaf",
            Self::CannotTell => "radio or command board: cannot be told apart on this link",
            Self::Stopped => "no order came within 5 s; who stopped is not known",
        }
    }

    /// The layer it sits in; `None` where that is not known.
    pub const fn layer(self) -> Option<Layer> {
        match self {
            Self::CommandSupply | Self::DriveSupply => Some(Layer::Power),
            Self::CommandReset
            | Self::Restarted
            | Self::Glue
            | Self::EndMark
            | Self::SendsOnChange
            | Self::HeldUp
            | Self::Skipped => Some(Layer::CommandBoard),
            Self::DriveReset | Self::Reader => Some(Layer::Reader),
            Self::Radio | Self::TwoSeries | Self::OutOfTurn => Some(Layer::Panel),
            Self::Wire => Some(Layer::Wire),
            Self::Tap => Some(Layer::Tap),
            Self::CannotTell | Self::Stopped => None,
        }
    }

    /// The cause of an order that came late but within its deadline: nobody's repeats can be lost there in the air.
    pub(super) const fn of_late(self) -> Self {
        match self {
            Self::SendsOnChange => Self::HeldUp,
            other => other,
        }
    }

    /// Whether it is a reset of either board.
    pub const fn is_reset(self) -> bool {
        matches!(
            self,
            Self::CommandSupply | Self::CommandReset | Self::Restarted | Self::DriveSupply | Self::DriveReset
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn each_cause_has_its_own_id() {
        let ids: BTreeSet<&str> = Cause::ALL.iter().map(|cause| cause.id()).collect();
        assert_eq!(ids.len(), Cause::ALL.len());
    }
}
