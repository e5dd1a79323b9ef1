//! The one clock that all readers stamp with: monotonic, whole microseconds since the session began.

use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// A session's clock. Copies show the same time.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    begun: Instant,
    begun_unix_us: i64,
}

impl Clock {
    /// Time 0 is now.
    pub fn start() -> Self {
        Self { begun: Instant::now(), begun_unix_us: wall_now_us() }
    }

    /// Microseconds since time 0. Never goes back.
    pub fn now_us(&self) -> i64 {
        micros(self.begun.elapsed())
    }

    /// Wall clock at time 0, microseconds since 1970-01-01T00:00:00Z.
    pub fn begun_unix_us(&self) -> i64 {
        self.begun_unix_us
    }
}

/// Wall clock now, microseconds since 1970-01-01T00:00:00Z. May jump.
pub fn wall_now_us() -> i64 {
    let now = SystemTime::now();
    match now.duration_since(UNIX_EPOCH) {
        Ok(since) => micros(since),
        Err(before) => -micros(before.duration()),
    }
}

fn micros(time: Duration) -> i64 {
    i64::try_from(time.as_micros()).unwrap_or(i64::MAX)
}
