//! What stands between one wire and the reading loop.
//!
//! The timed kind follows what makers of such adapters publish: bytes are collected; a packet goes out when 62 bytes
//! are there (64 less two of status; recalled) or when the latency timer runs out, which then starts anew; a packet
//! reaches the host at the next USB frame, of which there is one a millisecond.

use std::collections::VecDeque;

use wheeltap_parsers::{Nanos, Wire};

use super::{Adapter, MS};
use crate::simulation::Burst;

/// Data bytes of a full packet.
const PACKET: usize = 62;

/// A receiver on one wire.
#[derive(Clone, Debug)]
pub(super) struct Receiver {
    wire: Wire,
    adapter: Adapter,
    /// Bytes and when each was complete, not yet sent on; what lies beyond the time reached is still to come.
    coming: VecDeque<(Nanos, u8)>,
    /// Bursts not yet at their end, for the kind that delivers bursts.
    bursts: VecDeque<Burst>,
    /// When the timer runs out.
    timer: Nanos,
    /// Where the host's USB frames begin within the millisecond.
    frame: Nanos,
    /// Deliveries at the host: when, not before when its bytes can have begun, the bytes.
    delivered: VecDeque<(Nanos, Nanos, Vec<u8>)>,
    /// State of the small generator behind the wake-up times.
    state: u64,
}

impl Receiver {
    pub(super) fn new(wire: Wire, adapter: Adapter, seed: u64) -> Self {
        let mut receiver = Self {
            wire,
            adapter,
            coming: VecDeque::new(),
            bursts: VecDeque::new(),
            timer: 0,
            frame: 0,
            delivered: VecDeque::new(),
            state: seed ^ (wire.index() as u64 + 1),
        };
        receiver.frame = receiver.draw(MS);
        receiver.timer = receiver.draw(adapter.latency().max(1));
        receiver
    }

    pub(super) const fn wire(&self) -> Wire {
        self.wire
    }

    /// A burst begins.
    pub(super) fn hear(&mut self, burst: &Burst) {
        match self.adapter {
            Adapter::None => self.bursts.push_back(burst.clone()),
            Adapter::Timer { .. } => {
                let bytes = burst.bytes.iter().enumerate();
                self.coming.extend(bytes.map(|(index, byte)| (burst.complete_at(index), *byte)));
            }
        }
    }

    /// Works up to `limit`. All bursts that begin before it have been heard.
    pub(super) fn advance(&mut self, limit: Nanos) {
        if self.adapter == Adapter::None {
            let over = self.bursts.partition_point(|burst| burst.ends <= limit);
            self.delivered.extend(self.bursts.drain(..over).map(|burst| (burst.ends, burst.begins, burst.bytes)));
            return;
        }
        let timer = self.adapter.latency() - MS;
        loop {
            let full = self.coming.get(PACKET - 1).map(|(at, _)| *at).filter(|at| *at <= self.timer);
            let sends = full.unwrap_or(self.timer);
            if sends > limit {
                return;
            }
            self.send(sends);
            self.timer = sends + timer;
        }
    }

    /// Sends what is complete off to the host.
    fn send(&mut self, now: Nanos) {
        let ready = self.coming.partition_point(|(at, _)| *at <= now).min(PACKET);
        if ready > 0 {
            let bytes = self.coming.drain(..ready).map(|(_, byte)| byte).collect();
            let arrives = now + MS - 1 - (now - self.frame + MS - 1).rem_euclid(MS);
            self.delivered.push_back((arrives, Nanos::MAX, bytes));
        }
    }

    /// When the host gets something next.
    pub(super) fn delivers_at(&self) -> Option<Nanos> {
        self.delivered.front().map(|(at, ..)| *at)
    }

    /// When the loop is awake after a delivery at `at`.
    pub(super) fn wakes(&mut self, at: Nanos) -> Nanos {
        if self.adapter == Adapter::None { at } else { at + 20_000 + self.draw(180_000) }
    }

    /// What has been delivered by `back`, each with the last instant at which nothing of it was waiting; `empty` is the
    /// loop's last return. Packets that wait together are one read.
    pub(super) fn take(&mut self, empty: Nanos, back: Nanos) -> Vec<(Nanos, Vec<u8>)> {
        let mut reads: Vec<(Nanos, Vec<u8>)> = Vec::new();
        let there = self.delivered.partition_point(|(at, ..)| *at <= back);
        for (_, begins, bytes) in self.delivered.drain(..there) {
            match reads.last_mut() {
                Some((_, read)) if self.adapter != Adapter::None => read.extend(bytes),
                _ => reads.push((empty.min(begins), bytes)),
            }
        }
        reads
    }

    /// Whether bytes complete by `now` are still held that no latency accounts for.
    pub(super) fn in_the_middle(&self, now: Nanos) -> bool {
        self.bursts.iter().any(|burst| burst.begins < now)
    }

    /// A number below `bound`: the high bits of a 64-bit linear congruential generator (Knuth's MMIX constants).
    fn draw(&mut self, bound: Nanos) -> Nanos {
        self.state = self.state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.state >> 33) as Nanos % bound
    }
}
