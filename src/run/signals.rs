//! Being asked to end: SIGINT, SIGTERM and SIGHUP set a flag; whoever waits looks at it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use crate::run::{Failure, tell};

/// How long the program has to end in order: a further signal within this time changes nothing, so that a key pressed
/// twice costs no byte. What the recorder still has in hand is written long before, unless the disk stands still.
const IN_ORDER: Duration = Duration::from_secs(3);

/// Whether the program has been asked to end.
#[derive(Clone, Debug)]
pub struct Asked(Arc<AtomicBool>);

impl Asked {
    /// Begins to watch for the signals. One that comes more than three seconds after the first ends the program at once.
    pub fn watch() -> Result<Self, Failure> {
        let flag = Arc::new(AtomicBool::new(false));
        let failed = |error: std::io::Error| Failure::device(format!("signals cannot be watched ({error})."));
        // The flag is set in the signal itself: no thread has to run first.
        for signal in [SIGINT, SIGTERM, SIGHUP] {
            signal_hook::flag::register(signal, Arc::clone(&flag)).map_err(failed)?;
        }
        let mut signals = Signals::new([SIGINT, SIGTERM, SIGHUP]).map_err(failed)?;
        std::thread::Builder::new().name("signals".to_owned()).spawn(move || insist(&mut signals)).map_err(failed)?;
        Ok(Self(flag))
    }

    /// True once a signal has come.
    pub fn to_end(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// Asks from within.
    pub fn end(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// The flag itself.
    pub fn flag(&self) -> &AtomicBool {
        &self.0
    }
}

/// Ends the program when a person insists.
fn insist(signals: &mut Signals) {
    let mut first: Option<Instant> = None;
    for _ in signals.forever() {
        let begun = *first.get_or_insert_with(Instant::now);
        if begun.elapsed() >= IN_ORDER {
            tell("Ended at once, as asked again: what had not reached the disk yet is lost.");
            signal_hook::low_level::exit(3);
        }
    }
}
