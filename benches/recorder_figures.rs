//! Figures, not promises: run with `cargo test --bench recorder_figures -- --nocapture --test-threads 1`.
#![cfg(target_os = "linux")]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "../tests/sessions/heard.rs"]
mod heard;

use std::fs::OpenOptions;
use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

use heard::{facts, header};
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};
use wheeltap::console::status::Status;
use wheeltap::console::{Console, Theme};
use wheeltap::engine::Engine;
use wheeltap::run::publish::{Publisher, Ui, View};
use wheeltap::session::disk::{Disk, FileDisk};
use wheeltap::session::recorder_thread::QUEUE_BYTES;
use wheeltap::session::{Header, Heard, Recorder, RecorderThread};
use wheeltap::simulation::Burst;
use wheeltap::source::intake::ENGINE_BYTES;
use wheeltap::source::pseudo_port::{PseudoPort, write_at};
use wheeltap::source::serial::{LOOK, PortSettings, SerialReader};
use wheeltap::source::{Clock, Intake, LiveSource, Source};
use wheeltap::timing::link::LinkFacts;
use wheeltap_parsers::{Input, Wire};

/// A real file whose writes and syncs stand still for 2 s out of every 4.
struct Sluggish {
    file: FileDisk,
    begun: Instant,
}

impl Sluggish {
    fn stand_still(&self) {
        let into = self.begun.elapsed().as_millis() % 4_000;
        if into < 2_000 {
            std::thread::sleep(Duration::from_millis(2_000 - into as u64));
        }
    }
}

impl Disk for Sluggish {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        self.stand_still();
        self.file.write(bytes)
    }

    fn sync(&self) -> io::Result<()> {
        self.stand_still();
        self.file.sync()
    }
}

/// Nanoseconds of processor time that threads of this name have used (proc(5), /proc/[pid]/schedstat).
fn processor_ns(name: &str) -> u64 {
    let tasks = std::fs::read_dir("/proc/self/task").unwrap().map(|task| task.unwrap().path());
    let named = tasks.filter(|task| std::fs::read_to_string(task.join("comm")).is_ok_and(|comm| comm.trim() == name));
    let used = |task: &Path| -> u64 {
        let text = std::fs::read_to_string(task.join("schedstat")).unwrap();
        text.split(' ').next().unwrap().parse().unwrap()
    };
    named.map(|task| used(&task)).sum()
}

/// 45 bytes every 20 ms.
fn cues(seconds: i64) -> impl Iterator<Item = Burst> {
    (0..seconds * 50).map(|n| {
        let begins = n * 20_000_000;
        Burst { wire: Wire::ToDrive, begins, ends: begins + 45 * 86_806, bytes: vec![b'c'; 45] }
    })
}

struct Bench {
    port: PseudoPort,
    reader: SerialReader,
    intake: Arc<Intake>,
    engine: std::thread::JoinHandle<u64>,
}

/// The console on a terminal that nobody reads: it draws until the terminal takes no more, and then stands still.
struct StuckTerminal {
    terminal: PseudoPort,
    publisher: Publisher,
    drawn: Arc<AtomicU64>,
    console: std::thread::JoinHandle<()>,
}

impl StuckTerminal {
    fn start() -> Self {
        let terminal = PseudoPort::open(None).unwrap();
        let screen = OpenOptions::new().write(true).open(terminal.path()).unwrap();
        let (ui, views) = channel();
        let publisher = Publisher::new(ui);
        let drawn = Arc::new(AtomicU64::new(0));
        let (newest, count) = (publisher.clone(), Arc::clone(&drawn));
        let console = std::thread::spawn(move || {
            let mut console = Console::new(Theme::from_env(false, false));
            let viewport = Viewport::Fixed(Rect::new(0, 0, 120, 40));
            let mut terminal =
                Terminal::with_options(CrosstermBackend::new(screen), TerminalOptions { viewport }).unwrap();
            while let Ok(Ui::Fresh) = views.recv() {
                let view = newest.newest().unwrap();
                let cleared = terminal.clear();
                let one = terminal.draw(|frame| console.draw(frame, &view.snapshot, &view.status));
                if cleared.is_err() || one.is_err() {
                    return;
                }
                count.fetch_add(1, Ordering::Relaxed);
            }
        });
        Self { terminal, publisher, drawn, console }
    }

    /// How many screens went out before it stuck.
    fn end(self) -> u64 {
        let drawn = self.drawn.load(Ordering::Relaxed);
        drop((self.terminal, self.publisher));
        // Its last write failed when the terminal went.
        self.console.join().unwrap();
        drawn
    }
}

/// A thread that does nothing but sleep as long as a look lasts: the longest it was kept from going on is the
/// scheduler's doing, not ours.
struct Sleeper {
    stop: Arc<AtomicBool>,
    thread: std::thread::JoinHandle<Duration>,
}

impl Sleeper {
    fn start() -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let asked = Arc::clone(&stop);
        let thread = std::thread::spawn(move || {
            let (mut last, mut longest) = (Instant::now(), Duration::ZERO);
            while !asked.load(Ordering::Relaxed) {
                std::thread::sleep(LOOK);
                longest = longest.max(last.elapsed());
                last = Instant::now();
            }
            longest
        });
        Self { stop, thread }
    }

    fn longest(self) -> Duration {
        self.stop.store(true, Ordering::Relaxed);
        self.thread.join().unwrap()
    }
}

