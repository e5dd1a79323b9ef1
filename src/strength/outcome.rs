//! What becomes of an injured order.

use super::reader::Standing;
use crate::rover::wheels::Duties;

/// What an order was for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sort {
    /// It lets all wheels rest.
    Rest,
    /// It moves a wheel or changes its duty.
    Move,
    /// No wheel stands otherwise for it.
    Neither,
}

impl Sort {
    /// By what it does to each standing: before and after.
    pub fn of(stood: &[(Standing, Standing)]) -> Self {
        if stood.iter().all(|(before, after)| before == after) {
            Self::Neither
        } else if stood.iter().any(|(_, after)| after.moving()) {
            Self::Move
        } else {
            Self::Rest
        }
    }
}

/// What becomes of it, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Becomes {
    /// A rest is obeyed as a move.
    RestAMove,
    /// A move is obeyed as another move.
    AnotherMove,
    /// What was for no wheel moves one.
    Woken,
    /// A move is obeyed with more duty.
    MoreDuty,
    /// It is obeyed for longer than was said.
    Longer,
    /// A rest is not obeyed: the rover goes on.
    RestLost,
    /// A move is obeyed with less duty, or for a shorter time.
    LessDuty,
    /// A move is obeyed as a rest.
    MoveARest,
    /// Not obeyed.
    Lost,
    /// Obeyed as sent.
    Same,
}

impl Becomes {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::RestAMove => "rest becomes a move",
            Self::AnotherMove => "a move becomes another move",
            Self::Woken => "a line for no wheel becomes an order",
            Self::MoreDuty => "a move gets more duty",
            Self::Longer => "an order is obeyed for longer",
            Self::RestLost => "rest is lost, the rover goes on",
            Self::LessDuty => "a move gets less duty or time",
            Self::MoveARest => "a move becomes a rest",
            Self::Lost => "not obeyed",
            Self::Same => "obeyed as sent",
        }
    }

    /// Stable id.
    pub const fn id(self) -> &'static str {
        match self {
            Self::RestAMove => "rest-becomes-a-move",
            Self::AnotherMove => "another-move",
            Self::Woken => "woken",
            Self::MoreDuty => "more-duty",
            Self::Longer => "longer",
            Self::RestLost => "rest-lost",
            Self::LessDuty => "less-duty",
            Self::MoveARest => "move-becomes-a-rest",
            Self::Lost => "lost",
            Self::Same => "same",
        }
    }

    /// Whether it is worth a row: everything but a lost move and no harm at all.
    pub const fn is_harm(self) -> bool {
        !matches!(self, Self::Lost | Self::Same)
    }

    /// The orders it is counted among.
    pub const fn sort(self) -> Sort {
        match self {
            Self::RestAMove | Self::RestLost => Sort::Rest,
            Self::Woken => Sort::Neither,
            _ => Sort::Move,
        }
    }
}

/// What the injured order becomes: `stood` is, for each standing it may meet, that standing and the one meant; `after`
/// the one that came of it. The worst counts.
pub fn becomes(stood: &[(Standing, Standing)], after: &[Standing]) -> Becomes {
    if stood.iter().zip(after).all(|((_, meant), after)| meant == after) {
        return Becomes::Same;
    }
    if stood.iter().zip(after).all(|((before, _), after)| before == after) {
        return if Sort::of(stood) == Sort::Rest { Becomes::RestLost } else { Becomes::Lost };
    }
    let sort = Sort::of(stood);
    let worst = stood.iter().zip(after).map(|((_, meant), after)| one(sort, *meant, *after)).min();
    worst.unwrap_or(Becomes::Same)
}

fn one(sort: Sort, meant: Standing, after: Standing) -> Becomes {
    if after == meant {
        return Becomes::Same;
    }
    match sort {
        Sort::Rest if after.moving() => Becomes::RestAMove,
        Sort::Neither => Becomes::Woken,
        _ if meant.moving() && !after.moving() => Becomes::MoveARest,
        _ if signs(after) != signs(meant) => Becomes::AnotherMove,
        _ if strongest(after) > strongest(meant) => Becomes::MoreDuty,
        _ if strongest(after) == strongest(meant) && after.deadline > meant.deadline => Becomes::Longer,
        _ => Becomes::LessDuty,
    }
}

fn signs(standing: Standing) -> Option<Duties> {
    standing.meant.map(|duties| duties.map(i32::signum))
}

fn strongest(standing: Standing) -> Option<i32> {
    standing.meant.and_then(|duties| duties.into_iter().map(i32::abs).max())
}
