//! The recorder loses nothing silently: not when the disk stalls, not when it is full, not when two want one file.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "sessions/heard.rs"]
mod heard;

use std::io::{self, BufRead, BufReader, Read};
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use heard::{Got, all, bytes_at, from_bytes, header, heard};
use wheeltap::session::disk::Disk;
use wheeltap::session::{Heard, Queue, Recorder, RecorderStatus, RecorderThread, SessionSource, append_note};
use wheeltap::source::{Clock, Intake};
use wheeltap_parsers::Wire;

/// A disk in memory that can be full or stand still.
#[derive(Default)]
struct TestDisk {
    state: Mutex<DiskState>,
    changed: Condvar,
}

#[derive(Default)]
struct DiskState {
    kept: Vec<u8>,
    room: Option<usize>,
    stands_still: bool,
    syncs: u32,
    writes: u64,
}

impl TestDisk {
    fn with_room(room: usize) -> Arc<Self> {
        let disk = Self::default();
        disk.state.lock().unwrap().room = Some(room);
        Arc::new(disk)
    }

    fn stand_still(&self, still: bool) {
        self.state.lock().unwrap().stands_still = still;
        self.changed.notify_all();
    }

    fn add_room(&self, more: usize) {
        let mut state = self.state.lock().unwrap();
        state.room = state.room.map(|room| room + more);
    }

    fn kept(&self) -> Vec<u8> {
        self.state.lock().unwrap().kept.clone()
    }
}

impl Disk for TestDisk {
    fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let state = self.state.lock().unwrap();
        let mut state = self.changed.wait_while(state, |state| state.stands_still).unwrap();
        let room = state.room.unwrap_or(usize::MAX);
        if room == 0 {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let count = bytes.len().min(room);
        state.room = state.room.map(|room| room - count);
        state.kept.extend_from_slice(&bytes[..count]);
        state.writes += 1;
        Ok(count)
    }

    fn sync(&self) -> io::Result<()> {
        self.state.lock().unwrap().syncs += 1;
        Ok(())
    }
}

fn recorder(disk: &Arc<TestDisk>) -> Recorder {
    let disk: Arc<dyn Disk> = Arc::<TestDisk>::clone(disk);
    Recorder::on(disk, Path::new("test.session"), &header()).unwrap()
}

/// Bytes kept and lost by wire, after checking every kept byte against what it must be.
fn account(session: &mut SessionSource) -> ([u64; 2], [u64; 2]) {
    let (mut kept, mut lost) = ([0; 2], [0; 2]);
    for got in all(session) {
        match got {
            Got::Chunk { wire, offset, bytes, .. } => {
                assert_eq!(bytes, bytes_at(wire, offset, bytes.len()), "bytes of {wire:?} at {offset}");
                assert_eq!(offset, kept[wire.index()] + lost[wire.index()], "place of {wire:?}");
                kept[wire.index()] += bytes.len() as u64;
            }
            Got::Lost(wire, count) => lost[wire.index()] += count,
            Got::Other(_) | Got::Tick(_) => {}
        }
    }
    (kept, lost)
}

fn sent(heard: &[Heard]) -> [u64; 2] {
    let mut sent = [0; 2];
    for (wire, count) in heard.iter().filter_map(Heard::received) {
        sent[wire.index()] += count;
    }
    sent
}

#[test]
fn one_write_a_record() {
    let disk = Arc::new(TestDisk::default());
    let mut recorder = recorder(&disk);
    let head = disk.state.lock().unwrap().writes;
    for one in heard(50) {
        recorder.keep(&one);
    }
    assert_eq!(disk.state.lock().unwrap().writes - head, 60);
    recorder.close();
    let kept = disk.kept();
    assert_eq!(kept.split(|&byte| byte == b'\n').count() as u64 - 1, head + 61);
}

