//! One wire between the boards: bytes one after the other, ten bits each, and what can happen to them on the way.

use wheeltap_parsers::{Nanos, Wire};

use super::chance::Chance;
use super::{Burst, Fault, RATE, Settings};

/// One byte in this many loses or gains a bit under [`Fault::Noise`].
const NOISE_ONE_IN: u64 = 350;
/// As [`NOISE_ONE_IN`], with all four wheels at full duty, under [`Fault::MotorNoise`].
const MOTOR_NOISE_ONE_IN: u64 = 120;
/// One byte in this many goes missing under [`Fault::LostBytes`].
const LOST_ONE_IN: u64 = 400;

/// Time that `bytes` bytes take without pause, nanoseconds. Each is counted from the first, so nothing adds up.
pub(super) fn duration(bytes: usize) -> Nanos {
    bytes as Nanos * 10_000_000_000 / Nanos::from(RATE)
}

/// A wire and its troubles.
#[derive(Clone, Debug)]
pub(super) struct Line {
    wire: Wire,
    free_at: Nanos,
    noise: bool,
    motor_noise: bool,
    loses: bool,
    chance: Chance,
}

impl Line {
    pub(super) fn new(wire: Wire, settings: &Settings) -> Self {
        let hit = wire == Wire::ToDrive;
        Self {
            wire,
            free_at: 0,
            noise: hit && settings.has(Fault::Noise),
            motor_noise: hit && settings.has(Fault::MotorNoise),
            loses: hit && settings.has(Fault::LostBytes),
            chance: Chance::new(settings.seed, 10 + wire.index() as u64),
        }
    }

    /// Puts bytes on the wire at `at`, or as soon as those before them are through. `effort` is the sum of the four
    /// duties' sizes, thousandths. A missing byte parts the bytes into two bursts.
    pub(super) fn send(&mut self, at: Nanos, bytes: &[u8], effort: i32) -> Vec<Burst> {
        let begins = at.max(self.free_at);
        self.free_at = begins + duration(bytes.len());
        let mut bursts = Vec::new();
        let mut kept = Vec::new();
        for (index, byte) in bytes.iter().enumerate() {
            if self.loses && self.chance.one_in(LOST_ONE_IN) {
                self.close(&mut bursts, begins, index, &mut kept);
            } else {
                kept.push(self.disturb(*byte, effort));
            }
        }
        self.close(&mut bursts, begins, bytes.len(), &mut kept);
        bursts
    }

    /// Ends the burst whose last byte is byte `count` (from one) of what was sent at `begins`.
    fn close(&self, bursts: &mut Vec<Burst>, begins: Nanos, count: usize, kept: &mut Vec<u8>) {
        if kept.is_empty() {
            return;
        }
        let first = begins + duration(count - kept.len());
        bursts.push(Burst {
            wire: self.wire,
            begins: first,
            ends: first + duration(kept.len()),
            bytes: std::mem::take(kept),
        });
    }

    fn disturb(&mut self, byte: u8, effort: i32) -> u8 {
        let mut hit = self.noise && self.chance.one_in(NOISE_ONE_IN);
        if self.motor_noise {
            hit |= self.chance.below(MOTOR_NOISE_ONE_IN * 4000) < u64::try_from(effort).unwrap_or(0);
        }
        if hit { byte ^ (1 << self.chance.below(8)) } else { byte }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulation::Style;

    #[test]
    fn forty_five_bytes_take_the_time_the_rate_gives() {
        // 45 x 10 bits at 115200 baud = 3.90625 ms.
        assert_eq!(duration(45), 3_906_250);
    }

    #[test]
    fn bytes_wait_for_those_before_them() {
        let mut line = Line::new(Wire::ToDrive, &Settings::demo(Style::Bead, 1));
        let first = line.send(1000, &[1; 9], 0);
        let second = line.send(2000, &[2; 9], 0);
        assert_eq!(first[0].begins, 1000);
        assert_eq!(second[0].begins, first[0].ends);
    }

    #[test]
    fn missing_bytes_leave_their_time_empty() {
        let mut settings = Settings::demo(Style::Bead, 3);
        settings.faults = vec![Fault::LostBytes];
        let mut line = Line::new(Wire::ToDrive, &settings);
        let sent: Vec<u8> = (0..4000_u32).map(|n| n as u8).collect();
        let bursts = line.send(0, &sent, 0);
        assert!(bursts.len() > 3, "{}", bursts.len());
        for burst in &bursts {
            for (index, byte) in burst.bytes.iter().enumerate() {
                // Each byte still stands where it was sent, to the rounding of one nanosecond.
                let place = (0..4000).find(|place| (duration(place + 1) - burst.complete_at(index)).abs() <= 1);
                assert_eq!(place.map(|place| place as u8), Some(*byte));
            }
        }
    }
}
