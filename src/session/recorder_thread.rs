//! The recorder on threads of its own: one writes, one syncs, and nobody else ever waits for the disk.

use std::io;
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use super::disk::Disk;
use super::queue::{Queue, Taken};
use super::record::Recorder;
use super::rotation::Rotation;
use super::status::RecorderStatus;
use crate::source::SourceError;

/// What may wait for the disk, bytes: three minutes of both wires at 115200 baud with room to spare.
pub const QUEUE_BYTES: usize = 64 << 20;

/// How often the file is synced.
const SYNC_EVERY: Duration = Duration::from_secs(1);

/// A running recorder. Dropping it closes the session in order.
pub struct RecorderThread {
    queue: Arc<Queue>,
    status: Arc<RecorderStatus>,
    disk: Arc<Newest>,
    stop: Arc<Stop>,
    writer: Option<JoinHandle<()>>,
    syncer: Option<JoinHandle<()>>,
}

/// The disk that is written now; with rotation it changes.
struct Newest(Mutex<Arc<dyn Disk>>);

impl Newest {
    fn get(&self) -> Arc<dyn Disk> {
        Arc::clone(&self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    fn set(&self, disk: Arc<dyn Disk>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = disk;
    }
}

#[derive(Default)]
struct Stop {
    asked: Mutex<bool>,
    changed: Condvar,
}

impl RecorderThread {
    /// Starts both threads. `limit` is how many bytes may wait for the disk, such as [`QUEUE_BYTES`].
    pub fn start(recorder: Recorder, limit: usize) -> Result<Self, SourceError> {
        Self::start_rotating(recorder, limit, None)
    }

    /// As [`RecorderThread::start`], with a new file whenever `rotation` says so.
    pub fn start_rotating(recorder: Recorder, limit: usize, rotation: Option<Rotation>) -> Result<Self, SourceError> {
        let mut running = Self {
            queue: Arc::new(Queue::new(limit)),
            status: recorder.status(),
            disk: Arc::new(Newest(Mutex::new(recorder.disk()))),
            stop: Arc::default(),
            writer: None,
            syncer: None,
        };
        let queue = Arc::clone(&running.queue);
        let disk = Arc::clone(&running.disk);
        running.writer = Some(spawn("recorder", move || write(recorder, &queue, rotation, &disk))?);
        let (disk, status, stop) = (Arc::clone(&running.disk), running.status(), Arc::clone(&running.stop));
        running.syncer = Some(spawn("recorder sync", move || sync(&disk, &status, &stop))?);
        Ok(running)
    }

    /// Where to push what is to be kept.
    pub fn queue(&self) -> Arc<Queue> {
        Arc::clone(&self.queue)
    }

    /// How it fares.
    pub fn status(&self) -> Arc<RecorderStatus> {
        Arc::clone(&self.status)
    }

    /// Writes what still waits and the closing line, syncs, and ends both threads.
    pub fn finish(self) -> Arc<RecorderStatus> {
        self.status()
    }

    fn wind_up(&mut self) {
        self.queue.close();
        join(&mut self.writer);
        self.stop.ask();
        join(&mut self.syncer);
        sync_once(&*self.disk.get(), &self.status);
    }
}

impl Drop for RecorderThread {
    fn drop(&mut self) {
        self.wind_up();
    }
}

fn spawn(name: &str, work: impl FnOnce() + Send + 'static) -> Result<JoinHandle<()>, SourceError> {
    thread::Builder::new().name(name.to_owned()).spawn(work).map_err(|error: io::Error| {
        SourceError::Device(format!(
            "the recorder cannot start a thread ({error}). Close other programs and try again."
        ))
    })
}

fn join(thread: &mut Option<JoinHandle<()>>) {
    if let Some(thread) = thread.take() {
        // A thread that panicked has already said so; there is nothing left to save here.
        drop(thread.join());
    }
}

fn write(mut recorder: Recorder, queue: &Queue, mut rotation: Option<Rotation>, disk: &Newest) {
    loop {
        match queue.take(Duration::from_secs(60)) {
            Taken::Heard(heard) => {
                recorder.keep(&heard);
                if let Some(next) = rotation.as_mut().and_then(|rotation| rotation.next(&recorder, &heard)) {
                    let before = std::mem::replace(&mut recorder, next);
                    finish(before);
                    disk.set(recorder.disk());
                }
                queue.want_quiet(rotation.as_ref().and_then(|rotation| rotation.waits_for_us(&recorder)));
            }
            Taken::Nothing => {}
            Taken::Closed => break,
        }
    }
    recorder.close();
}

/// Closes a file that is followed by another, and makes sure that it lasts.
fn finish(recorder: Recorder) {
    let (disk, status) = (recorder.disk(), recorder.status());
    recorder.close();
    sync_once(&*disk, &status);
}

impl Stop {
    fn ask(&self) {
        *self.asked.lock().unwrap_or_else(PoisonError::into_inner) = true;
        self.changed.notify_all();
    }

    /// True when asked to stop, false after `SYNC_EVERY`.
    fn wait(&self) -> bool {
        let asked = self.asked.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = self.changed.wait_timeout_while(asked, SYNC_EVERY, |asked| !*asked);
        *waited.unwrap_or_else(PoisonError::into_inner).0
    }
}

fn sync(disk: &Newest, status: &RecorderStatus, stop: &Stop) {
    while !stop.wait() {
        sync_once(&*disk.get(), status);
    }
}

fn sync_once(disk: &dyn Disk, status: &RecorderStatus) {
    if !status.take_unsynced() {
        return;
    }
    let trouble = disk.sync().err().map(|error| {
        let path = status.path();
        let path = path.display();
        format!("{path}: written, but the disk does not confirm it ({error}). Record to another disk if you can.")
    });
    status.set_sync_trouble(trouble);
}
