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
    /// The command board's clock is a few per cent fast: only the highest bits are misread.
    FastClock,
    /// Orders that lack only their end mark, too few yet to tell whether it was sent.
    EndMarkOrHit,
    /// Words or numbers that come again and again, and that the rover file does not know.
    NotInFile,
    /// The same of what the drive board sends back.
    AnswerNotInFile,
    /// The command board sent a number twice.
    SentTwice,
    /// The command board's own numbers went back.
    NumberBack,
    /// A word or number that the rover file does not know, and that may have been another before it was hit.
    SentOrHit,
    /// Nothing on that wire was ever known to the rover file.
    NothingFits,
    /// Too little came on that wire to tell whether anything on it fits.
    NothingYet,
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
    /// Two senders drive on one wire, each with numbers of its own.
    TwoSenders,
    /// The recorder could not keep what it heard.
    NotKept,
    /// The file was damaged after it was recorded.
    FileDamaged,
    /// The radio or the command board: without a second counter they cannot be told apart.
    CannotTell,
    /// No order came within the horizon: whoever stopped sending is not known.
    Stopped,
}

impl Cause {
    /// Every cause.
    pub const ALL: [Self; 30] = [
        Self::CommandSupply,
        Self::CommandReset,
        Self::Restarted,
        Self::DriveSupply,
        Self::DriveReset,
        Self::Glue,
        Self::EndMark,
        Self::FastClock,
        Self::EndMarkOrHit,
        Self::NotInFile,
        Self::AnswerNotInFile,
        Self::SentTwice,
        Self::NumberBack,
        Self::SentOrHit,
        Self::NothingFits,
        Self::NothingYet,
        Self::Radio,
        Self::TwoSeries,
        Self::OutOfTurn,
        Self::SendsOnChange,
        Self::HeldUp,
        Self::Skipped,
        Self::Wire,
        Self::Reader,
        Self::Tap,
        Self::TwoSenders,
        Self::NotKept,
        Self::FileDamaged,
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
            Self::FastClock => "fast-clock",
            Self::EndMarkOrHit => "end-mark-or-hit",
            Self::NotInFile => "not-in-rover-file",
            Self::AnswerNotInFile => "answer-not-in-rover-file",
            Self::SentTwice => "sent-twice",
            Self::NumberBack => "number-went-back",
            Self::SentOrHit => "sent-or-hit",
            Self::NothingFits => "nothing-fits",
            Self::NothingYet => "nothing-known-yet",
            Self::Radio => "radio",
            Self::TwoSeries => "two-series",
            Self::OutOfTurn => "out-of-turn",
            Self::SendsOnChange => "sends-on-change",
            Self::HeldUp => "sender-held-up",
            Self::Skipped => "numbers-skipped",
            Self::Wire => "hit-on-the-wire",
            Self::Reader => "refused-intact",
            Self::Tap => "tap-deaf",
            Self::TwoSenders => "two-senders",
            Self::NotKept => "not-kept",
            Self::FileDamaged => "file-damaged",
            Self::CannotTell => "cannot-be-told-apart",
            Self::Stopped => "orders-stopped",
        }
    }

    /// In words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::CommandSupply => "the command board's supply sagged or broke off, and it started anew",
            Self::CommandReset => "the command board was reset",
            Self::Restarted => "the command board began anew; why was not heard",
            Self::DriveSupply => "the drive board's supply sagged or broke off, and it started anew",
            Self::DriveReset => "the drive board was reset",
            Self::Glue => "text with no line end stood before the order",
            Self::EndMark => "orders are whole but for their end mark",
            Self::FastClock => "the command board's clock is fast: only the highest bits are misread",
            Self::EndMarkOrHit => "orders are whole but for their end mark: not sent, or lost on the wire",
            Self::NotInFile => "the command board sends what the rover file does not know or allow",
            Self::AnswerNotInFile => "the drive board sends what the rover file does not know or allow",
            Self::SentTwice => "the command board sent the same number twice",
            Self::NumberBack => "the command board's numbers went back: out of turn, or two senders on one wire",
            Self::SentOrHit => "a word or number came that the rover file does not know: sent so, or hit on the wire",
            Self::NothingFits => "nothing on the wire fits the rover file: another file, or another line rate",
            Self::NothingYet => "nothing on the wire had fitted the rover file so far",
            Self::Radio => "messages of the panel were lost in the air",
            Self::TwoSeries => "two panels drive at once",
            Self::OutOfTurn => "something came out of turn",
            Self::SendsOnChange => "the command board sends only when something changes",
            Self::HeldUp => "the command board was held up",
            Self::Skipped => "the command board skipped numbers, or whole frames never reached the tap",
            Self::Wire => "frames were hit on the wire",
            Self::Reader => "the drive board refused what stood intact on the wire",
            Self::Tap => "the tap itself was deaf",
            Self::TwoSenders => "two senders drive on one wire: their numbers take turns",
            Self::NotKept => "bytes were received but could not be kept",
            Self::FileDamaged => "the file lacks bytes: it was damaged after it was recorded",
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
            | Self::FastClock
            | Self::NotInFile
            | Self::SentTwice
            | Self::NumberBack
            | Self::TwoSenders
            | Self::SendsOnChange
            | Self::HeldUp
            | Self::Skipped => Some(Layer::CommandBoard),
            Self::DriveReset | Self::Reader | Self::AnswerNotInFile => Some(Layer::Reader),
            Self::Radio | Self::TwoSeries | Self::OutOfTurn => Some(Layer::Panel),
            Self::Wire => Some(Layer::Wire),
            Self::Tap | Self::NotKept | Self::FileDamaged | Self::NothingFits => Some(Layer::Tap),
            Self::EndMarkOrHit | Self::SentOrHit | Self::NothingYet | Self::CannotTell | Self::Stopped => None,
        }
    }

    /// What to do about it, as a first step; `None` where nothing can be said.
    pub const fn what_to_do(self) -> Option<&'static str> {
        match self {
            Self::CommandSupply | Self::DriveSupply => Some(
                "Look at the supply of the board that started anew: feed it from its own 5 V converter with a capacitor at the board, and let the duty rise in steps. Pack out before any terminal is touched.",
            ),
            Self::CommandReset | Self::DriveReset => Some(
                "Look at the finding of the reset: its start-up text says why that board started anew. Cure that first, then count again.",
            ),
            Self::Restarted => Some(
                "Find out why the command board began anew: its start-up text is not on this wire. Look at its supply first, then for a hang of its program.",
            ),
            Self::Wire => Some(
                "Look at ground and lead between the boards first, then at motor noise: 100 nF across each motor, leads apart.",
            ),
            Self::Radio => {
                Some("Another radio channel, the panel nearer, less video; and a deadline in the drive board.")
            }
            Self::TwoSeries => {
                Some("See that only one panel is open, and let the command board take orders from one at a time.")
            }
            Self::SendsOnChange => {
                Some("Let the command board repeat its last order at least three times within the deadline.")
            }
            Self::HeldUp => Some(
                "See what the command board does at those times (picture, network, prints) and let orders go out from a task of their own.",
            ),
            Self::EndMark | Self::EndMarkOrHit => {
                Some("Let the command board end each order with the mark that the drive board waits for.")
            }
            Self::FastClock => Some(
                "See what the command board's divider makes of the line rate, and whether its clock is a crystal: warmth moves the others.",
            ),
            Self::NotInFile => Some(
                "This was sent so. If the drive board obeys it, add it to the rover file (a word, a range, the letters of the check); else correct it at the command board.",
            ),
            Self::AnswerNotInFile => Some(
                "This was sent so. If it is right, add it to the rover file (a word, a range, the letters of the check); else correct it at the drive board.",
            ),
            Self::SentTwice | Self::NumberBack => Some(
                "Let the drive board drop an order whose number is not newer. See that only one board sends on this wire.",
            ),
            Self::SentOrHit => Some(
                "See whether it comes again: the same each time, then it is the rover file or the sender; another each time, then look at ground and lead between the boards.",
            ),
            Self::NothingFits | Self::NothingYet => {
                Some("Try the line rate first, then see that the rover file is the one of this link.")
            }
            Self::CannotTell => Some(
                "Let the panel number its messages and the command board pass the number on: then this tells radio and board apart. Until then open and close the picture, and go near with the panel, and leave a note each time.",
            ),
            Self::Tap => Some("See that the tap's plug sits well and that nothing else reads its port."),
            Self::TwoSenders => {
                Some("See that only one board sends on this wire, and that no other program of the command board does.")
            }
            Self::NotKept => Some("Look at the disk that was recorded to: full, slow, or taken away."),
            Self::FileDamaged => Some("Take the file from where it was recorded once more, or from another copy."),
            Self::Skipped => Some("Look whether the sender skips numbers when it is busy; then at the wire."),
            Self::Glue | Self::OutOfTurn | Self::Reader | Self::Stopped => None,
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
