//! Finish: the two finishing lines, and the case that lies outside the model.

use crate::diagnosis::observation::ObservationId;

/// A class of this probability is a diagnosis.
pub const DIAGNOSED: f64 = 0.9935;

/// A rover is accepted with this probability once every row was seen.
pub const ACCEPTED: f64 = 0.95;

/// An observation is disbelieved when it is misread with this probability.
pub const DISBELIEVED: f64 = 0.9;

/// This many disbelieved observations put the rover outside the model.
pub const MOST_DISBELIEVED: usize = 1;

/// The likeliest slip among more of them than [`MOST_DISBELIEVED`] that no later answer overruled.
pub fn outside(doubtful: &[Doubt]) -> Option<ObservationId> {
    let standing = || doubtful.iter().filter(|doubt| !doubt.overruled);
    standing().next().filter(|_| standing().count() > MOST_DISBELIEVED).map(|doubt| doubt.id)
}

/// Share of what speaks against the likeliest class that one more answer leaves: fitted to simulated checks
/// (`tests/diagnosis_accuracy.rs`), no other source.
pub const LEAVES: f64 = 0.6;

/// How far a diagnosis is.
#[derive(Clone, Debug, PartialEq)]
pub struct Finish {
    /// The likeliest class reached [`DIAGNOSED`], or no test on hand tells more.
    pub diagnosed: bool,
    /// Every row was seen once and the likeliest class reached [`ACCEPTED`].
    pub accepted: bool,
    /// More observations are disbelieved than a person's slips explain: repeat this one first.
    pub outside_the_model: Option<ObservationId>,
    /// Probability of the likeliest class, 0 to 1.
    pub best: f64,
    /// What the best test on hand would tell, bits.
    pub gain: f64,
    /// Rows not seen yet.
    pub rows_left: Vec<usize>,
}

/// An observation that the diagnosis does not believe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Which.
    pub id: ObservationId,
    /// Probability that it is misread, 0 to 1.
    pub misread: f64,
    /// Whether a later answer to the same test is believed instead.
    pub overruled: bool,
}
