//! Sorts of event: each rule names those it looks at, so that the many frames wake only the rules that judge frames.

use crate::engine::event::{Event, Happening};
use crate::findings::View;

/// A sort of event.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// An order that arrived intact.
    Order,
    /// Any other frame that arrived intact, on either wire.
    Frame,
    /// A frame that did not.
    Damage,
    /// Foreign text.
    Text,
    /// Noise.
    Noise,
    /// A verdict of time: a lapse, a silence, an order without an answer, a bunch, a gap inside a frame.
    Verdict,
    /// What the tap tells of itself: deaf, asleep, uneven, its port gone or back, bytes not kept.
    Tap,
    /// A leg begins or ends.
    Leg,
    /// A note, pins, a measured clock.
    Other,
}

impl Sort {
    /// Every sort, in the order of their numbers.
    pub const ALL: [Self; 9] = [
        Self::Order,
        Self::Frame,
        Self::Damage,
        Self::Text,
        Self::Noise,
        Self::Verdict,
        Self::Tap,
        Self::Leg,
        Self::Other,
    ];
    /// Every record: whatever has bytes.
    pub const RECORDS: [Self; 5] = [Self::Order, Self::Frame, Self::Damage, Self::Text, Self::Noise];

    /// The sort of an event.
    pub fn of(event: &Event, view: &View<'_>) -> Self {
        match event.what {
            Happening::Frame(_) if view.is_order(event) => Self::Order,
            Happening::Frame(_) => Self::Frame,
            Happening::Damage { .. } => Self::Damage,
            Happening::Text { .. } => Self::Text,
            Happening::Noise { .. } => Self::Noise,
            Happening::Lapse { .. }
            | Happening::SilentWhileMoving { .. }
            | Happening::NoAnswer { .. }
            | Happening::Bunched { .. }
            | Happening::GapInside { .. } => Self::Verdict,
            Happening::TooClose { .. }
            | Happening::Asleep { .. }
            | Happening::PortGone { .. }
            | Happening::PortBack { .. }
            | Happening::Lost { .. } => Self::Tap,
            Happening::Leg { .. } => Self::Leg,
            Happening::Note(_) | Happening::Pins(_) | Happening::Clock(_) => Self::Other,
        }
    }
}
