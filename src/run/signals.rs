//! Being asked to end: SIGINT, SIGTERM and SIGHUP set a flag; whoever waits looks at it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};

use crate::run::Failure;

/// Whether the program has been asked to end.
#[derive(Clone, Debug)]
pub struct Asked(Arc<AtomicBool>);

impl Asked {
    /// Begins to watch for the signals. A second signal of the same kind ends the program at once.
    pub fn watch() -> Result<Self, Failure> {
        let flag = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM, SIGHUP] {
            let failed = |error: std::io::Error| Failure::device(format!("signals cannot be watched ({error})."));
            signal_hook::flag::register_conditional_shutdown(signal, 3, Arc::clone(&flag)).map_err(failed)?;
            signal_hook::flag::register(signal, Arc::clone(&flag)).map_err(failed)?;
        }
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
