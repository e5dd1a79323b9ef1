//! Making a snapshot: the engine's state as plain data for the console.

use wheeltap_parsers::{Nanos, Wire};

use super::Engine;
use super::snapshot::wheel_check::Check;
use super::snapshot::{DeadlineState, MotorLimits, OrderState, RunOn, Snapshot, WheelState, WireHealth};
use super::words::line;
use crate::rover::bridge::{inputs, motor_millivolts};
use crate::rover::limits::{duty_cap, speed, stall_beyond, way};
use crate::rover::meaning::{Obeys, Role};
use crate::rover::mecanum::roller_hand;
use crate::rover::state::RoverState;
use crate::rover::wheels::{Duty, Wheel};

/// More undecided bytes than this are no frame that is still coming in, whatever they are.
const LONG_RUN: u64 = 1024;

impl Engine {
    /// The state of everything at `now` (not before the engine's own now).
    pub fn snapshot(&self, now: Nanos) -> Snapshot {
        let now = now.max(self.now);
        let state = self.state.as_ref();
        let findings = self.findings();
        let lines: Vec<_> = self.shown().into_iter().map(|event| line(event, self.rover())).collect();
        Snapshot {
            now,
            rover: self.rover().map_or_else(|| "no rover file".to_owned(), |rover| rover.name.clone()),
            link: self
                .rover()
                .map_or_else(|| "lines of text, meaning not known".to_owned(), |rover| rover.link.clone()),
            wires: Wire::BOTH.map(|wire| self.wire_health(wire, now)),
            wheels: Wheel::ALL.map(|wheel| self.wheel_state(wheel)),
            order: self.order_state(),
            twist: state.and_then(RoverState::twist),
            scrub: state.map_or(0, RoverState::scrub),
            deadline: self.deadline_state(),
            pack_millivolts: state.and_then(RoverState::pack_millivolts),
            motors: self.motor_limits(),
            legs: self.legs.recent(),
            leg_count: self.legs.count(),
            lines,
            verdict: self.attribution.verdict(&findings),
            findings,
            not_judged: self.not_judged(),
            notes: self.notes.clone(),
            words: self.tally.words(),
            reaction: self.reactions.measured(),
            resolution: self.times.resolution(),
            times: self.times.shown(self.rover(), &self.health),
            check: self.check_view(),
        }
    }

    fn check_view(&self) -> Check {
        let rests = self.state.as_ref().and_then(RoverState::meant).is_none_or(|meant| meant == [0; 4]);
        let view = self.check.view(self.legs.last(), rests);
        Check { corrections: self.corrections.measured(), ..view }
    }

    fn wire_health(&self, wire: Wire, now: Nanos) -> Option<WireHealth> {
        let facts = self.link.wire(wire)?;
        let health = &self.health[wire.index()];
        let (per_second, bytes) = health.last_second(now);
        // A run of rubbish that has not ended yet is shown at once, not when it ends.
        let received = self.received[wire.index()].max(health.bytes);
        let undecided = received - health.bytes;
        let running = u64::from(undecided > LONG_RUN);
        // Ten bits for each byte (8N1).
        let load = facts.rate.map(|rate| (bytes * 10 * 1000 / u64::from(rate.max(1))) as u32);
        let cadence = match wire {
            Wire::ToDrive if self.rover.is_some() => self.times.words(),
            _ => String::new(),
        };
        Some(WireHealth {
            wire,
            port: facts.port.clone(),
            rate: facts.rate,
            open: self.port_open[wire.index()],
            bytes: received,
            frames: health.frames,
            damaged: health.damaged,
            texts: health.texts,
            noises: health.noises + running,
            lost: health.lost,
            per_second,
            load,
            cadence,
            last_byte: health.last_byte,
            clock: self.seen.clock(wire),
        })
    }

    fn wheel_state(&self, wheel: Wheel) -> WheelState {
        let of = |duties: [i32; 4]| duties[wheel.index()];
        let state = self.state.as_ref();
        let meant = state.and_then(RoverState::meant).map(of);
        let name = state.and_then(RoverState::order).and_then(|order| order.name.as_deref());
        let machine = self.rover().map(|rover| &rover.machine);
        let wiring = machine.and_then(|machine| machine.wheels[wheel.index()].as_ref());
        let volts = |duty| motor_millivolts(machine?.driver_of(wheel)?.part, self.pack()?.0, duty);
        WheelState {
            wheel,
            ordered: state.and_then(RoverState::ordered).map(of),
            meant,
            confirmed: state.and_then(RoverState::confirmed).map(of),
            seen: self.seen.at_pins(wheel),
            proven: self.check.proven(wheel, name, state.and_then(RoverState::meant)),
            rollers: roller_hand(wheel),
            inputs: wiring.and_then(|wiring| meant.map(|duty| inputs(duty, wiring.inverted))),
            motor_millivolts: meant.and_then(volts),
            wiring: machine.map(|machine| machine.wiring_words(wheel)).unwrap_or_default(),
        }
    }

