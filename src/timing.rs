//! Time on the wire: what the tap can prove, and what each link's rhythm is.

pub mod link;
