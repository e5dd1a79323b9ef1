//! The engine: every input goes in here and nowhere else; events, findings and snapshots come out.

pub mod snapshot;
