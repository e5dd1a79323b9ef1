//! The session recorded so far, read again with another rover file while the recording goes on.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use wheeltap_parsers::{Input, Nanos};

use crate::engine::Engine;
use crate::rover::file::RoverFile;
use crate::session::SessionSource;
use crate::source::Source;

/// How long to wait until the recorder has written what the engine has had.
const PATIENCE: Duration = Duration::from_secs(3);
/// Pause between two looks.
const LOOK: Duration = Duration::from_millis(20);

/// What an engine has had.
#[derive(Clone, Copy, Debug, Default)]
pub struct Had {
    /// Bytes of each wire, by its index.
    pub bytes: [u64; 2],
    /// Up to when.
    pub until: Nanos,
}

impl Had {
    /// Takes note of an input.
    pub fn take(&mut self, input: &Input<'_>) {
        self.until = self.until.max(input.at());
        if let Input::Chunk(chunk) = input {
            self.bytes[chunk.wire.index()] = chunk.offset + chunk.bytes.len() as u64;
        }
    }

    fn covers(&self, input: &Input<'_>) -> bool {
        match input {
            Input::Chunk(chunk) => chunk.offset < self.bytes[chunk.wire.index()],
            other => other.at() <= self.until,
        }
    }
}

/// An engine with this rover file that has had, from the session at `path`, just what `had` says.
///
/// The recorder stands before the engine and may be behind it by moments only: its file is waited for.
pub fn run(path: &Path, rover: &Arc<RoverFile>, had: Had) -> Result<Engine, String> {
    let begun = Instant::now();
    loop {
        let (engine, read) = read(path, rover, had)?;
        if read.bytes == had.bytes {
            return Ok(engine);
        }
        if begun.elapsed() >= PATIENCE {
            let shown = path.display();
            return Err(format!("{shown} does not hold all that was heard. Open it later with --rover."));
        }
        std::thread::sleep(LOOK);
    }
}

fn read(path: &Path, rover: &Arc<RoverFile>, had: Had) -> Result<(Engine, Had), String> {
    let mut source = SessionSource::open(path).map_err(|error| error.to_string())?;
    let mut engine = Engine::new(source.link().clone(), Some(Arc::clone(rover)));
    let mut read = Had::default();
    while let Some(input) = source.next().map_err(|error| error.to_string())? {
        if had.covers(&input) {
            read.take(&input);
            engine.push(input);
        }
    }
    Ok((engine, read))
}
