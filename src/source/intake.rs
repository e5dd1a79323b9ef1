//! The hand-over: readers stamp and push here; the recorder takes first, then the engine.
//!
//! A read is stamped and pushed inside one short lock, so the order of the stamps is the order in both queues. A
//! consumer that is stuck never blocks a reader: what its queue cannot hold is counted as lost for that consumer, in
//! its place.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use wheeltap_parsers::Wire;

use super::clock::{Clock, wall_now_us};
use super::suspend::Suspend;
use crate::session::{Heard, Queue, wall};

/// How often the engine is told that nothing more waits, microseconds.
const ENGINE_TICK_US: i64 = 10_000;

/// How often the session is, microseconds.
const SESSION_TICK_US: i64 = 1_000_000;

/// A reader away for longer than this has stalled, microseconds; the session gets a tick when it is back.
const STALL_US: i64 = 250_000;

/// How often the wall clock is noted, microseconds.
const WALL_US: i64 = 60_000_000;

/// What may wait for the engine, bytes.
pub const ENGINE_BYTES: usize = 16 << 20;

/// Where all readers of one session hand over.
#[derive(Debug)]
pub struct Intake {
    clock: Clock,
    recorder: Option<Arc<Queue>>,
    engine: Arc<Queue>,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    wires: [Option<Reader>; 2],
    /// Time of the newest thing pushed that counts for the order.
    newest_us: i64,
    /// Time of the newest read.
    read_us: i64,
    /// The silence that the recorder was last told of: the read before it, and how long it was asked to be.
    quiet_told: Option<(i64, i64)>,
    engine_tick_us: i64,
    session_tick_us: i64,
    wall_us: i64,
    stalled: bool,
    suspend: Option<Suspend>,
}

/// What is known of one wire's reader.
#[derive(Clone, Copy, Debug, Default)]
struct Reader {
    /// The last instant at which nothing was waiting.
    empty_us: i64,
    /// The last instant it gave a sign of life.
    alive_us: i64,
    longest_absence_us: i64,
    looked: bool,
    offset: u64,
}

impl Intake {
    /// A hand-over for the wires named. `engine_limit` is how many bytes may wait for the engine, such as
    /// [`ENGINE_BYTES`].
    pub fn new(clock: Clock, wires: &[Wire], recorder: Option<Arc<Queue>>, engine_limit: usize) -> Self {
        let mut state = State { suspend: Some(Suspend::begin(clock.now_us())), ..State::default() };
        for wire in wires {
            let now = clock.now_us();
            state.wires[wire.index()] = Some(Reader { empty_us: now, alive_us: now, ..Reader::default() });
        }
        Self { clock, recorder, engine: Arc::new(Queue::new(engine_limit)), state: Mutex::new(state) }
    }

    /// The clock to stamp with.
    pub fn clock(&self) -> Clock {
        self.clock
    }