#[test]
fn a_full_disk_costs_what_it_could_not_hold_and_every_byte_is_accounted_for() {
    let heard = heard(300);
    let head = {
        let disk = Arc::new(TestDisk::default());
        drop(recorder(&disk));
        disk.kept().len()
    };
    // Every size of the last write that fits, so that lines are torn at every place.
    for room in 2_000..2_200 {
        let disk = TestDisk::with_room(head + room);
        let mut recorder = recorder(&disk);
        let status = recorder.status();
        let mut troubles = Vec::new();
        for (n, one) in heard.iter().enumerate() {
            if n == 150 {
                recorder.keep(&Heard::Note { t_us: one.t_us(), text: "smoke".into() });
                assert!(status.trouble().is_some_and(|trouble| trouble.contains("test.session")));
                disk.add_room(1 << 20);
            }
            recorder.keep(one);
            troubles.push(status.trouble().is_some());
        }
        recorder.close();
        troubles.dedup();
        assert_eq!(troubles, [false, true, false], "the trouble begins once and ends once");
        let mut session = from_bytes(&disk.kept()).unwrap();
        let (kept, lost) = account(&mut session);
        let both = [kept[0] + lost[0], kept[1] + lost[1]];
        assert_eq!(both, sent(&heard), "room {room}");
        assert_eq!((status.bytes(), status.lost()), (kept[0] + kept[1], lost[0] + lost[1]));
        assert!(status.lost() > 0);
        assert!(session.torn().len() <= 1, "{:?}", session.torn());
        let text = String::from_utf8(disk.kept()).unwrap();
        assert_eq!(text.matches(" smoke ").count(), 1, "the note was kept for later");
    }
}

#[test]
fn a_disk_that_is_full_from_the_start_is_said_at_once() {
    let message = Recorder::on(TestDisk::with_room(40), Path::new("x.session"), &header()).err().unwrap().to_string();
    assert!(message.starts_with("x.session: cannot be written") && message.contains("Free some space"), "{message}");
}

/// A reader that pushes as fast as it can for `time`; gives back what it pushed and its longest absence.
fn hammer(intake: &Intake, time: Duration) -> (u64, Duration) {
    let begun = Instant::now();
    let (mut offset, mut before, mut longest) = (0, begun, Duration::ZERO);
    while begun.elapsed() < time {
        let bytes = bytes_at(Wire::ToDrive, offset, 11);
        intake.empty(Wire::ToDrive, intake.clock().now_us());
        intake.read(Wire::ToDrive, bytes.into());
        offset += 11;
        let now = Instant::now();
        longest = longest.max(now - before);
        before = now;
        // One read every 20 us is 550 kB/s, well above any rate that can be listened to.
        while now.elapsed() < Duration::from_micros(20) {
            std::hint::spin_loop();
        }
    }
    (offset, longest)
}

fn stalled(limit: usize, stall: Duration) -> (Arc<TestDisk>, Arc<RecorderStatus>, u64, Duration) {
    let disk = Arc::new(TestDisk::default());
    let running = RecorderThread::start(recorder(&disk), limit).unwrap();
    let intake = Intake::new(Clock::start(), &[Wire::ToDrive], Some(running.queue()), 1 << 20);
    disk.stand_still(true);
    let (pushed, longest) = hammer(&intake, stall);
    disk.stand_still(false);
    intake.close();
    (disk, running.finish(), pushed, longest)
}

#[test]
fn a_disk_that_stands_still_for_two_seconds_costs_nothing() {
    let (disk, status, pushed, longest) = stalled(64 << 20, Duration::from_secs(2));
    println!("{pushed} bytes pushed while the disk stood still; longest absence of the reader {longest:?}");
    let (kept, lost) = account(&mut from_bytes(&disk.kept()).unwrap());
    assert_eq!((kept, lost), ([pushed, 0], [0, 0]));
    assert_eq!((status.bytes(), status.lost(), status.trouble()), (pushed, 0, None));
    assert!(disk.state.lock().unwrap().syncs > 0, "synced at least at the end");
}

#[test]
fn a_stall_beyond_the_queue_is_counted_to_the_byte() {
    let (disk, status, pushed, _) = stalled(200_000, Duration::from_secs(2));
    let (kept, lost) = account(&mut from_bytes(&disk.kept()).unwrap());
    assert_eq!(kept[0] + lost[0], pushed);
    assert!(lost[0] > 0 && kept[0] > 0, "kept {kept:?} lost {lost:?}");
    assert_eq!((status.bytes(), status.lost()), (kept[0], lost[0]));
}

