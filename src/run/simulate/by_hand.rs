//! The simulated rover driven by hand: what is asked of it goes in, its bytes go out no sooner than a wire would
//! deliver them.

use std::sync::mpsc::Receiver;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use wheeltap_parsers::{Nanos, Wire};

use super::Ports;
use crate::run::Failure;
use crate::run::signals::Asked;
use crate::simulation::{Moonwagon, Seen, Step, Way, Work};
use crate::source::pseudo_port::PseudoPort;
use crate::source::pseudo_port::pieces::{Piece, cut};

/// Pause between two looks.
const NAP: Duration = Duration::from_millis(2);

/// What a person does at the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deed {
    /// At the panel.
    Panel(Step),
    /// At the wheels.
    Work(Work),
    /// In the drive board's table.
    CorrectRow(Way),
    /// The command board's reset button.
    Reset,
}

/// What is so at the bench.
#[derive(Clone, Debug)]
pub struct State {
    /// What is seen.
    pub seen: Seen,
    /// What is wrong, for the one who asks to be told.
    pub wrong: Vec<String>,
}

/// The newest state, for the one who draws.
pub type Shared = Arc<Mutex<State>>;

/// The rover, what it still has to say, and where.
pub struct ByHand {
    wagon: Moonwagon,
    ports: Ports,
    begun: Instant,
    waiting: Vec<Piece>,
}

impl ByHand {
    /// Switches the rover on at `begun`.
    pub const fn new(wagon: Moonwagon, ports: Ports, begun: Instant) -> Self {
        Self { wagon, ports, begun, waiting: Vec::new() }
    }

    /// What is so now.
    pub fn state(&self) -> State {
        State { seen: self.wagon.seen(), wrong: self.wagon.wrong() }
    }

    /// Does the deeds as they come and keeps `shared` up to date, until asked to end.
    pub fn run(mut self, deeds: &Receiver<Deed>, shared: &Shared, asked: &Asked) -> Result<(), Failure> {
        while !asked.to_end() {
            let now = i64::try_from(self.begun.elapsed().as_nanos()).unwrap_or(Nanos::MAX);
            self.pass(now)?;
            for deed in deeds.try_iter() {
                self.do_it(deed);
            }
            *shared.lock().unwrap_or_else(PoisonError::into_inner) = self.state();
            std::thread::sleep(NAP);
        }
        Ok(())
    }

    fn do_it(&mut self, deed: Deed) {
        match deed {
            Deed::Panel(step) => self.wagon.hand(step),
            Deed::Work(work) => self.wagon.work(work),
            Deed::CorrectRow(way) => self.wagon.correct_row(way),
            Deed::Reset => self.wagon.press_reset(),
        }
    }

    /// Lets the rover live up to `now` and writes what is complete on its wires by then.
    fn pass(&mut self, now: Nanos) -> Result<(), Failure> {
        while let Some(burst) = self.wagon.next_before(now) {
            self.waiting.extend(cut(&burst));
        }
        self.waiting.sort_by_key(|piece| piece.due);
        let complete = self.waiting.partition_point(|piece| piece.due <= now);
        for piece in self.waiting.drain(..complete) {
            let port: Option<&PseudoPort> = match piece.wire {
                Wire::ToDrive => Some(&self.ports.to_drive),
                Wire::FromDrive => self.ports.back.as_ref(),
            };
            let Some(port) = port else { continue };
            port.write(&piece.bytes).map_err(|error| {
                Failure::device(format!("{}: the simulated port failed ({error}).", port.path().display()))
            })?;
        }
        Ok(())
    }
}
