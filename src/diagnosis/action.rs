//! What a person exchanges to learn more: two leads, two plugs, two wheels. Each maps every hypothesis to another.
//!
//! The report speaks of the rover as it was before the first exchange.

use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wiring::Wiring;
use crate::rover::wheels::Wheel;

/// One exchange.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Action {
    /// The two leads of this wheel's motor.
    Leads(Wheel),
    /// The plugs at the outputs that should feed these wheels.
    Plugs(Wheel, Wheel),
    /// The wheels themselves, from one corner to the other.
    Wheels(Wheel, Wheel),
}

impl Action {
    /// Every exchange.
    pub fn all() -> Vec<Self> {
        let pairs =
            || Wheel::ALL.into_iter().flat_map(|a| Wheel::ALL.into_iter().filter(move |b| a < *b).map(move |b| (a, b)));
        let plugs = pairs().map(|(a, b)| Self::Plugs(a, b));
        let leads = Wheel::ALL.map(Self::Leads);
        plugs.chain(leads).chain(pairs().map(|(a, b)| Self::Wheels(a, b))).collect()
    }
}

/// What the exchanges so far come to.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Exchanges(Vec<Action>);

impl Exchanges {
    /// One more; the same one twice in a row is none.
    pub fn then(&self, action: Action) -> Self {
        let mut list = self.0.clone();
        if list.last() == Some(&action) {
            list.pop();
        } else {
            list.push(action);
        }
        Self(list)
    }

    /// Whether the rover is as it was.
    pub fn is_none(&self) -> bool {
        self.0.is_empty()
    }

    /// The exchanges, first to last.
    pub fn list(&self) -> &[Action] {
        &self.0
    }

    /// Whether this wheel's motor leads stand exchanged.
    pub fn turned(&self, wheel: Wheel) -> bool {
        self.0.iter().filter(|action| **action == Action::Leads(wheel)).count() % 2 == 1
    }

    /// The wiring after the exchanges.
    pub fn wiring(&self, wiring: Wiring) -> Wiring {
        self.0.iter().fold(wiring, |now, action| match action {
            Action::Plugs(a, b) => now.with_plugs_exchanged(*a, *b),
            _ => now,
        })
    }

    /// The rollers after the exchanges.
    pub fn rollers(&self, rollers: Rollers) -> Rollers {
        self.0.iter().fold(rollers, |now, action| match action {
            Action::Wheels(a, b) => now.with_wheels_exchanged(*a, *b),
            _ => now,
        })
    }
}