    /// The engine's queue, for [`super::LiveSource`].
    pub fn engine_queue(&self) -> Arc<Queue> {
        Arc::clone(&self.engine)
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn push(&self, heard: Heard) {
        if let Some(recorder) = &self.recorder {
            recorder.push(heard.clone());
        }
        self.engine.push(heard);
    }

    /// A read of `wire` just returned these bytes.
    pub fn read(&self, wire: Wire, bytes: Arc<[u8]>) {
        let mut state = self.state();
        self.look_for_sleep(&mut state);
        let t_us = self.clock.now_us();
        (state.newest_us, state.read_us) = (t_us, t_us);
        let Some(reader) = &mut state.wires[wire.index()] else { return };
        let offset = reader.offset;
        reader.offset += bytes.len() as u64;
        let since_us = t_us - reader.empty_us;
        let stalled = reader.alive(t_us);
        state.stalled |= stalled;
        self.push(Heard::Read { wire, t_us, since_us, offset, bytes });
    }

    /// Nothing was waiting on `wire` at `at_us`: a stamp taken just before the look that found nothing, so that a byte
    /// that came in between is not vouched for.
    pub fn empty(&self, wire: Wire, at_us: i64) {
        let mut state = self.state();
        self.look_for_sleep(&mut state);
        let Some(reader) = &mut state.wires[wire.index()] else { return };
        reader.empty_us = reader.empty_us.max(at_us);
        reader.looked = true;
        let stalled = reader.alive(at_us);
        state.stalled |= stalled;
        self.tick(&mut state);
    }

    fn look_for_sleep(&self, state: &mut State) {
        let slept = state.suspend.as_mut().and_then(|suspend| suspend.slept(self.clock.now_us()));
        if let Some(slept_us) = slept {
            self.slept(state, slept_us);
        }
    }

    /// This computer slept: what stood on the wires meanwhile was not heard, and no time of the session passed.
    fn slept(&self, state: &mut State, slept_us: i64) {
        let t_us = self.clock.now_us();
        state.newest_us = t_us;
        let reason: Arc<str> = format!("this computer was asleep for {} s", slept_us / 1_000_000).into();
        for wire in Wire::BOTH.into_iter().filter(|wire| state.wires[wire.index()].is_some()) {
            self.push(Heard::Gone { t_us, wire, reason: Arc::clone(&reason) });
            self.push(Heard::Back { t_us, wire });
        }
    }

    /// The port of `wire` went away; `reason` is what the system said.
    pub fn gone(&self, wire: Wire, reason: &str) {
        let mut state = self.state();
        let t_us = self.clock.now_us();
        state.newest_us = t_us;
        self.push(Heard::Gone { t_us, wire, reason: reason.into() });
    }

    /// The port of `wire` is back; nothing was waiting at `at_us`, taken before the first look.
    pub fn back(&self, wire: Wire, at_us: i64) {
        let mut state = self.state();
        let t_us = self.clock.now_us();
        state.newest_us = t_us;
        self.push(Heard::Back { t_us, wire });
        drop(state);
        self.empty(wire, at_us);
    }

    /// A person's remark, now. Gives back its time, microseconds.
    pub fn note(&self, text: &str) -> i64 {
        let _state = self.state();
        let t_us = self.clock.now_us();
        self.push(Heard::Note { t_us, text: text.into() });
        t_us
    }

    /// A rover file that was made from what was heard so far is in force from now on: for the session.
    pub fn taught(&self, name: &str, text: &str) {
        let _state = self.state();
        let t_us = self.clock.now_us();
        if let Some(recorder) = &self.recorder {
            recorder.push(Heard::Taught { t_us, name: name.into(), text: text.into() });
        }
    }

    /// The readers have stopped: one last tick, the same for the session and the engine, and the engine's queue is
    /// closed.
    pub fn close(&self) {
        let mut state = self.state();
        state.stalled = true;
        state.engine_tick_us = i64::MIN / 2;
        self.tick(&mut state);
        self.engine.close();
    }

    /// Whether the reader of `wire` has looked into its port at least once: what comes from now on is heard.
    pub fn looked(&self, wire: Wire) -> bool {
        self.state().wires[wire.index()].is_some_and(|reader| reader.looked)
    }

    /// The longest time the reader of `wire` gave no sign of life, microseconds.
    pub fn longest_absence_us(&self, wire: Wire) -> i64 {
        self.state().wires[wire.index()].map_or(0, |reader| reader.longest_absence_us)
    }

    fn tick(&self, state: &mut State) {
        let Some(t_us) = state.empty_on_all_us() else { return };
        if t_us - state.engine_tick_us >= ENGINE_TICK_US {
            state.engine_tick_us = t_us;
            self.engine.push(Heard::Tick { t_us });
        }
        let Some(recorder) = &self.recorder else { return };
        let quiet = state.new_silence(t_us, recorder.wanted_quiet_us());
        let due = quiet || state.stalled || t_us - state.session_tick_us >= SESSION_TICK_US;
        // Times never descend in a session: a tick older than the newest read has to wait for a later look.
        if due && t_us >= state.newest_us {
            state.session_tick_us = t_us;
            state.stalled = false;
            recorder.push(Heard::Tick { t_us });
            self.wall(state, recorder);
        }
    }

    fn wall(&self, state: &mut State, recorder: &Queue) {
        let t_us = self.clock.now_us();
        if t_us - state.wall_us < WALL_US {
            return;
        }
        state.wall_us = t_us;
        state.newest_us = t_us;
        let unix_us = wall_now_us();
        recorder.push(Heard::Wall { t_us, unix_us, offset_min: wall::offset_here(unix_us) });
    }
}

impl State {
    /// The last instant at which nothing was waiting on any tapped wire.
    fn empty_on_all_us(&self) -> Option<i64> {
        self.wires.iter().flatten().map(|reader| reader.empty_us).min()
    }

