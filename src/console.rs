//! The console: reads a [`Snapshot`] and a [`Status`], draws them, turns keys into a [`Wish`].
//!
//! It owns no data of the rover and does nothing itself: the loop in `run` grants the wish.
//!
//! [`Snapshot`]: crate::engine::snapshot::Snapshot
//! [`Status`]: status::Status
//! [`Wish`]: wish::Wish

pub mod status;
pub mod wish;
