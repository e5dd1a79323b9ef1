//! The decoder of one wire.

use std::sync::Arc;

use crate::chunk::{Chunk, Nanos, Wire};
use crate::profile::Profile;
use crate::record::Sink;

/// Turns the chunks of one wire into records. Cloning it keeps its place.
#[derive(Clone, Debug)]
pub struct Decoder {
    wire: Wire,
    profile: Arc<Profile>,
}

impl Decoder {
    /// A decoder at the start of `wire`.
    pub fn new(wire: Wire, profile: Arc<Profile>) -> Self {
        Self { wire, profile }
    }

    /// Takes the next chunk.
    pub fn push(&mut self, chunk: &Chunk<'_>, sink: &mut impl Sink) {
        let _ = (chunk, sink, self.wire, &self.profile);
    }

    /// Nothing more was complete up to `at`.
    pub fn tick(&mut self, at: Nanos, sink: &mut impl Sink) {
        let _ = (at, sink);
    }

    /// The port is gone or the input has ended: closes everything begun.
    pub fn cut(&mut self, sink: &mut impl Sink) {
        let _ = sink;
    }
}

/// What is wrong with a profile.
pub fn faults(profile: &Profile) -> Vec<String> {
    let _ = profile;
    Vec::new()
}