#[test]
fn two_recorders_never_share_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.session");
    let first = Recorder::create(&path, &header()).unwrap();
    let second = Recorder::create(&path, &header()).err().unwrap().to_string();
    assert!(second.contains("never overwrites") && second.starts_with(path.to_str().unwrap()), "{second}");
    let note = append_note(&path, 0, "too early").unwrap_err().to_string();
    assert!(note.contains("another recorder has this session open"), "{note}");
    first.close();
    append_note(&path, 0, "now").unwrap();
    let folder_missing = Recorder::create(&folder.path().join("no/one.session"), &header()).err().unwrap().to_string();
    assert!(folder_missing.contains("folder does not exist"), "{folder_missing}");
}

#[test]
fn a_session_that_is_finished_is_synced() {
    let disk = Arc::new(TestDisk::default());
    let running = RecorderThread::start(recorder(&disk), 1 << 20).unwrap();
    running.queue().push(Heard::Tick { t_us: 1 });
    running.finish();
    assert!(disk.state.lock().unwrap().syncs > 0);
    assert!(String::from_utf8(disk.kept()).unwrap().lines().last().unwrap().starts_with("end 1 "));
}

#[test]
fn the_file_is_synced_while_it_is_written() {
    let disk = Arc::new(TestDisk::default());
    let running = RecorderThread::start(recorder(&disk), 1 << 20).unwrap();
    let queue: Arc<Queue> = running.queue();
    let deadline = Instant::now() + Duration::from_secs(20);
    let mut t_us = 0;
    while disk.state.lock().unwrap().syncs == 0 {
        assert!(Instant::now() < deadline, "no sync in 20 s");
        t_us += 1;
        queue.push(Heard::Tick { t_us });
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_real_full_device_is_told() {
    struct Full(std::fs::File);
    impl Disk for Full {
        fn write(&self, bytes: &[u8]) -> io::Result<usize> {
            io::Write::write(&mut &self.0, bytes)
        }
        fn sync(&self) -> io::Result<()> {
            Ok(())
        }
    }
    let Ok(full) = std::fs::OpenOptions::new().write(true).open("/dev/full") else {
        println!("not run: this system has no /dev/full");
        return;
    };
    let error = Recorder::on(Arc::new(Full(full)), Path::new("x"), &header()).err().unwrap().to_string();
    assert!(error.contains("No space left"), "{error}");
}

const CHILD: &str = "WHEELTAP_TEST_RECORD_INTO";

/// The program that gets killed: it tells each record once it is kept.
fn record_until_killed(path: &Path) {
    let mut recorder = Recorder::create(path, &header()).unwrap();
    let mut out = io::stdout().lock();
    for (n, one) in heard(1_000_000).iter().enumerate() {
        recorder.keep(one);
        io::Write::write_all(&mut out, format!("kept {n}\n").as_bytes()).unwrap();
    }
}

#[test]
fn a_killed_recorder_costs_at_most_the_record_in_hand() {
    if let Some(path) = std::env::var_os(CHILD) {
        return record_until_killed(Path::new(&path));
    }
    for records in [1, 500, 5_000] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("killed.session");
        let mut child = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "a_killed_recorder_costs_at_most_the_record_in_hand", "--nocapture"])
            .env(CHILD, &path)
            .stdout(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut told = String::new();
        while told.matches("kept ").count() < records {
            assert!(out.read_line(&mut told).unwrap() > 0, "the recorder ended by itself: {told}");
        }
        child.kill().unwrap();
        child.wait().unwrap();
        out.read_to_string(&mut told).unwrap();
        let told = told.matches("kept ").count();
        let mut session = SessionSource::open(&path).unwrap();
        let kept = all(&mut session).len();
        assert_eq!(session.torn(), []);
        assert!((told..=told + 1).contains(&kept), "told {told}, kept {kept}");
    }
}
