//! How each wire does: counts, and the traffic of the last whole second.

use std::collections::VecDeque;

use wheeltap_parsers::Nanos;

use crate::engine::event::{Event, Happening};

/// The span of the running figures.
const SECOND: Nanos = 1_000_000_000;

/// Counts of one wire.
#[derive(Clone, Debug, Default)]
pub struct Health {
    /// All bytes.
    pub bytes: u64,
    /// Good frames.
    pub frames: u64,
    /// Damaged frames.
    pub damaged: u64,
    /// Pieces of foreign text.
    pub texts: u64,
    /// Runs of noise.
    pub noises: u64,
    /// Bytes received but not kept.
    pub lost: u64,
    /// When its last byte was complete, at the latest.
    pub last_byte: Option<Nanos>,
    /// When its first byte was complete, at the earliest.
    pub first_byte: Option<Nanos>,
    /// Bytes of the busiest second.
    pub busiest: u64,
    recent: VecDeque<(Nanos, u64)>,
    /// Bytes of `recent`.
    bytes_recent: u64,
}

impl Health {
    /// Counts an event of this wire.
    pub fn count(&mut self, event: &Event) {
        match event.what {
            Happening::Frame(_) => self.frames += 1,
            Happening::Damage { .. } => self.damaged += 1,
            Happening::Text { .. } => self.texts += 1,
            Happening::Noise { .. } => self.noises += 1,
            Happening::Lost { bytes, .. } => self.lost += bytes,
            _ => {}
        }
        if event.len > 0 {
            self.bytes += event.len;
            self.last_byte = Some(event.at);
            self.first_byte.get_or_insert(event.begins.lo);
            let frame = u64::from(matches!(event.what, Happening::Frame(_)));
            // Of a record that took longer than a second only the share of one second came in its last.
            let took = (event.at - event.begins.lo).max(SECOND);
            let bytes = (i128::from(event.len) * i128::from(SECOND) / i128::from(took)) as u64;
            self.recent.push_back((event.at, bytes << 1 | frame));
            self.bytes_recent += bytes;
            self.forget(event.at);
            self.busiest = self.busiest.max(self.bytes_recent);
        }
    }

    fn forget(&mut self, now: Nanos) {
        let mut most = self.recent.len();
        while let Some((_, packed)) = self.recent.front().filter(|(at, _)| *at <= now - SECOND || most > 4096) {
            self.bytes_recent -= packed >> 1;
            self.recent.pop_front();
            most -= 1;
        }
    }

    /// Frames and bytes in the second before `now`.
    pub fn last_second(&self, now: Nanos) -> (u32, u64) {
        let recent = self.recent.iter().filter(|(at, _)| *at > now - SECOND && *at <= now);
        recent.fold((0, 0), |(frames, bytes), (_, packed)| (frames + (packed & 1) as u32, bytes + (packed >> 1)))
    }
}
