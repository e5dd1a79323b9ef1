//! The real program in a real pseudo-terminal: first screen, cost when idle, cost at a saturated link.
//!
//! `cargo bench --bench program` prints a line for each figure. It needs a quiet machine and Linux (`/proc`).

use std::collections::BTreeMap;
use std::io::Read;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use wheeltap::source::pseudo_port::PseudoPort;

/// Kernel ticks a second, as `/proc` counts processor time (`USER_HZ`, 100 on Linux).
const TICKS: f64 = 100.0;

/// Size of the terminal.
const ROWS: std::num::NonZero<u16> = std::num::NonZero::new(40).unwrap();
/// Size of the terminal.
const COLUMNS: std::num::NonZero<u16> = std::num::NonZero::new(120).unwrap();

struct Program {
    child: Box<dyn portable_pty::Child + Send + Sync>,
    screen: Arc<Mutex<vt100::Parser>>,
    _master: Box<dyn portable_pty::MasterPty + Send>,
}

impl Program {
    fn start(arguments: &[&str]) -> Self {
        let size = PtySize { rows: ROWS.get(), cols: COLUMNS.get(), pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.args(arguments);
        command.env("TERM", "xterm-256color");
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let screen = Arc::new(Mutex::new(vt100::Parser::new(ROWS, COLUMNS, 0)));
        let fed = Arc::clone(&screen);
        thread::spawn(move || {
            let mut block = [0; 8192];
            while let Ok(count @ 1..) = reader.read(&mut block) {
                fed.lock().expect("the screen").process(&block[..count]);
            }
        });
        Self { child, screen, _master: pair.master }
    }

    fn wait_for(&self, text: &str) -> Duration {
        let began = Instant::now();
        while !self.screen.lock().expect("the screen").screen().contents().contains(text) {
            assert!(began.elapsed() < Duration::from_secs(20), "`{text}` never came");
            thread::sleep(Duration::from_micros(500));
        }
        began.elapsed()
    }

    /// Processor seconds of each thread so far, by name.
    fn threads(&self) -> BTreeMap<String, f64> {
        let mut all = BTreeMap::new();
        let pid = self.child.process_id().unwrap_or(0);
        let tasks = std::fs::read_dir(format!("/proc/{pid}/task")).into_iter().flatten().flatten();
        for task in tasks {
            let Ok(stat) = std::fs::read_to_string(task.path().join("stat")) else { continue };
            let Some((name, rest)) = stat.split_once('(').and_then(|(_, rest)| rest.rsplit_once(')')) else { continue };
            let fields: Vec<f64> =
                rest.split_whitespace().skip(11).take(2).filter_map(|one| one.parse().ok()).collect();
            *all.entry(name.to_owned()).or_insert(0.0) += fields.iter().sum::<f64>() / TICKS;
        }
        all
    }

    /// Share of a core of each thread over this time, per cent.
    fn shares(&self, over: Duration) -> BTreeMap<String, f64> {
        let before = self.threads();
        thread::sleep(over);
        let after = self.threads();
        let share = |(name, time): (&String, &f64)| {
            let spent = time - before.get(name).copied().unwrap_or(0.0);
            (name.clone(), spent * 100.0 / over.as_secs_f64())
        };
        after.iter().map(share).collect()
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

fn say(what: &str, shares: &BTreeMap<String, f64>) {
    let total: f64 = shares.values().sum();
    let each: Vec<String> = shares.iter().map(|(name, share)| format!("{name} {share:.2} %")).collect();
    println!("{what}: {total:.2} % of a core ({})", each.join(", "));
}

fn first_screen() {
    let mut times: Vec<Duration> = (0..9)
        .map(|_| {
            let began = Instant::now();
            let program = Program::start(&["demo"]);
            program.wait_for("nose");
            began.elapsed()
        })
        .collect();
    times.sort();
    println!("first screen of `demo`: median {:?}, longest of nine {:?}", times[4], times[8]);
}

fn idle() {
    let port = PseudoPort::open(None).expect("a port");
    let path = port.path().display().to_string();
    let program = Program::start(&["listen", &path, "--no-session", "--rover", "plain-line"]);
    program.wait_for("nose");
    thread::sleep(Duration::from_secs(1));
    say("idle `listen`, one silent port, 30 s", &program.shares(Duration::from_secs(30)));
}

fn saturated() {
    let port = PseudoPort::open(None).expect("a port");
    let path = port.path().display().to_string();
    let program = Program::start(&["listen", &path, "--no-session", "--rover", "cue-line", "--rate", "921600"]);
    program.wait_for("nose");
    let stop = Arc::new(std::sync::atomic::AtomicBool::new(false));
    let asked = Arc::clone(&stop);
    let writer = thread::spawn(move || {
        let line = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
        let (began, mut sent) = (Instant::now(), 0_u64);
        while !asked.load(std::sync::atomic::Ordering::Relaxed) {
            let due = (began.elapsed().as_secs_f64() * 92_160.0) as u64;
            while sent < due {
                drop(port.write(line));
                sent += line.len() as u64;
            }
            thread::sleep(Duration::from_millis(1));
        }
        sent
    });
    thread::sleep(Duration::from_secs(1));
    say("saturated 921600 baud, drawing, 15 s", &program.shares(Duration::from_secs(15)));
    stop.store(true, std::sync::atomic::Ordering::Relaxed);
    let sent = writer.join().unwrap_or(0);
    let shown = program.screen.lock().expect("the screen").screen().contents();
    let row = shown.lines().find(|line| line.starts_with('>')).unwrap_or_default().to_owned();
    println!("    {sent} bytes were sent; the screen says: {row}");
}

fn main() {
    first_screen();
    idle();
    saturated();
}