    /// The pack's volts, and whether the drive board told them; else those of a full pack.
    fn pack(&self) -> Option<(i64, bool)> {
        let told = self.state.as_ref().and_then(RoverState::pack_millivolts).map(|pack| (pack, true));
        told.or_else(|| Some((self.rover()?.machine.pack?.full, false)))
    }

    fn motor_limits(&self) -> MotorLimits {
        let Some(rover) = self.rover() else { return MotorLimits::default() };
        let pack = self.pack();
        let duty_cap = pack.and_then(|(pack, _)| duty_cap(&rover.machine, pack));
        let strongest = self.strongest();
        MotorLimits {
            rated: rover.machine.motor.and_then(|motor| motor.rated),
            pack,
            duty_cap,
            over: strongest.zip(duty_cap).is_some_and(|(strongest, cap)| strongest > cap),
            stall_beyond: stall_beyond(&rover.machine),
            run_on: self.run_on(strongest, pack),
        }
    }

    /// The duty of the strongest wheel as meant.
    fn strongest(&self) -> Option<Duty> {
        self.state.as_ref()?.meant()?.into_iter().map(Duty::abs).max()
    }

    fn run_on(&self, strongest: Option<Duty>, pack: Option<(i64, bool)>) -> RunOn {
        let (Some(rover), Some(strongest)) = (self.rover(), strongest) else { return RunOn::Unknown };
        if strongest == 0 {
            return RunOn::Resting;
        }
        match self.deadline_state() {
            DeadlineState::Unknown => RunOn::Unknown,
            DeadlineState::Never => RunOn::Never,
            DeadlineState::Resting { length }
            | DeadlineState::Running { length, .. }
            | DeadlineState::Lapsed { length, .. } => {
                // On the floor the speed does not hang on the pack stated here; at rated volts it does.
                let speed = speed(&rover.machine, pack.map_or(0, |(pack, _)| pack), strongest);
                RunOn::Until { length, millimetres: speed.map(|speed| way(speed, length)) }
            }
        }
    }

    fn order_state(&self) -> OrderState {
        let Some(state) = &self.state else { return OrderState::default() };
        let is_order = |event: &&super::event::Event| match (&event.what, event.wire, self.rover()) {
            (super::event::Happening::Frame(frame), Some(Wire::ToDrive), Some(rover)) => {
                rover.meaning.kinds[0].get(frame.kind).is_some_and(|kind| kind.role == Role::Order)
            }
            _ => false,
        };
        let last = self.shown().into_iter().rev().find(is_order);
        let mut ordered = last.map(|event| line(event, self.rover()).raw).unwrap_or_default();
        if let Some(name) = state.order().and_then(|order| order.name.as_ref()).filter(|name| !ordered.contains(*name))
        {
            ordered += &format!("  ({name})");
        }
        OrderState {
            ordered,
            meant: state.meant_words(),
            at: state.order().map(|order| order.at.hi),
            answered: state.answered(),
            rest: state.meant() == Some([0; 4]),
            duty_heard: state.duty_heard(),
        }
    }

    fn deadline_state(&self) -> DeadlineState {
        let (Some(state), Some(rover)) = (&self.state, self.rover()) else { return DeadlineState::Unknown };
        let length = match rover.meaning.reader.obeys {
            Obeys::Unknown => return DeadlineState::Unknown,
            Obeys::ForEver => return DeadlineState::Never,
            Obeys::For(length) => length,
            Obeys::DeadlineField => match state.order().and_then(|order| order.deadline) {
                Some(length) => length,
                None => return DeadlineState::Unknown,
            },
        };
        match (state.lapsed(), state.runs_out()) {
            (Some(at), _) => DeadlineState::Lapsed { length, at },
            (None, Some(until)) => DeadlineState::Running { length, until },
            (None, None) => DeadlineState::Resting { length },
        }
    }
}
