//! The line rate, found on a real port while the person keeps tapping a button.

use std::sync::Arc;
use std::time::Duration;

use crate::rover::file::RoverFile;
use crate::run::signals::Asked;
use crate::run::{Failure, tell};
use crate::source::serial::trial_port::TrialPort;
use crate::timing::rate::{FIRST, Models, Search, Verdict};
use wheeltap_parsers::Wire;

/// How long a silence lasts before the person is asked again.
const PATIENCE: Duration = Duration::from_secs(8);

/// Bursts after which the best that can be said is said.
const MOST: usize = 80;

/// Silences in a row after which the search gives up.
const SILENCES: usize = 8;

/// Finds the rate on `port`; `None` when the port has none (a pretend port). What is going on goes to standard error.
pub fn run(port: &str, rover: Option<&RoverFile>, asked: &Asked) -> Result<Option<u32>, Failure> {
    let profile = rover.and_then(|rover| rover.profile(Wire::ToDrive)).map(Arc::clone);
    let mut search = Search::new(Arc::new(Models::default()), rover.map_or(FIRST, |rover| rover.rate), profile);
    let mut trial = TrialPort::open(port, search.rate())?;
    tell(format!("Finding the line rate of {port}. Keep tapping one button of the panel, about twice a second."));
    let heard = taps(&mut search, &mut trial, asked);
    for line in search.evidence() {
        tell(format!("    {line}"));
    }
    heard?;
    let verdict = search.so_far();
    tell(verdict.words());
    match verdict {
        Verdict::Found { rate, .. } => Ok(Some(rate)),
        Verdict::SameAtEveryRate => Ok(None),
        Verdict::Bounded { .. } | Verdict::TooFew { .. } => {
            Err(Failure::device(format!("{port}: the line rate was not found. Give it with --rate.")))
        }
    }
}

fn taps(search: &mut Search, trial: &mut TrialPort, asked: &Asked) -> Result<(), Failure> {
    let (mut bursts, mut silences) = (0, 0);
    while search.certain().is_none() && bursts < MOST && silences < SILENCES && !asked.to_end() {
        trial.set_rate(search.rate())?;
        tell(format!("Listening at {} baud: tap.", search.rate()));
        let burst = trial.burst(PATIENCE, || asked.to_end())?;
        if burst.bytes.is_empty() {
            silences += 1;
            tell("Nothing came.");
            continue;
        }
        (bursts, silences) = (bursts + 1, 0);
        tell(format!("{} bytes came.", burst.bytes.len()));
        search.hear(&burst.bytes, burst.cut);
    }
    Ok(())
}
