//! What stood between two orders (or two frames of the wire back): all that a cause is decided from.

use wheeltap_parsers::{Nanos, Wire};

use super::cause::Cause;
use super::trouble::Trouble;
use crate::findings::reset::Sort;
use crate::timing::counter::Step;

/// How both counters moved with an order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Steps {
    /// The sequence; `None` where the link has none.
    pub(super) sequence: Option<Step>,
    /// It goes on with the numbers of another sender.
    pub(super) turn: bool,
    /// The panel's own counter; `None` where the link has none.
    pub(super) panel: Option<Step>,
    /// Its value before.
    pub(super) panel_before: Option<i64>,
}

/// A start of the wire's board.
#[derive(Clone, Copy, Debug)]
pub(super) struct Start {
    /// When its last text came.
    pub(super) at: Nanos,
    sort: Sort,
    mid_run: bool,
}

/// What stood between.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Between {
    pub(super) start: Option<Start>,
    /// Why a frame or a longer run is broken that stood there: what hit one counts most.
    broken: Option<Cause>,
    /// A few stray bytes or free text stood there: a frame hit at its start mark looks so.
    pub(super) stray: bool,
    /// The last of it was a remark of the board: free text that resembles no order.
    pub(super) remark: bool,
    pub(super) deaf: Option<Cause>,
}

/// A sender that repeats at least once for so many new messages or orders is one that repeats.
const REPEATS: u64 = 10;
/// A hand may ask for the same so often, even on a sender of changes.
const BY_CHANCE: u64 = 5;
/// After so many silent rests with hardly an order that repeats, a sender that repeats would have repeated.
const ENOUGH: u64 = 2;

/// How the command board has sent so far.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Habit {
    /// Orders that repeated the panel's last message.
    pub(super) repeats: u64,
    /// Orders that brought a new one.
    pub(super) news: u64,
    /// Orders that asked for the same as the one before.
    pub(super) same: u64,
    /// Orders that asked for something else.
    pub(super) other: u64,
    /// Rests in which nothing came for a while.
    pub(super) silent_rests: u64,
}

impl Habit {
    /// Whether it repeats an order that is in force.
    const fn repeats(self) -> bool {
        self.repeats * REPEATS > self.news || (self.same > BY_CHANCE && self.same * REPEATS > self.other)
    }

    /// Whether it is known never to repeat one.
    const fn never_repeats(self) -> bool {
        self.silent_rests >= ENOUGH && !self.repeats()
    }
}

impl Between {
    /// Start-up text: the first tells when, the one that knows most tells why.
    pub(super) fn starts(&mut self, at: Nanos, sort: Sort, mid_run: bool) {
        let known = self.start.filter(|start| !matches!(start.sort, Sort::Power | Sort::Other));
        let sort = known.map_or(sort, |start| start.sort);
        let mid_run = mid_run || self.start.is_some_and(|start| start.mid_run);
        self.start = Some(Start { at, sort, mid_run });
    }

    /// A frame or a longer run is broken, most likely for this cause.
    pub(super) fn breaks(&mut self, likely: Cause) {
        if self.broken != Some(Cause::Wire) {
            self.broken = Some(likely);
        }
    }

    /// Something stood there that may have been an order before it was hit.
    pub(super) fn is_hit(self) -> bool {
        self.broken.is_some() || self.stray
    }

    /// Nothing stood there that explains a jump of a counter.
    pub(super) fn is_quiet(self) -> bool {
        self.start.is_none() && self.broken.is_none() && self.deaf.is_none()
    }

    /// The reset in mid-run that it shows.
    pub(super) fn start_cause(self, wire: Wire) -> Option<Cause> {
        let start = self.start.filter(|start| start.mid_run)?;
        let supply = matches!(start.sort, Sort::BrownOut | Sort::Power);
        Some(match (wire, supply) {
            (Wire::ToDrive, true) => Cause::CommandSupply,
            (Wire::ToDrive, false) => Cause::CommandReset,
            (Wire::FromDrive, true) => Cause::DriveSupply,
            (Wire::FromDrive, false) => Cause::DriveReset,
        })
    }

    /// What can be said whatever the counters did.
    fn heard(self) -> Option<Cause> {
        self.deaf.or_else(|| self.start_cause(Wire::ToDrive)).or(self.broken)
    }

    /// Why no order came, from what stood in the silence and from how the counters moved with the order that ended it.
    /// `steady`: orders come at a rhythm of their own, so that a sender of changes is out of the question.
    pub(super) fn cause(self, steps: Steps, habit: Habit, steady: bool) -> Cause {
        if let Some(cause) = self.heard() {
            return cause;
        }
        match steps.sequence {
            Some(Step::Restart) => return Cause::Restarted,
            Some(Step::Gap(_)) => return Cause::Skipped,
            _ => {}
        }
        match steps.panel {
            None if habit.never_repeats() => Cause::SendsOnChange,
            None | Some(Step::First) => Cause::CannotTell,
            Some(Step::Gap(_) | Step::Restart) => Cause::Radio,
            Some(Step::Back(_)) => Cause::OutOfTurn,
            Some(Step::Repeat) => Cause::HeldUp,
            Some(Step::Next) if steady || habit.repeats() => Cause::HeldUp,
            Some(Step::Next) => Cause::SendsOnChange,
        }
    }

    /// Why no order came within the horizon.
    pub(super) fn of_silence(self) -> Cause {
        self.heard().unwrap_or(Cause::Stopped)
    }

    /// Why a number does not follow the one before, where what stood between them tells.
    pub(super) fn of_new_number(self) -> Option<Cause> {
        self.start_cause(Wire::ToDrive).or(self.deaf)
    }

    /// Why numbers are missing.
    pub(super) fn of_missing(self) -> Cause {
        self.of_refusal().unwrap_or(Cause::Skipped)
    }

    /// What may have been refused since the last intact order: a frame that was hit, or start-up text.
    pub(super) fn of_refusal(self) -> Option<Cause> {
        // What stands before or within start-up text is the board's own.
        self.heard().or_else(|| (self.stray && self.start.is_none()).then_some(Cause::Wire))
    }

    /// Why an order is glued to what stands before it: a remark that has no line end is the board's own.
    pub(super) fn of_glue(self) -> Cause {
        let hit = self.stray && !self.remark && self.start.is_none();
        self.heard().or_else(|| hit.then_some(Cause::Wire)).unwrap_or(Cause::Glue)
    }

    /// Why bytes were hit; `likely` says where nothing that stood there does. `None` for the few stray bytes of a board that is switched on, which are no trouble.
    pub(super) fn of_hit(self, wire: Wire, trouble: Trouble, (short, likely): (bool, Cause)) -> Option<Cause> {
        if let Some(cause) = self.start_cause(wire) {
            return Some(cause);
        }
        if self.start.is_some() && trouble == Trouble::Noise && short {
            return None;
        }
        Some(self.deaf.unwrap_or(likely))
    }
}
