//! From a simulated port through reader, hand-over and recorder to a session that replays as it was heard.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;

use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use heard::{Got, all, byte_at, bytes_at};
use wheeltap::session::recorder_thread::QUEUE_BYTES;
use wheeltap::session::{Header, Recorder, RecorderThread, SessionSource};
use wheeltap::simulation::Burst;
use wheeltap::source::intake::ENGINE_BYTES;
use wheeltap::source::pseudo_port::{PseudoPort, write_at};
use wheeltap::source::serial::{PortSettings, SerialReader};
use wheeltap::source::{Clock, Intake, LiveSource, Source};
use wheeltap::timing::link::LinkFacts;
use wheeltap_parsers::Wire;

const LIMIT: Duration = Duration::from_secs(20);

fn settings(path: &Path, wire: Wire) -> PortSettings {
    PortSettings { path: path.to_str().unwrap().to_owned(), rate: 115_200, wire }
}

/// A consumer of the live source on a thread of its own.
struct Listener {
    chunk_bytes: Arc<AtomicU64>,
    others: Arc<AtomicU64>,
    thread: JoinHandle<Vec<Got>>,
}

impl Listener {
    fn start(mut live: LiveSource) -> Self {
        let (chunk_bytes, others) = (Arc::new(AtomicU64::new(0)), Arc::new(AtomicU64::new(0)));
        let (bytes, rest) = (Arc::clone(&chunk_bytes), Arc::clone(&others));
        let thread = std::thread::spawn(move || {
            let mut got = Vec::new();
            while let Some(input) = live.next().unwrap() {
                let one = Got::of(&input);
                match &one {
                    Got::Chunk { bytes: chunk, .. } => drop(bytes.fetch_add(chunk.len() as u64, Ordering::SeqCst)),
                    Got::Tick(_) => {}
                    _ => drop(rest.fetch_add(1, Ordering::SeqCst)),
                }
                got.push(one);
            }
            got
        });
        Self { chunk_bytes, others, thread }
    }
}

