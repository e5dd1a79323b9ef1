//! Time on the wire: what the tap can prove, and what each link's rhythm is.

pub mod answers;
pub mod bunch;
pub mod cadence;
pub mod counter;
pub mod flood;
pub mod learner;
pub mod link;
pub mod rate;
pub mod resolution;
pub mod schedule;
pub mod spread;
pub mod tries;
pub mod wander;