    /// Whether all wires have now been silent for as long as the recorder waits for, and it has not been told yet.
    fn new_silence(&mut self, t_us: i64, wanted: Option<i64>) -> bool {
        let Some(wanted) = wanted.filter(|wanted| t_us - self.read_us >= *wanted) else { return false };
        self.quiet_told.replace((self.read_us, wanted)) != Some((self.read_us, wanted))
    }
}

impl Reader {
    /// A sign of life at `at_us`; true when the one before is too long ago.
    fn alive(&mut self, at_us: i64) -> bool {
        let absence = at_us - self.alive_us;
        self.alive_us = self.alive_us.max(at_us);
        self.longest_absence_us = self.longest_absence_us.max(absence);
        absence > STALL_US
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::session::queue::Taken;
    use std::time::Duration;

    fn drain(queue: &Queue) -> Vec<Heard> {
        queue.close();
        std::iter::from_fn(|| match queue.take(Duration::ZERO) {
            Taken::Heard(heard) => Some(heard),
            _ => None,
        })
        .collect()
    }

    /// Both consumers hear of it, before anything that was read after it.
    #[test]
    fn a_computer_that_slept_says_so() {
        let session = Arc::new(Queue::new(1 << 20));
        let intake = Intake::new(Clock::start(), &[Wire::ToDrive], Some(Arc::clone(&session)), 1 << 20);
        intake.read(Wire::ToDrive, b"before".as_slice().into());
        intake.slept(&mut intake.state(), 3_600_000_000);
        intake.read(Wire::ToDrive, b"after".as_slice().into());
        for queue in [session, intake.engine_queue()] {
            let heard = drain(&queue);
            let [Heard::Read { .. }, Heard::Gone { reason, .. }, Heard::Back { .. }, Heard::Read { .. }] = &heard[..]
            else {
                panic!("{heard:?}")
            };
            assert_eq!(&**reason, "this computer was asleep for 3600 s");
        }
    }

    #[test]
    fn stamps_ascend_in_both_queues_with_two_readers() {
        let session = Arc::new(Queue::new(64 << 20));
        let intake = Intake::new(Clock::start(), &Wire::BOTH, Some(Arc::clone(&session)), 64 << 20);
        std::thread::scope(|scope| {
            for wire in Wire::BOTH {
                let intake = &intake;
                scope.spawn(move || {
                    for n in 0..5_000u32 {
                        intake.empty(wire, intake.clock().now_us());
                        intake.read(wire, n.to_le_bytes().to_vec().into());
                    }
                });
            }
        });
        let (session, engine) = (drain(&session), drain(&intake.engine_queue()));
        let reads = |all: &[Heard]| -> Vec<Heard> {
            all.iter().filter(|heard| matches!(heard, Heard::Read { .. })).cloned().collect()
        };
        assert_eq!(reads(&session), reads(&engine));
        assert_eq!(reads(&session).len(), 10_000);
        let times: Vec<i64> = session.iter().map(Heard::t_us).collect();
        assert!(times.is_sorted(), "the session's lines descend somewhere");
        for wire in Wire::BOTH {
            let mut due = 0;
            for heard in &session {
                if let Heard::Read { wire: of, offset, bytes, .. } = heard
                    && *of == wire
                {
                    assert_eq!(*offset, due);
                    due += bytes.len() as u64;
                }
            }
        }
    }

    #[test]
    fn a_tick_vouches_for_the_wire_that_was_looked_at_least_recently() {
        let session = Arc::new(Queue::new(1 << 20));
        let intake = Intake::new(Clock::start(), &Wire::BOTH, Some(Arc::clone(&session)), 1 << 20);
        intake.empty(Wire::ToDrive, 5_000_000);
        let early = session.take(Duration::ZERO);
        assert!(matches!(early, Taken::Heard(Heard::Tick { t_us }) if t_us < 1_000_000), "{early:?}");
        intake.empty(Wire::FromDrive, 3_000_000);
        assert_eq!(session.take(Duration::ZERO), Taken::Heard(Heard::Tick { t_us: 3_000_000 }));
        intake.empty(Wire::FromDrive, 3_900_000);
        assert_eq!(session.take(Duration::ZERO), Taken::Heard(Heard::Tick { t_us: 3_900_000 }), "after a stall");
        intake.empty(Wire::FromDrive, 3_990_000);
        assert_eq!(session.take(Duration::ZERO), Taken::Nothing, "neither a second nor a stall has passed");
        assert!((4_900_000..=5_000_000).contains(&intake.longest_absence_us(Wire::ToDrive)));
    }

    #[test]
    fn a_read_says_when_nothing_was_waiting_last() {
        let clock = Clock::start();
        let intake = Intake::new(clock, &Wire::BOTH, None, 1 << 20);
        let looked_us = clock.now_us() + 1;
        while clock.now_us() <= looked_us {
            std::hint::spin_loop();
        }
        intake.empty(Wire::ToDrive, looked_us);
        intake.empty(Wire::FromDrive, looked_us - 1);
        for wire in Wire::BOTH {
            intake.read(wire, vec![1].into());
        }
        let last_empty = |heard: &Heard| match heard {
            Heard::Read { t_us, since_us, .. } => Some(t_us - since_us),
            _ => None,
        };
        let found: Vec<i64> = drain(&intake.engine_queue()).iter().filter_map(last_empty).collect();
        assert_eq!(found, [looked_us, looked_us - 1]);
    }

    #[test]
    fn a_tick_older_than_the_newest_read_does_not_go_into_the_session() {
        let clock = Clock::start();
        let session = Arc::new(Queue::new(1 << 20));
        let intake = Intake::new(clock, &Wire::BOTH, Some(Arc::clone(&session)), 1 << 20);
        let begun = clock.now_us();
        while clock.now_us() <= begun {
            std::hint::spin_loop();
        }
        intake.read(Wire::ToDrive, vec![1].into());
        // Back from a stall, but the other wire was last seen empty before that read.
        intake.empty(Wire::ToDrive, 5_000_000);
        assert!(matches!(session.take(Duration::ZERO), Taken::Heard(Heard::Read { .. })));
        assert_eq!(session.take(Duration::ZERO), Taken::Nothing);
        intake.empty(Wire::FromDrive, 4_000_000);
        assert_eq!(session.take(Duration::ZERO), Taken::Heard(Heard::Tick { t_us: 4_000_000 }));
    }

    #[test]
    fn a_stuck_engine_loses_only_its_own_copy() {
        let session = Arc::new(Queue::new(1 << 20));
        let intake = Intake::new(Clock::start(), &[Wire::ToDrive], Some(Arc::clone(&session)), 1_000);
        for _ in 0..100 {
            intake.read(Wire::ToDrive, vec![1; 100].into());
        }
        let bytes = |all: Vec<Heard>, lost: bool| -> u64 {
            let of = all.iter().filter(|heard| matches!(heard, Heard::Lost { .. }) == lost);
            of.filter_map(Heard::received).map(|(_, count)| count).sum()
        };
        let engine = drain(&intake.engine_queue());
        assert_eq!(bytes(engine.clone(), false) + bytes(engine.clone(), true), 10_000);
        assert!(bytes(engine, true) > 9_000);
        assert_eq!(bytes(drain(&session), false), 10_000);
    }
}