fn wait_for(what: &str, mut done: impl FnMut() -> bool) {
    let deadline = Instant::now() + LIMIT;
    while !done() {
        assert!(Instant::now() < deadline, "{what} did not happen in {LIMIT:?}");
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn burst(wire: Wire, begins: i64, offset: u64, length: usize) -> Burst {
    // 115200 baud, ten bits a byte.
    let ends = begins + length as i64 * 86_806;
    Burst { wire, begins, ends, bytes: bytes_at(wire, offset, length) }
}

/// 45 bytes every 20 ms one way, 11 bytes every 30 ms back.
fn bursts(milliseconds: i64) -> Vec<Burst> {
    let there = (0..milliseconds / 20).map(|n| burst(Wire::ToDrive, n * 20_000_000, n as u64 * 45, 45));
    let back = (0..milliseconds / 30).map(|n| burst(Wire::FromDrive, n * 30_000_000 + 7, n as u64 * 11, 11));
    let mut all: Vec<Burst> = there.chain(back).collect();
    all.sort_by_key(|burst| burst.begins);
    all
}

fn without_ticks(got: Vec<Got>) -> Vec<Got> {
    got.into_iter().filter(|got| !matches!(got, Got::Tick(_))).collect()
}

#[test]
fn a_session_replays_what_the_engine_heard_live() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.session");
    let ports = Wire::BOTH.map(|_| PseudoPort::open(None).unwrap());
    let wires = Wire::BOTH.map(|wire| settings(ports[wire.index()].path(), wire));
    let mut readers = wires.clone().map(|settings| SerialReader::open(settings).unwrap());
    let link = LinkFacts { wires: wires.map(|settings| Some(settings.facts())), ..LinkFacts::default() };
    let recorder = Recorder::create(&path, &Header::new(link.clone(), None)).unwrap();
    let running = RecorderThread::start(recorder, QUEUE_BYTES).unwrap();
    let intake = Arc::new(Intake::new(Clock::start(), &Wire::BOTH, Some(running.queue()), ENGINE_BYTES));
    let listener = Listener::start(LiveSource::new(&intake, link));
    for reader in &mut readers {
        reader.begin(Arc::clone(&intake));
    }
    // Both readers have looked once: what is written from now on is heard.
    let bursts = bursts(1_200);
    let sent: u64 = bursts.iter().map(|burst| burst.bytes.len() as u64).sum();
    wait_for("the first look of both readers", || intake.looked(Wire::ToDrive) && intake.looked(Wire::FromDrive));
    let stop = AtomicBool::new(false);
    write_at([Some(&ports[0]), Some(&ports[1])], bursts.into_iter(), Instant::now(), &stop).unwrap();
    intake.note("the left rear wheel squeaks");
    wait_for("the last byte", || listener.chunk_bytes.load(Ordering::SeqCst) == sent);
    drop(readers);
    intake.close();
    let live = without_ticks(listener.thread.join().unwrap());
    let status = running.finish();
    assert_eq!((status.trouble(), status.lost(), status.bytes()), (None, 0, sent));

    let mut session = SessionSource::open(&path).unwrap();
    let replayed = without_ticks(all(&mut session));
    assert_eq!(session.torn(), []);
    assert_eq!(replayed, live);
    let mut due = [0; 2];
    for got in live.iter().filter(|got| got.is_chunk()) {
        let Got::Chunk { wire, offset, bytes, lo, hi, .. } = got else { continue };
        assert_eq!(*offset, due[wire.index()]);
        assert!(bytes.iter().zip(*offset..).all(|(byte, offset)| *byte == byte_at(*wire, offset)));
        assert!(lo < hi);
        due[wire.index()] += bytes.len() as u64;
    }
    assert_eq!(due[0] + due[1], sent);
}

#[test]
fn a_byte_lies_in_the_interval_its_chunk_states() {
    let port = PseudoPort::open(None).unwrap();
    let settings = settings(port.path(), Wire::ToDrive);
    let link = LinkFacts { wires: [Some(settings.facts()), None], ..LinkFacts::default() };
    let mut reader = SerialReader::open(settings).unwrap();
    let clock = Clock::start();
    let intake = Arc::new(Intake::new(clock, &[Wire::ToDrive], None, ENGINE_BYTES));
    let mut live = LiveSource::new(&intake, link);
    reader.begin(Arc::clone(&intake));
    wait_for("the first look", || intake.looked(Wire::ToDrive));
    let mut last_tick = i64::MIN;
    for n in 0..100u8 {
        let before = clock.now_us() * 1_000;
        port.write(&[n]).unwrap();
        let after = (clock.now_us() + 1) * 1_000;
        loop {
            match Got::of(&live.next().unwrap().unwrap()) {
                Got::Chunk { bytes, lo, hi, .. } => {
                    assert_eq!(bytes, [n]);
                    // The pseudo-terminal hands a byte over between the two stamps around the write.
                    assert!(lo <= after, "byte {n}: not before {lo}, but it was written by {after}");
                    assert!(hi >= before, "byte {n}: by {hi}, but it was written after {before}");
                    assert!(last_tick <= after, "a tick vouched for {last_tick}; the byte came by {after}");
                    break;
                }
                Got::Tick(tick) => last_tick = tick,
                other => panic!("{other:?}"),
            }
        }
    }
}

#[test]
fn what_waited_before_the_beginning_is_dropped_for_nobody_knows_its_time() {
    let port = PseudoPort::open(None).unwrap();
    let far = std::fs::File::open(port.path()).unwrap();
    port.write(b"old").unwrap();
    wait_for("the old bytes' arrival", || rustix::io::ioctl_fionread(&far).unwrap() == 3);
    drop(far);
    let settings = settings(port.path(), Wire::ToDrive);
    let link = LinkFacts { wires: [Some(settings.facts()), None], ..LinkFacts::default() };
    let mut reader = SerialReader::open(settings).unwrap();
    let intake = Arc::new(Intake::new(Clock::start(), &[Wire::ToDrive], None, ENGINE_BYTES));
    let listener = Listener::start(LiveSource::new(&intake, link));
    reader.begin(Arc::clone(&intake));
    wait_for("the first look", || intake.looked(Wire::ToDrive));
    port.write(b"new!").unwrap();
    wait_for("the new bytes", || listener.chunk_bytes.load(Ordering::SeqCst) >= 4);
    drop(reader);
    intake.close();
    let got = without_ticks(listener.thread.join().unwrap());
    let bytes: Vec<u8> =
        got.iter().flat_map(|got| if let Got::Chunk { bytes, .. } = got { bytes.clone() } else { vec![] }).collect();
    assert_eq!(String::from_utf8_lossy(&bytes), "new!");
}

#[test]
fn a_port_that_goes_away_is_told_and_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().join("left-socket");
    let port = PseudoPort::open(Some(&name)).unwrap();
    let settings = settings(&name, Wire::ToDrive);
    assert_eq!(settings.facts().latency, 1_000_000, "a name for a pseudo-terminal is seen through");
    let link = LinkFacts { wires: [Some(settings.facts()), None], ..LinkFacts::default() };
    let mut reader = SerialReader::open(settings).unwrap();
    let intake = Arc::new(Intake::new(Clock::start(), &[Wire::ToDrive], None, ENGINE_BYTES));
    let listener = Listener::start(LiveSource::new(&intake, link));
    reader.begin(Arc::clone(&intake));
    wait_for("the first look", || intake.looked(Wire::ToDrive));
    port.write(b"before").unwrap();
    wait_for("the bytes before", || listener.chunk_bytes.load(Ordering::SeqCst) == 6);
    drop(port);
    wait_for("the report that it is gone", || listener.others.load(Ordering::SeqCst) == 1);
    let port = PseudoPort::open(Some(&name)).unwrap();
    wait_for("the report that it is back", || listener.others.load(Ordering::SeqCst) == 2);
    port.write(b"after").unwrap();
    wait_for("the bytes after", || listener.chunk_bytes.load(Ordering::SeqCst) == 11);
    drop(reader);
    intake.close();
    let got = without_ticks(listener.thread.join().unwrap());
    let words: Vec<String> = got.iter().map(|got| format!("{got:?}")).collect();
    let place = |word: &str| words.iter().position(|text| text.contains(word)).unwrap();
    assert!(place("PortGone") < place("PortBack"), "{words:?}");
    let first_after = got.iter().filter(|got| got.is_chunk()).find_map(|got| match got {
        Got::Chunk { offset, .. } if *offset >= 6 => Some(*offset),
        _ => None,
    });
    assert_eq!(first_after, Some(6), "offsets go on where they were");
}

