//! The session recorded so far, in all its files, read again with another rover file while the recording goes on.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use wheeltap_parsers::{Input, Nanos};

use crate::engine::Engine;
use crate::rover::file::RoverFile;
use crate::session::rotation::part_path;
use crate::session::{RecorderStatus, SessionSource, append_taught};
use crate::source::{Source, SourceError};

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

/// A recording that goes on, maybe in more than one file.
pub struct Recorded {
    /// Its first file.
    pub first: PathBuf,
    status: Arc<RecorderStatus>,
}

impl Recorded {
    /// By a recorder that is still in its first file.
    pub fn by(status: Arc<RecorderStatus>) -> Self {
        Self { first: status.path(), status }
    }

    /// Its files so far, in their order.
    fn files(&self) -> Vec<PathBuf> {
        let last = self.status.newest_part().map_or(1, |part| part.number);
        let later = (2..=last).map(|number| part_path(&self.first, number));
        std::iter::once(self.first.clone()).chain(later).collect()
    }

    /// An engine with this rover file that has had, from all files, just what `had` says.
    ///
    /// The recorder stands before the engine and may be behind it by moments only: its file is waited for.
    pub fn read(&self, rover: &Arc<RoverFile>, had: Had) -> Result<Engine, String> {
        let begun = Instant::now();
        loop {
            let files = self.files();
            let (engine, read) = read(&files, rover, had)?;
            if read.bytes == had.bytes {
                return Ok(engine);
            }
            if begun.elapsed() >= PATIENCE {
                let shown = self.first.display();
                let (hold, it) = if files.len() > 1 { (" and the files after it do", "them") } else { (" does", "it") };
                return Err(format!("{shown}{hold} not hold all that was heard. Open {it} later with --rover."));
            }
            std::thread::sleep(LOOK);
        }
    }

    /// Puts a rover file that was taught into each file that does not hold it yet, once the recording has ended.
    pub fn keep(&self, rover: &RoverFile) -> Result<(), SourceError> {
        for file in self.files() {
            let held = SessionSource::open(&file)?.rover() == Some((&rover.file, &rover.text));
            if !held {
                append_taught(&file, &rover.file, &rover.text)?;
            }
        }
        Ok(())
    }
}

fn read(files: &[PathBuf], rover: &Arc<RoverFile>, had: Had) -> Result<(Engine, Had), String> {
    let mut made: Option<Engine> = None;
    let mut read = Had::default();
    for file in files {
        one(file, rover, had, &mut made, &mut read).map_err(|error| error.to_string())?;
    }
    made.map(|engine| (engine, read)).ok_or_else(|| "nothing is recorded to be read again".to_owned())
}

/// Gives what one file holds to the engine, which is made where it is the first.
fn one(
    file: &Path,
    rover: &Arc<RoverFile>,
    had: Had,
    made: &mut Option<Engine>,
    read: &mut Had,
) -> Result<(), SourceError> {
    let mut source = SessionSource::open(file)?;
    let engine = made.get_or_insert_with(|| Engine::new(source.link().clone(), Some(Arc::clone(rover))));
    while let Some(input) = source.next()? {
        if had.covers(&input) {
            read.take(&input);
            engine.push(input);
        }
    }
    Ok(())
}
