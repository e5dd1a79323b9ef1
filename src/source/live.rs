//! What is heard now, as a source for the engine.

use std::sync::Arc;
use std::time::Duration;

use wheeltap_parsers::{Input, Nanos};

use super::intake::Intake;
use super::{Source, SourceError};
use crate::session::queue::Taken;
use crate::session::{Heard, Queue};
use crate::timing::link::{LinkFacts, WireFacts, chunk};

/// How long the engine waits for something new before it gets the last tick again.
const WAIT: Duration = Duration::from_millis(20);

/// The engine's end of an [`Intake`].
pub struct LiveSource {
    queue: Arc<Queue>,
    link: LinkFacts,
    last_tick: Nanos,
    bytes: Arc<[u8]>,
    text: Arc<str>,
}

impl LiveSource {
    /// Takes what `intake` hands over; `link` says how each wire is listened to.
    pub fn new(intake: &Intake, link: LinkFacts) -> Self {
        let last_tick = link.tick(0);
        Self { queue: intake.engine_queue(), link, last_tick, bytes: Arc::new([]), text: "".into() }
    }

    fn chunk(&self, heard: &Heard) -> Option<Input<'_>> {
        let Heard::Read { wire, t_us, since_us, offset, .. } = *heard else { return None };
        let (read_at, empty_at) = (t_us * 1_000, (t_us - since_us) * 1_000);
        let unknown =
            WireFacts { rate: None, settings: String::new(), latency: self.link.latency(), port: String::new() };
        let facts = self.link.wire(wire).unwrap_or(&unknown);
        Some(Input::Chunk(chunk(facts, wire, offset, read_at, empty_at, &self.bytes)))
    }

    fn input(&mut self, heard: Heard) -> Option<Input<'_>> {
        match heard {
            Heard::Read { ref bytes, .. } => {
                self.bytes = Arc::clone(bytes);
                self.chunk(&heard)
            }
            Heard::Tick { t_us } => {
                self.last_tick = self.link.tick(t_us * 1_000);
                Some(Input::Tick(self.last_tick))
            }
            Heard::Note { t_us, text } => {
                self.text = text;
                Some(Input::Note { at: t_us * 1_000, text: &self.text })
            }
            Heard::Gone { t_us, wire, .. } => Some(Input::PortGone { at: t_us * 1_000, wire }),
            Heard::Back { t_us, wire } => Some(Input::PortBack { at: t_us * 1_000, wire }),
            Heard::Lost { t_us, wire, count } => {
                let latency = self.link.wire(wire).map_or(0, |facts| facts.latency);
                let at = t_us * 1_000;
                Some(Input::Lost { at, since: at - latency, wire, bytes: count, damaged: false })
            }
            // The engine has no use for the wall clock: the tick it knows already says nothing new. A rover file makes
            // another engine.
            Heard::Wall { .. } | Heard::Taught { .. } => Some(Input::Tick(self.last_tick)),
        }
    }
}

impl Source for LiveSource {
    fn next(&mut self) -> Result<Option<Input<'_>>, SourceError> {
        Ok(match self.queue.take(WAIT) {
            Taken::Heard(heard) => self.input(heard),
            Taken::Nothing => Some(Input::Tick(self.last_tick)),
            Taken::Closed => None,
        })
    }

    fn link(&self) -> &LinkFacts {
        &self.link
    }
}
