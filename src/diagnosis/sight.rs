//! What a person should see: from an order at the outputs, through one hypothesis, to wheels, body and rollers.

use crate::diagnosis::action::Exchanges;
use crate::diagnosis::body::{BodySeen, BodyTable};
use crate::diagnosis::cause::{Cause, View};
use crate::diagnosis::hypothesis::{Hardware, Locus};
use crate::diagnosis::pattern;
use crate::diagnosis::rollers::Rollers;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::diagnosis::wiring::Wiring;
use crate::rover::mecanum::Signs;
use crate::rover::wheels::Wheel;

/// Answers of the floor test, and as many again for those that friction decides.
pub const BODY_ANSWERS: usize = 2 * BodySeen::COUNT;

/// What stays the same over all hypotheses.
#[derive(Clone, Debug)]
pub struct Sight {
    /// The body's answers.
    pub body: BodyTable,
    /// By wheel: whether the drive board's table turns the sign.
    pub inverted: [bool; 4],
    /// Whether floor answers that friction decides are told apart from the others.
    pub doubts_friction: bool,
}

impl Sight {
    /// How the wheels really turn when the outputs are told `told`.
    pub fn turning(&self, hardware: &Hardware, told: Signs, duty: DutyLevel, after: &Exchanges) -> Signs {
        let outputs = hardware.cause.outputs(told, duty, self.inverted);
        let before = hardware.wiring;
        let now = if after.is_none() { before } else { after.wiring(before) };
        Wheel::ALL.map(|wheel| {
            let output = now.output_of(wheel);
            let driven = outputs[output.index()];
            let leads = if after.turned(wheel) { -1 } else { 1 };
            let mirrored = |wheel| Wiring::mirrored(output, wheel, self.inverted);
            if hardware.locus == Locus::DriverSide {
                // The state is told of the wheel that the output reached before, as that wheel turned.
                let own = before.reached_by(output);
                let turned = hardware.wheels[own.index()].turns(mirrored(own) * driven, duty);
                leads * mirrored(own) * mirrored(wheel) * turned
            } else {
                hardware.wheels[wheel.index()].turns(leads * mirrored(wheel) * driven, duty)
            }
        })
    }

    /// What a person says of the wheels, as the number of a pattern.
    pub fn wheels(&self, hardware: &Hardware, turning: Signs) -> u8 {
        pattern::number(hardware.cause.wheels_said(turning))
    }

    /// What a person says of the body: the number of [`BodySeen`], plus 27 where friction decides.
    pub fn body(&self, hardware: &Hardware, turning: Signs, after: &Exchanges) -> u8 {
        let rollers = if after.is_none() { hardware.rollers } else { after.rollers(hardware.rollers) };
        let said = hardware.cause.body_said(self.body.answer(rollers, pattern::number(turning)));
        let doubtful = self.doubts_friction && !self.body.predictable(rollers) && turning != [0; 4];
        if doubtful { said + BodySeen::COUNT as u8 } else { said }
    }

    /// What a person says of the rollers.
    pub fn rollers(&self, hardware: &Hardware, after: &Exchanges) -> Rollers {
        hardware.cause.rollers_said(after.rollers(hardware.rollers))
    }

    /// Whether a strip of tape on nose and FL would catch it: 1 for a view that it makes unlikely.
    pub const fn tape(hardware: &Hardware) -> u8 {
        match hardware.cause {
            Cause::Observer(View::Mirrored | View::TurnedRound | View::OnItsBack) => 1,
            _ => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::action::Action;
    use crate::diagnosis::body::BodyRule;
    use crate::diagnosis::wheel_state::WheelState;

    fn sight() -> Sight {
        Sight { body: BodyRule::default().table(), inverted: [false; 4], doubts_friction: true }
    }

    /// After an exchange of plugs a fault on the motor's side stays with the wheel, one on the driver's side moves.
    #[test]
    fn exchanged_plugs_tell_the_side() {
        let after = Exchanges::default().then(Action::Plugs(Wheel::FL, Wheel::FR));
        let mut hardware = Hardware { locus: Locus::MotorSide, ..Hardware::SOUND };
        hardware.wheels[0] = WheelState::Reversed;
        let forward = |hardware: &Hardware| sight().turning(hardware, [1; 4], DutyLevel::High, &after);
        assert_eq!(forward(&hardware), [-1, 1, 1, 1]);
        hardware.locus = Locus::DriverSide;
        assert_eq!(forward(&hardware), [1, -1, 1, 1]);
        assert_eq!(sight().turning(&hardware, [1, 0, 0, 0], DutyLevel::High, &after), [0, -1, 0, 0]);
    }

    /// Plugs exchanged across the rover, where the left side's motors are mounted mirrored and the table turns their signs:
    /// the same voltage rolls a mirrored motor the other way. Along one side nothing is turned.
    #[test]
    fn plugs_exchanged_across_turn_both_wheels() {
        let mirrored = Sight { inverted: [true, false, true, false], ..sight() };
        let wired = |a, b| Hardware { wiring: Wiring::RIGHT.with_plugs_exchanged(a, b), ..Hardware::SOUND };
        let turns = |hardware, told| mirrored.turning(&hardware, told, DutyLevel::High, &Exchanges::default());
        assert_eq!(turns(wired(Wheel::FL, Wheel::FR), [1; 4]), [-1, -1, 1, 1]);
        assert_eq!(turns(wired(Wheel::FL, Wheel::FR), [1, 0, 0, 0]), [0, -1, 0, 0]);
        assert_eq!(turns(wired(Wheel::FL, Wheel::RL), [1, 0, 0, 0]), [0, 0, 1, 0]);
        let mut dead = wired(Wheel::FL, Wheel::FR);
        dead.wheels[1] = WheelState::ForwardOnly;
        for locus in [Locus::MotorSide, Locus::DriverSide] {
            let dead = Hardware { locus, ..dead };
            assert_eq!([turns(dead, [1; 4]), turns(dead, [-1; 4])], [[-1, 0, 1, 1], [1, 1, -1, -1]], "{locus:?}");
        }
    }

    /// Exchanged leads put a reversed motor right, whichever side the cause sits.
    #[test]
    fn exchanged_leads_repair_without_explaining() {
        let after = Exchanges::default().then(Action::Leads(Wheel::RR));
        for locus in [Locus::MotorSide, Locus::DriverSide] {
            let mut hardware = Hardware { locus, ..Hardware::SOUND };
            hardware.wheels[3] = WheelState::Reversed;
            assert_eq!(sight().turning(&hardware, [1; 4], DutyLevel::High, &after), [1; 4]);
        }
    }
}
