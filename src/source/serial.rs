//! Real ports, listened to. Each port has a thread of its own with its own small runtime, so that neither the screen
//! nor the disk nor the other port can keep it from stamping a read at once.
//!
//! Nothing is ever sent, and DTR and RTS are not touched. What cannot be prevented: most systems raise both by
//! themselves when a port is opened, and a board whose reset hangs on one of them restarts. They are not lowered
//! afterwards either: between the two changes some boards would be held in reset or started in their loader (recalled).
//! A tap on receive and ground has neither lead.

#[cfg(unix)]
pub mod trial_port;

use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use tokio::io::AsyncReadExt;
use tokio::time::{sleep, timeout};
use tokio_serial::{ClearBuffer, SerialPort, SerialStream};
use wheeltap_parsers::Wire;

use super::SourceError;
use super::intake::Intake;
use super::latency::adapter_latency;
use super::port_error::{check_rate, explain, look_first};
use crate::timing::link::WireFacts;

/// How long one look waits for bytes. Asked for 1 ms, a look takes about 2: the timer counts whole milliseconds.
pub const LOOK: Duration = Duration::from_millis(1);

/// First and longest pause between two tries to open a port that went away.
const RETRY: (Duration, Duration) = (Duration::from_millis(20), Duration::from_millis(500));

const BLOCK: usize = 4096;

/// Which port to listen to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PortSettings {
    /// Its path.
    pub path: String,
    /// Line rate, baud.
    pub rate: u32,
    /// The wire it is clipped to.
    pub wire: Wire,
}

impl PortSettings {
    /// How this wire is listened to, for the session's head.
    pub fn facts(&self) -> WireFacts {
        let latency = adapter_latency(&self.path);
        WireFacts { rate: Some(self.rate), settings: "8N1".to_owned(), latency, port: self.path.clone() }
    }
}

/// Where a reader hands over, and what it drops once its port is clean.
type Begin = (Arc<Intake>, Sender<()>);

/// A port that is open. Dropping it ends its thread and closes the port.
#[derive(Debug)]
pub struct SerialReader {
    begin: Option<Sender<Begin>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl SerialReader {
    /// Opens the port. Nothing is read before [`SerialReader::begin`].
    pub fn open(settings: PortSettings) -> Result<Self, SourceError> {
        check_rate(settings.rate)?;
        look_first(&settings.path)?;
        let stop = Arc::new(AtomicBool::new(false));
        let (opened, outcome) = channel();
        let (begin, begun) = channel();
        let path = settings.path.clone();
        let port = Port { settings, stop: Arc::clone(&stop) };
        let thread = std::thread::Builder::new()
            .name(format!("reader {}", port.settings.wire.symbol()))
            .spawn(move || port.run(&opened, &begun))
            .map_err(|error| {
                SourceError::Device(format!("{path}: no thread for this port ({error}). Close other programs."))
            })?;
        let reader = Self { begin: Some(begin), stop, thread: Some(thread) };
        match outcome.recv() {
            Ok(Ok(())) => Ok(reader),
            Ok(Err(error)) => Err(error),
            Err(_) => Err(SourceError::Device(format!("{path}: the reader ended before it began. Try again."))),
        }
    }

    /// Begins to hand over to `intake`. Bytes that waited in the port from before are dropped: nobody knows their time.
    /// Whatever comes after this has returned is heard.
    pub fn begin(&mut self, intake: Arc<Intake>) {
        if let Some(begin) = self.begin.take() {
            let (clean, cleaned) = channel();
            // Both fail only when the thread is gone, and then there is nobody left to begin; `clean` is never sent, and
            // its end is the sign.
            drop(begin.send((intake, clean)));
            let _ = cleaned.recv();
        }
    }
}

impl SerialReader {
    /// Asks it to end, without waiting for that: several can then end at the same time.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

impl Drop for SerialReader {
    fn drop(&mut self) {
        self.stop();
        self.begin = None;
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}

/// The thread's own view.
struct Port {
    settings: PortSettings,
    stop: Arc<AtomicBool>,
}

impl Port {
    fn run(self, opened: &Sender<Result<(), SourceError>>, begun: &Receiver<Begin>) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build();
        let outcome = match runtime {
            Ok(runtime) => return runtime.block_on(self.work(opened, begun)),
            Err(error) => SourceError::Device(format!("{}: cannot be waited for ({error}).", self.settings.path)),
        };
        drop(opened.send(Err(outcome)));
    }

    async fn work(self, opened: &Sender<Result<(), SourceError>>, begun: &Receiver<Begin>) {
        let mut stream = match self.open() {
            Ok(stream) => stream,
            Err(error) => return drop(opened.send(Err(error))),
        };
        drop(opened.send(Ok(())));
        let Ok((intake, clean)) = begun.recv() else { return };
        let latency_us = adapter_latency(&self.settings.path) / 1_000;
        let listening = Listening { wire: self.settings.wire, intake, stop: &self.stop, latency_us };
        listening.start_clean(&stream);
        drop(clean);
        loop {
            let reason = listening.listen(&mut stream).await;
            drop(stream);
            let Some(reason) = reason else { return };
            listening.intake.gone(self.settings.wire, &reason);
            let Some((again, empty_us)) = self.reopen(&listening).await else { return };
            stream = again;
            listening.intake.back(self.settings.wire, empty_us);
        }
    }