#[test]
fn a_port_in_use_is_not_shared() {
    let port = PseudoPort::open(None).unwrap();
    let _first = SerialReader::open(settings(port.path(), Wire::ToDrive)).unwrap();
    let second = SerialReader::open(settings(port.path(), Wire::FromDrive)).unwrap_err().to_string();
    assert!(second.contains("another program has this port open"), "{second}");
}

#[test]
fn what_is_no_port_is_refused_in_words() {
    let file = tempfile::NamedTempFile::new().unwrap();
    for (path, words) in [
        (Path::new("/dev/no-such-port"), "there is no such port"),
        (file.path(), "a file, not a port"),
        (Path::new("/"), "a folder, not a port"),
        (Path::new("/dev/null"), "cannot be opened as a serial port"),
    ] {
        let message = SerialReader::open(settings(path, Wire::ToDrive)).unwrap_err().to_string();
        assert!(message.contains(words) && message.starts_with(path.to_str().unwrap()), "{message}");
    }
    let odd = PortSettings { path: "/dev/null".to_owned(), rate: 0, wire: Wire::ToDrive };
    assert!(SerialReader::open(odd).unwrap_err().to_string().contains("0 baud"));
}

/// Reads the listener's end until `done`, never waiting inside a read, so that a fault cannot hang the test.
fn read_far(port: &PseudoPort, done: impl Fn(&[u8]) -> bool) -> Vec<u8> {
    let flags = rustix::fs::OFlags::NONBLOCK.bits() as i32;
    let mut far = std::fs::OpenOptions::new().read(true).custom_flags(flags).open(port.path()).unwrap();
    let mut got = Vec::new();
    let mut block = [0; 4096];
    wait_for("the last of the bytes", || {
        if let Ok(count) = std::io::Read::read(&mut far, &mut block) {
            got.extend_from_slice(&block[..count]);
        }
        done(&got)
    });
    got
}

#[test]
fn a_simulated_port_nobody_listens_to_never_blocks_and_keeps_the_newest_bytes() {
    let port = PseudoPort::open(None).unwrap();
    let block = [b'o'; 1_000];
    for _ in 0..1_000 {
        port.write(&block).unwrap();
    }
    port.write(b"newest").unwrap();
    let got = read_far(&port, |got| got.ends_with(b"newest"));
    assert!(got.len() < 200_000, "a real wire would not have kept {} bytes", got.len());
}

#[test]
fn nothing_is_changed_on_the_way_through_a_simulated_port() {
    let port = PseudoPort::open(None).unwrap();
    let every: Vec<u8> = (0..=255).collect();
    port.write(&every).unwrap();
    let got = read_far(&port, |got| got.len() >= 256);
    assert_eq!(got, every);
}
