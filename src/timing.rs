//! Time on the wire: what the tap can prove, and what each link's rhythm is.

pub mod cadence;
pub mod counter;
pub mod link;
pub mod rate;
pub mod resolution;
