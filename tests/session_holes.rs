//! Where bytes were lost nothing is claimed of the silence: by a full disk, by a queue that was full, by a file damaged since.
//!
//! The session is that of a sound rover that obeys in time, so whatever is found beyond the loss itself is false.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use wheeltap::engine::Engine;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::session::disk::{Disk, FileDisk};
use wheeltap::session::queue::{Queue, Taken};
use wheeltap::session::{Header, Heard, Recorder, SessionSource};
use wheeltap::simulation::{Settings, Style};
use wheeltap::source::Source;
use wheeltap::source::simulated::{Adapter, SimulatedSource};
use wheeltap_parsers::{Input, Wire};

/// How many windows are tried in each way.
const WINDOWS: u64 = 24;
/// The links whose orders run out, and one whose do not.
const STYLES: [Style; 4] = [Style::CueLine, Style::Stave, Style::Bead, Style::PlainLine];

/// A rover for half a minute, as its recorder hears it.
struct Rover {
    header: Header,
    heard: Vec<Heard>,
    file: Arc<RoverFile>,
}

impl Rover {
    fn new(style: Style) -> Self {
        let built_in = built_in::find(style.name()).unwrap();
        let mut source =
            SimulatedSource::new(&Settings::demo(style, 3), Adapter::Timer { ms: 1 }).ends_at(30_000_000_000);
        let link = source.link().clone();
        let latency = |wire| link.wire(wire).unwrap().latency;
        let mut heard = Vec::new();
        let (mut newest, mut ticked) = (0, 0);
        while let Some(input) = source.next().unwrap() {
            heard.push(match input {
                Input::Chunk(chunk) => {
                    let (t_us, empty_us) = (chunk.hi / 1_000, (chunk.lo + latency(chunk.wire)) / 1_000);
                    let since_us = (t_us - empty_us).max(0);
                    Heard::Read { wire: chunk.wire, t_us, since_us, offset: chunk.offset, bytes: chunk.bytes.into() }
                }
                Input::Tick(at) => Heard::Tick { t_us: (at + link.latency()) / 1_000 },
                other => panic!("{other:?}"),
            });
            // As the intake does: a tick a second, and one older than the newest read is for a later look.
            match heard.last() {
                Some(Heard::Tick { t_us }) if *t_us < newest || *t_us < ticked + 1_000_000 => drop(heard.pop()),
                Some(Heard::Tick { t_us }) => ticked = *t_us,
                _ => {}
            }
            newest = newest.max(heard.last().map_or(0, Heard::t_us));
        }
        let file = Arc::new(RoverFile::load(built_in.name, built_in.text).unwrap());
        Self { header: Header::new(link, Some((built_in.name.to_owned(), built_in.text.to_owned()))), heard, file }
    }

    /// What is found in a session file, and where to look first.
    fn found(&self, path: &Path) -> (Vec<&'static str>, Vec<String>) {
        let mut source = SessionSource::open(path).unwrap();
        let mut engine = Engine::new(source.link().clone(), Some(self.file.clone()));
        while let Some(input) = source.next().unwrap() {
            engine.push(input);
        }
        engine.finish();
        let ids = engine.findings().iter().map(|finding| finding.id).collect();
        (ids, engine.snapshot(engine.now()).verdict.layers.iter().map(|part| format!("{:?}", part.layer)).collect())
    }

    /// Nothing is found in `path` but the loss, the frames that it cut, and what stands in the whole session too.
    #[track_caller]
    fn only_lost(&self, sound: &[&str], path: &Path, loss: &str, what: &str) {
        let (ids, layers) = self.found(path);
        let cut = ["truncated", "bad-check", "glued", "unknown-word", "overlong", "not-a-number", "noise"];
        let more: Vec<&str> =
            ids.iter().copied().filter(|id| !sound.contains(id) && *id != loss && !cut.contains(id)).collect();
        assert!(more.is_empty(), "{what}: {more:?}");
        assert!(ids.contains(&loss), "{what}: the loss is not named: {ids:?}");
        assert!(layers.iter().all(|layer| layer == "Tap"), "{what}: {layers:?}");
    }
}

/// A row of numbers that looks random and is the same each time (xorshift, Marsaglia 2003).
struct Row(u64);

impl Row {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit
    }

    /// A window of 60 ms to 6 s in the middle of the session, microseconds.
    fn window(&mut self) -> std::ops::Range<i64> {
        let from = 8_000_000 + self.below(14_000_000) as i64;
        from..from + 60_000 * (1 + self.below(100) as i64)
    }
}

fn record(path: &Path, header: &Header, heard: &[Heard]) {
    let mut recorder = Recorder::create(path, header).unwrap();
    for one in heard {
        recorder.keep(one);
    }
    recorder.close();
}

/// The time that a line of a session states.
fn time_of(line: &str) -> Option<i64> {
    let mut words = line.split(' ');
    matches!(words.next()?, ">" | "<" | "tick").then(|| words.next()?.parse().ok())?
}