    fn open(&self) -> Result<SerialStream, SourceError> {
        let PortSettings { path, rate, .. } = &self.settings;
        let builder = tokio_serial::new(path, *rate).preserve_dtr_on_open();
        SerialStream::open(&builder).map_err(|error| explain(path, *rate, &error))
    }

    /// Tries until the port is back, or `None` when asked to stop.
    async fn reopen(&self, listening: &Listening<'_>) -> Option<(SerialStream, i64)> {
        let mut pause = RETRY.0;
        loop {
            listening.wait_absent(pause).await?;
            if let Ok(stream) = self.open() {
                let empty_us = listening.start_clean(&stream);
                return Some((stream, empty_us));
            }
            pause = (pause * 2).min(RETRY.1);
        }
    }
}

/// Listening to one open port.
struct Listening<'a> {
    wire: Wire,
    intake: Arc<Intake>,
    stop: &'a AtomicBool,
    /// The longest a byte can wait between wire and program.
    latency_us: i64,
}

impl Listening<'_> {
    fn now_us(&self) -> i64 {
        self.intake.clock().now_us()
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Drops what waited in the port; gives back an instant before which nothing counts.
    fn start_clean(&self, stream: &SerialStream) -> i64 {
        let empty_us = self.now_us();
        drop(stream.clear(ClearBuffer::Input));
        empty_us
    }

    /// Reads until the port goes away (the reason) or the program stops (`None`). What stood on the wire before the stop
    /// can still lie in the adapter, so it looks for one latency longer.
    async fn listen(&self, stream: &mut SerialStream) -> Option<String> {
        let mut block = [0; BLOCK];
        let mut until_us = None;
        loop {
            let looked_us = self.now_us();
            let last = self.stopped() && looked_us >= *until_us.get_or_insert(looked_us + self.latency_us);
            match stream.try_read(&mut block) {
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => self.intake.empty(self.wire, looked_us),
                read => {
                    if let Some(reason) = self.hand_over(&block, read) {
                        return Some(reason);
                    }
                    if !last {
                        continue;
                    }
                }
            }
            if last {
                return None;
            }
            if let Ok(read) = timeout(LOOK, Pin::new(&mut *stream).read(&mut block)).await
                && let Some(reason) = self.hand_over(&block, read)
            {
                return Some(reason);
            }
        }
    }

    /// Hands over what a read gave; a reason when the port went away. A hung-up port gives 0 bytes for ever, or EIO.
    fn hand_over(&self, block: &[u8], read: io::Result<usize>) -> Option<String> {
        match read {
            Ok(0) => Some("the port hung up".to_owned()),
            Ok(count) => {
                self.intake.read(self.wire, block.get(..count).unwrap_or_default().into());
                None
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => None,
            Err(error) => Some(error.to_string()),
        }
    }

    /// Waits while the port is away. Time goes on: nothing can be waiting in a port that is not there.
    async fn wait_absent(&self, pause: Duration) -> Option<()> {
        let mut left = pause;
        while !left.is_zero() {
            if self.stopped() {
                return None;
            }
            let step = left.min(RETRY.0);
            sleep(step).await;
            left -= step;
            self.intake.empty(self.wire, self.now_us());
        }
        Some(())
    }
}

#[cfg(all(test, unix))]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::clock::Clock;
    use super::super::intake::ENGINE_BYTES;
    use super::super::pseudo_port::PseudoPort;
    use super::*;
    use crate::session::Heard;
    use crate::session::queue::Taken;

    #[test]
    fn what_had_arrived_before_the_stop_is_taken() {
        let port = PseudoPort::open(None).unwrap();
        let intake = Arc::new(Intake::new(Clock::start(), &[Wire::ToDrive], None, ENGINE_BYTES));
        let stop = AtomicBool::new(true);
        let listening = Listening { wire: Wire::ToDrive, intake: Arc::clone(&intake), stop: &stop, latency_us: 1_000 };
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build().unwrap();
        runtime.block_on(async {
            let path = port.path().to_str().unwrap();
            let mut stream = SerialStream::open(&tokio_serial::new(path, 115_200)).unwrap();
            assert!(port.brings(b"way,rest\n"));
            while stream.bytes_to_read().unwrap() < 9 {
                std::thread::yield_now();
            }
            assert_eq!(listening.listen(&mut stream).await, None);
        });
        intake.close();
        let queue = intake.engine_queue();
        let mut heard = Vec::new();
        while let Taken::Heard(one) = queue.take(Duration::ZERO) {
            if let Heard::Read { bytes, .. } = one {
                heard.extend_from_slice(&bytes);
            }
        }
        assert_eq!(heard, b"way,rest\n");
    }
}