fn bench(recorder: Option<&RecorderThread>, screen: Option<Publisher>) -> Bench {
    let port = PseudoPort::open(None).unwrap();
    let settings = PortSettings { path: port.path().display().to_string(), rate: 115_200, wire: Wire::ToDrive };
    let link = LinkFacts { wires: [Some(settings.facts()), None], ..LinkFacts::default() };
    let mut reader = SerialReader::open(settings).unwrap();
    let queue = recorder.map(RecorderThread::queue);
    let intake = Arc::new(Intake::new(Clock::start(), &[Wire::ToDrive], queue, ENGINE_BYTES));
    let mut live = LiveSource::new(&intake, link.clone());
    let engine = std::thread::spawn(move || {
        let (mut bytes, mut viewed) = (0, Instant::now());
        let mut engine = Engine::new(link, None);
        while let Some(input) = live.next().unwrap() {
            if let Input::Chunk(chunk) = &input {
                bytes += chunk.bytes.len() as u64;
            }
            engine.push(input);
            if let Some(screen) = screen.as_ref().filter(|_| viewed.elapsed() >= Duration::from_millis(33)) {
                viewed = Instant::now();
                screen.publish(View { snapshot: engine.snapshot(engine.now()), status: Status::default() });
            }
        }
        bytes
    });
    reader.begin(Arc::clone(&intake));
    Bench { port, reader, intake, engine }
}

#[test]
fn absence_of_the_reader_while_disk_and_terminal_stand_still() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sluggish.session");
    let file = FileDisk::create(&path).unwrap();
    // The head is written before the first stand-still.
    let begun = Instant::now().checked_sub(Duration::from_secs(2)).unwrap();
    let recorder = Recorder::on(Arc::new(Sluggish { file, begun }), &path, &header()).unwrap();
    let running = RecorderThread::start(recorder, QUEUE_BYTES).unwrap();
    let stuck = StuckTerminal::start();
    let bench = bench(Some(&running), Some(stuck.publisher.clone()));
    let sleeper = Sleeper::start();
    let before = processor_ns("reader >");
    write_at([Some(&bench.port), None], cues(60), Instant::now(), &AtomicBool::new(false)).unwrap();
    let used = processor_ns("reader >") - before;
    let longest = bench.intake.longest_absence_us(Wire::ToDrive);
    let slept = sleeper.longest().as_micros();
    drop(bench.reader);
    bench.intake.close();
    let heard = bench.engine.join().unwrap();
    let status = running.finish();
    let drawn = stuck.end();
    println!("60 s of 50 lines a second, disk standing still 2 s of every 4, terminal stuck after {drawn} screens:");
    println!(
        "longest absence of the reader {longest} us; of a thread that only sleeps {} us: {slept} us",
        LOOK.as_micros()
    );
    assert!(drawn < 200, "the terminal was read by somebody");
    println!(
        "reader thread {:.2} % of a core; {heard} bytes heard, {} kept, {} lost",
        percent(used, 60),
        status.bytes(),
        status.lost()
    );
    assert_eq!((status.bytes(), status.lost()), (heard, 0));
}

#[test]
fn what_an_idle_reader_costs() {
    let bench = bench(None, None);
    let used = |name: &str| processor_ns(name);
    let before = used("reader >");
    std::thread::sleep(Duration::from_secs(10));
    let spent = used("reader >") - before;
    println!("idle reader thread: {:.2} % of a core", percent(spent, 10));
    println!("longest absence {} us", bench.intake.longest_absence_us(Wire::ToDrive));
    drop(bench.reader);
    bench.intake.close();
    bench.engine.join().unwrap();
}

fn percent(nanoseconds: u64, seconds: u64) -> f64 {
    nanoseconds as f64 / (seconds as f64 * 1e9) * 100.0
}

/// Counts what is written.
struct Scales(AtomicU64);

impl Disk for Scales {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        self.0.fetch_add(bytes.len() as u64, Ordering::Relaxed);
        Ok(bytes.len())
    }

    fn sync(&self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn bytes_on_disk_for_each_byte_of_the_wire() {
    let cue = b"c123 p45 drv f+062 s-023 t+000 g2 d30 #1A2B.\n";
    let stave = [0xF1, 0x2A, 0xA2, 0x4D, 0x4D, 0xA2, 0x3C, 0x02, 0x04, 0x00, 0xFE];
    for (name, frame, hertz) in [("45-byte cue line", &cue[..], 20), ("11-byte stave", &stave[..], 20)] {
        let scales = Arc::new(Scales(AtomicU64::new(0)));
        let head =
            Header::new(LinkFacts { wires: [Some(facts("/dev/ttyUSB0", 17)), None], ..LinkFacts::default() }, None);
        let mut recorder = Recorder::on(Arc::<Scales>::clone(&scales), Path::new("x"), &head).unwrap();
        let before = scales.0.load(Ordering::Relaxed);
        let (mut offset, seconds) = (0, 600);
        for n in 0..seconds * hertz {
            let t_us = n * 1_000_000 / hertz;
            recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 4_100, offset, bytes: frame.into() });
            offset += frame.len() as u64;
            if n % hertz == 0 {
                recorder.keep(&Heard::Tick { t_us });
            }
        }
        let written = scales.0.load(Ordering::Relaxed) - before;
        println!(
            "{name}, one frame a read: {:.2} bytes on disk for each byte of the wire",
            written as f64 / offset as f64
        );
    }
}