#[test]
fn lines_damaged_or_gone_are_no_silence() {
    for style in STYLES {
        let rover = Rover::new(style);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("whole.wheeltap");
        record(&path, &rover.header, &rover.heard);
        let whole = std::fs::read_to_string(&path).unwrap();
        let (sound, layers) = rover.found(&path);
        assert!(layers.is_empty(), "{style:?} is not sound: {layers:?}");
        let mut row = Row(7);
        for number in 0..WINDOWS {
            let window = row.window();
            for way in ["lines gone", "reads gone", "lines damaged", "reads damaged"] {
                let hit = |line: &&str| {
                    let inside = time_of(line).is_some_and(|t_us| window.contains(&t_us));
                    inside && (way.starts_with("lines") || !line.starts_with("tick"))
                };
                let lines = whole.split_inclusive('\n');
                let hurt: String = if way.ends_with("gone") {
                    lines.filter(|line| !hit(line)).collect()
                } else {
                    lines.map(|line| if hit(&line) { format!("x{line}") } else { line.to_owned() }).collect()
                };
                let what = format!("{style:?}, window {number}, {window:?}, {way}");
                if hurt.bytes().filter(|byte| *byte == b'>').count()
                    == whole.bytes().filter(|byte| *byte == b'>').count()
                {
                    continue;
                }
                std::fs::write(&path, hurt).unwrap();
                rover.only_lost(&sound, &path, "bytes-missing", &what);
            }
        }
    }
}

/// A real file on a disk that is full now and then.
struct FullAtTimes {
    file: FileDisk,
    full: AtomicBool,
}

impl Disk for FullAtTimes {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        if self.full.load(Ordering::Relaxed) {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.file.write(bytes)
    }

    fn sync(&self) -> io::Result<()> {
        self.file.sync()
    }
}

/// Records each style with something lost in a window, as `record` does it, and holds what is found against the truth.
fn lost_in_windows(seed: u64, record_with_loss: &dyn Fn(&Rover, &Path, &std::ops::Range<i64>)) {
    for style in STYLES {
        let rover = Rover::new(style);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("whole.wheeltap");
        record(&path, &rover.header, &rover.heard);
        let (sound, _) = rover.found(&path);
        let mut row = Row(seed);
        for number in 0..WINDOWS {
            let window = row.window();
            let path = folder.path().join(format!("{number}.wheeltap"));
            record_with_loss(&rover, &path, &window);
            let what = format!("{style:?}, window {number}, {window:?}");
            if lost_in_place(&path, &rover.heard, &what) {
                rover.only_lost(&sound, &path, "bytes-not-kept", &what);
            }
        }
    }
}

#[test]
fn a_full_disk_is_no_silence() {
    lost_in_windows(11, &|rover, path, window| {
        let full = AtomicBool::new(false);
        let disk = Arc::new(FullAtTimes { file: FileDisk::create(path).unwrap(), full });
        let mut recorder = Recorder::on(disk.clone(), path, &rover.header).unwrap();
        for heard in &rover.heard {
            disk.full.store(window.contains(&heard.t_us()), Ordering::Relaxed);
            recorder.keep(heard);
        }
        recorder.close();
    });
}

#[test]
fn a_full_queue_is_no_silence() {
    lost_in_windows(13, &|rover, path, window| {
        let mut recorder = Recorder::create(path, &rover.header).unwrap();
        // Room for a few reads: in the window the disk takes none of them.
        let queue = Queue::new(2_000);
        let drain = |recorder: &mut Recorder| {
            while let Taken::Heard(heard) = queue.take(Duration::ZERO) {
                recorder.keep(&heard);
            }
        };
        for heard in &rover.heard {
            queue.push(heard.clone());
            if !window.contains(&heard.t_us()) {
                drain(&mut recorder);
            }
        }
        drain(&mut recorder);
        recorder.close();
    });
}

/// Whether anything was lost; then each loss is dated before any byte of it can have come, and no more than one read of
/// its wire before.
#[track_caller]
fn lost_in_place(path: &Path, heard: &[Heard], what: &str) -> bool {
    let text = std::fs::read_to_string(path).unwrap();
    let mut any = false;
    for line in text.lines().filter(|line| line.starts_with("lost ")) {
        let words: Vec<&str> = line.split(' ').collect();
        let (t_us, wire) =
            (words[1].parse::<i64>().unwrap(), if words[2] == ">" { Wire::ToDrive } else { Wire::FromDrive });
        let kept = |from: i64| text.contains(&format!("\n{} {from} ", words[2]));
        let reads = heard.iter().filter_map(|one| match one {
            Heard::Read { wire: of, t_us, .. } if *of == wire => Some(*t_us),
            _ => None,
        });
        let first = reads.clone().find(|read| !kept(*read)).unwrap();
        assert!(t_us <= first, "{what}: dated {t_us} us, the first was read at {first} us");
        any = true;
    }
    any
}
