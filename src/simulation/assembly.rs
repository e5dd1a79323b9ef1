//! How the wagon was put together at its wheels: plugs, leads, wheels; and what a person can do about it.

use super::fault::hand;
use super::{Fault, Settings};
use crate::rover::wheels::{Duties, Wheel};

/// One piece of work at the wheels. Each is done as asked for, whether it puts something right or wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Work {
    /// Exchange the two leads of this wheel's motor.
    TurnLeads(Wheel),
    /// Push this wheel's motor plug in, firmly.
    PushPlug(Wheel),
    /// Exchange the motor plugs of these two wheels at the drivers.
    ExchangePlugs(Wheel, Wheel),
    /// Take these two wheels off and mount each at the other's corner.
    ExchangeWheels(Wheel, Wheel),
}

/// The wheels as they are put together, each array by wheel.
#[derive(Clone, Debug)]
pub(super) struct Assembly {
    /// 1, or -1 where the leads of the motor are exchanged.
    leads: [i32; 4],
    plugged: [bool; 4],
    /// Whose orders reach this wheel's motor.
    orders_of: [Wheel; 4],
    /// The hand of the rollers mounted here.
    hands: [i32; 4],
}

impl Assembly {
    /// As it should be.
    const SOUND: Self = Self {
        leads: [1; 4],
        plugged: [true; 4],
        orders_of: Wheel::ALL,
        hands: [hand(Wheel::FL), hand(Wheel::FR), hand(Wheel::RL), hand(Wheel::RR)],
    };

    pub(super) fn new(settings: &Settings) -> Self {
        let mut made = Self::SOUND;
        for fault in &settings.faults {
            match *fault {
                Fault::LeadsReversed(wheel) => made.leads[wheel.index()] = -1,
                Fault::Dead(wheel) => made.plugged[wheel.index()] = false,
                Fault::PlugsExchanged(a, b) => made.work(Work::ExchangePlugs(a, b)),
                Fault::WheelsExchanged(a, b) => made.work(Work::ExchangeWheels(a, b)),
                _ => {}
            }
        }
        made
    }

    /// Does a piece of work.
    pub(super) fn work(&mut self, work: Work) {
        match work {
            Work::TurnLeads(wheel) => self.leads[wheel.index()] *= -1,
            Work::PushPlug(wheel) => self.plugged[wheel.index()] = true,
            Work::ExchangePlugs(a, b) => self.orders_of.swap(a.index(), b.index()),
            Work::ExchangeWheels(a, b) => self.hands.swap(a.index(), b.index()),
        }
    }

    /// What reaches each motor of these duties; positive would roll the wagon towards its nose.
    pub(super) fn reaches(&self, duties: Duties) -> Duties {
        Wheel::ALL.map(|wheel| {
            let at = wheel.index();
            let orders_of = self.orders_of[at];
            // The left side's motors are mounted mirrored: an output made for the other side rolls a wheel the other way.
            let across = if left(orders_of) == left(wheel) { 1 } else { -1 };
            let duty = duties[orders_of.index()] * self.leads[at] * across;
            if self.plugged[at] { duty } else { 0 }
        })
    }

    /// The hands of the rollers, by corner.
    pub(super) const fn hands(&self) -> [i32; 4] {
        self.hands
    }

    /// What is not as it should be, a sentence each.
    pub(super) fn wrong(&self) -> Vec<String> {
        Wheel::ALL.into_iter().flat_map(|wheel| self.wrong_at(wheel)).collect()
    }

    fn wrong_at(&self, wheel: Wheel) -> Vec<String> {
        let (at, name) = (wheel.index(), wheel.name());
        let mut says = Vec::new();
        if self.leads[at] < 0 {
            says.push(format!("the two leads of {name}'s motor are exchanged"));
        }
        if !self.plugged[at] {
            says.push(format!("the motor plug of {name} is out"));
        }
        if self.orders_of[at] != wheel {
            says.push(format!("{name}'s motor is plugged in at the place of {}", self.orders_of[at].name()));
        }
        if self.hands[at] != hand(wheel) {
            says.push(format!("the wheel at {name} has rollers of the wrong hand"));
        }
        says
    }
}

const fn left(wheel: Wheel) -> bool {
    matches!(wheel, Wheel::FL | Wheel::RL)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulation::Style;

    fn with(fault: Fault) -> Assembly {
        Assembly::new(&Settings { faults: vec![fault], ..Settings::demo(Style::CueLine, 1) })
    }

    #[test]
    fn each_fault_is_undone_by_its_own_repair_alone() {
        let (fl, rr) = (Wheel::FL, Wheel::RR);
        let pairs = [
            (Fault::LeadsReversed(rr), Work::TurnLeads(rr)),
            (Fault::Dead(fl), Work::PushPlug(fl)),
            (Fault::PlugsExchanged(fl, rr), Work::ExchangePlugs(rr, fl)),
            (Fault::WheelsExchanged(fl, Wheel::FR), Work::ExchangeWheels(fl, Wheel::FR)),
        ];
        for (fault, right) in pairs {
            for (_, work) in pairs {
                let mut assembly = with(fault);
                assert!(!assembly.wrong().is_empty());
                assembly.work(work);
                assert_eq!(assembly.wrong().is_empty(), work == right, "{fault:?} {work:?}");
            }
        }
    }

    #[test]
    fn plugs_take_the_orders_along_and_leads_stay_with_the_motor() {
        let mut assembly = with(Fault::PlugsExchanged(Wheel::FL, Wheel::FR));
        assert_eq!(assembly.reaches([1, 2, 3, 4]), [-2, -1, 3, 4]);
        assembly.work(Work::TurnLeads(Wheel::FL));
        assert_eq!(assembly.reaches([1, 2, 3, 4]), [2, -1, 3, 4]);
        assembly.work(Work::ExchangePlugs(Wheel::FL, Wheel::FR));
        assert_eq!(assembly.reaches([1, 2, 3, 4]), [-1, 2, 3, 4]);
        let along = with(Fault::PlugsExchanged(Wheel::FL, Wheel::RL));
        assert_eq!(along.reaches([1, 2, 3, 4]), [3, 2, 1, 4], "both are mirrored");
    }
}
