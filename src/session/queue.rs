//! A hand-over queue bounded by bytes. Pushing never waits: what does not fit is counted, in its place.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use super::heard::Heard;

/// What one message costs beyond its own bytes, for the bound.
const OVERHEAD: usize = 96;

/// A queue with any number of pushers and one taker.
#[derive(Debug)]
pub struct Queue {
    limit: usize,
    state: Mutex<State>,
    ready: Condvar,
    quiet_us: AtomicI64,
}

#[derive(Debug, Default)]
struct State {
    waiting: VecDeque<Heard>,
    bytes: usize,
    closed: bool,
}

/// What taking gave.
#[derive(Debug, PartialEq, Eq)]
pub enum Taken {
    /// The oldest message.
    Heard(Heard),
    /// Nothing came in the time given.
    Nothing,
    /// Nothing is left and nothing more will come.
    Closed,
}

impl Queue {
    /// A queue that holds at most about `limit` bytes.
    pub fn new(limit: usize) -> Self {
        Self { limit, state: Mutex::default(), ready: Condvar::new(), quiet_us: AtomicI64::new(0) }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts a message at the end. A read that does not fit becomes a [`Heard::Lost`] in its place; a tick replaces a
    /// tick that still waits, and is dropped when the queue is full; everything else (rare and small) always fits.
    pub fn push(&self, heard: Heard) {
        let mut state = self.state();
        if state.closed {
            return;
        }
        state.push(heard, self.limit);
        drop(state);
        self.ready.notify_one();
    }

    /// The oldest message, waiting for one for at most `wait`.
    pub fn take(&self, wait: Duration) -> Taken {
        let empty = |state: &mut State| state.waiting.is_empty() && !state.closed;
        let waited = self.ready.wait_timeout_while(self.state(), wait, empty);
        let (mut state, _) = waited.unwrap_or_else(PoisonError::into_inner);
        match state.waiting.pop_front() {
            Some(heard) => {
                state.bytes -= cost(&heard);
                Taken::Heard(heard)
            }
            None if state.closed => Taken::Closed,
            None => Taken::Nothing,
        }
    }

    /// The taker waits for a tick that comes once nothing has come for so long, microseconds; `None` when it does not.
    pub(super) fn want_quiet(&self, quiet_us: Option<i64>) {
        self.quiet_us.store(quiet_us.unwrap_or(0), Ordering::Relaxed);
    }

    /// After how long a silence of all wires a tick is waited for, microseconds.
    pub fn wanted_quiet_us(&self) -> Option<i64> {
        Some(self.quiet_us.load(Ordering::Relaxed)).filter(|quiet_us| *quiet_us > 0)
    }

    /// Nothing more will be pushed; what waits can still be taken.
    pub fn close(&self) {
        self.state().closed = true;
        self.ready.notify_all();
    }

    /// Bytes that wait, overhead included.
    pub fn bytes(&self) -> usize {
        self.state().bytes
    }
}

impl State {
    fn push(&mut self, heard: Heard, limit: usize) {
        let fits = self.bytes + cost(&heard) <= limit;
        match heard {
            Heard::Tick { t_us } => self.push_tick(t_us, fits),
            Heard::Read { wire, t_us, since_us, ref bytes, .. } if !fits => {
                let count = bytes.len() as u64;
                // Nothing was waiting then: none of them came sooner.
                self.push_lost(Heard::Lost { t_us: t_us - since_us, wire, count });
            }
            other => self.append(other),
        }
    }

    fn append(&mut self, heard: Heard) {
        self.bytes += cost(&heard);
        self.waiting.push_back(heard);
    }

    fn push_tick(&mut self, now: i64, fits: bool) {
        match self.waiting.back_mut() {
            Some(Heard::Tick { t_us }) => *t_us = now,
            _ if fits => self.append(Heard::Tick { t_us: now }),
            _ => {}
        }
    }

    /// Adds to a count that already stands at the end, so that a stuck taker costs two counts and not a million.
    fn push_lost(&mut self, lost: Heard) {
        let Some((wire, more)) = lost.received() else { return };
        let tail = self.waiting.iter_mut().rev().take(2).take_while(|heard| matches!(heard, Heard::Lost { .. }));
        for heard in tail {
            if let Heard::Lost { wire: same, count, .. } = heard
                && *same == wire
            {
                *count += more;
                return;
            }
        }
        self.append(lost);
    }
}

fn cost(heard: &Heard) -> usize {
    let bytes = match heard {
        Heard::Read { bytes, .. } => bytes.len(),
        Heard::Note { text, .. } | Heard::Taught { text, .. } => text.len(),
        _ => 0,
    };
    OVERHEAD + bytes
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use wheeltap_parsers::Wire;

    fn read(t_us: i64, wire: Wire, length: usize) -> Heard {
        Heard::Read { wire, t_us, since_us: 1, offset: 0, bytes: vec![7; length].into() }
    }

    fn drain(queue: &Queue) -> Vec<Heard> {
        queue.close();
        let take = || match queue.take(Duration::ZERO) {
            Taken::Heard(heard) => Some(heard),
            Taken::Nothing | Taken::Closed => None,
        };
        std::iter::from_fn(take).collect()
    }

    #[test]
    fn what_does_not_fit_is_counted_in_its_place() {
        let queue = Queue::new(3 * (OVERHEAD + 10));
        for t_us in 0..3 {
            queue.push(read(t_us, Wire::ToDrive, 10));
        }
        queue.push(read(3, Wire::ToDrive, 10));
        queue.push(read(4, Wire::FromDrive, 7));
        queue.push(Heard::Tick { t_us: 5 });
        queue.push(read(6, Wire::ToDrive, 5));
        queue.push(Heard::Note { t_us: 7, text: "wheel blocked".into() });
        queue.push(read(8, Wire::ToDrive, 1));
        let rest = drain(&queue).split_off(3);
        let expected = [
            Heard::Lost { t_us: 2, wire: Wire::ToDrive, count: 15 },
            Heard::Lost { t_us: 3, wire: Wire::FromDrive, count: 7 },
            Heard::Note { t_us: 7, text: "wheel blocked".into() },
            Heard::Lost { t_us: 7, wire: Wire::ToDrive, count: 1 },
        ];
        assert_eq!(rest, expected);
    }

    #[test]
    fn taking_makes_room_and_a_waiting_tick_is_replaced() {
        let queue = Queue::new(2 * OVERHEAD + 10);
        queue.push(read(1, Wire::ToDrive, 10));
        queue.push(Heard::Tick { t_us: 2 });
        queue.push(Heard::Tick { t_us: 3 });
        assert!(matches!(queue.take(Duration::ZERO), Taken::Heard(Heard::Read { t_us: 1, .. })));
        queue.push(read(4, Wire::ToDrive, 10));
        assert_eq!(queue.bytes(), 2 * OVERHEAD + 10);
        assert_eq!(drain(&queue), [Heard::Tick { t_us: 3 }, read(4, Wire::ToDrive, 10)]);
        assert_eq!(queue.bytes(), 0);
    }
}
