//! What the recorder must live through: disks that fail, fall short, interrupt and forget; clocks set back; a laptop put
//! to sleep; a file that may grow no further; being killed at any moment. The judges are tried on recorders that are known
//! to be bad.
//!
//! `WHEELTAP_KILLS=200 cargo test --test recorder_hardship` kills two hundred times in place of twenty.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

#[path = "sessions/heard.rs"]
mod heard;
#[path = "sessions/moody_disk.rs"]
mod moody_disk;
#[path = "sessions/watched_port.rs"]
mod watched_port;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use heard::{Got, all, bytes_at, from_bytes, header, heard};
use moody_disk::{Dice, MoodyDisk};
use watched_port::WatchedPort;
use wheeltap::session::disk::Disk;
use wheeltap::session::{Heard, Line, Recorder, WholeCheck};
use wheeltap_parsers::Wire;
use without_screen::{Running, wait_for};

/// What is judged: ours, and bad ones.
trait Keeps {
    fn keep(&mut self, heard: &Heard);
    fn close(self: Box<Self>);
}

impl Keeps for Recorder {
    fn keep(&mut self, heard: &Heard) {
        Recorder::keep(self, heard);
    }

    fn close(self: Box<Self>) {
        Recorder::close(*self);
    }
}

type Make = fn(Arc<dyn Disk>) -> Box<dyn Keeps>;

fn ours(disk: Arc<dyn Disk>) -> Box<dyn Keeps> {
    Box::new(Recorder::on(disk, Path::new("test.session"), &header()).unwrap())
}

/// How the bad recorders are bad.
#[derive(Clone, Copy, PartialEq)]
enum Fault {
    /// Not at all: the control, which must pass.
    None,
    /// Gathers lines and writes them together, so that a sync does not reach the last ones.
    Gathers,
    /// Goes on after a write that fell short as if nothing had been.
    LeavesTorn,
    /// Drops what could not be written without a word.
    KeepsSilent,
}

struct Bad {
    disk: Arc<dyn Disk>,
    fault: Fault,
    gathered: Vec<u8>,
    unsaid: [u64; 2],
    torn: bool,
}

impl Bad {
    fn make(disk: Arc<dyn Disk>, fault: Fault) -> Box<dyn Keeps> {
        let mut bad = Self { disk, fault, gathered: Vec::new(), unsaid: [0; 2], torn: false };
        for line in header().lines() {
            bad.line(&line);
        }
        bad.flush();
        Box::new(bad)
    }

    fn line(&mut self, line: &Line<'_>) -> bool {
        let mut text = Vec::new();
        if self.torn && self.fault != Fault::LeavesTorn {
            text.push(b'\n');
        }
        line.write(&mut text);
        if self.fault == Fault::Gathers {
            self.gathered.extend(text);
            return self.gathered.len() < 4096 || self.flush();
        }
        let written = loop {
            match self.disk.write(&text) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => break other.unwrap_or(0),
            }
        };
        self.torn = if written == 0 { self.torn } else { written < text.len() };
        // A line that lacks nothing but its LF is whole.
        written + 1 >= text.len() || self.fault == Fault::LeavesTorn
    }

    /// Tries until all is written, as a good buffer would.
    fn flush(&mut self) -> bool {
        while !self.gathered.is_empty() {
            let written = self.disk.write(&self.gathered).unwrap_or(0);
            self.gathered.drain(..written);
        }
        true
    }
}

impl Keeps for Bad {
    fn keep(&mut self, heard: &Heard) {
        // What is missing is said before anything else is written, or nothing is.
        let mut clear = true;
        for wire in Wire::BOTH {
            let count = self.unsaid[wire.index()];
            if clear && count > 0 {
                clear = self.line(&Line::Lost { t_us: heard.t_us(), wire, count });
                self.unsaid[wire.index()] = if clear { 0 } else { count };
            }
        }
        let whole = clear && self.line(&heard.line());
        if let (false, Some((wire, count)), true) = (whole, heard.received(), self.fault != Fault::KeepsSilent) {
            self.unsaid[wire.index()] += count;
        }
    }

    fn close(mut self: Box<Self>) {
        self.flush();
    }
}

/// Bytes kept and said to be lost, by wire; why not, when a byte is wrong or in the wrong place, or bytes are missing
/// that the file does not speak of. Torn lines may stand in it.
fn account(file: &[u8]) -> Result<[u64; 2], String> {
    let mut session = from_bytes(file)?;
    let mut due = [0; 2];
    for got in all(&mut session) {
        match got {
            Got::Chunk { wire, offset, bytes, .. } => {
                if bytes != bytes_at(wire, offset, bytes.len()) {
                    return Err(format!("wrong bytes of {wire:?} at {offset}"));
                }
                if offset != due[wire.index()] {
                    return Err(format!("{wire:?}: a read at {offset}, due was {}", due[wire.index()]));
                }
                due[wire.index()] += bytes.len() as u64;
            }
            Got::Lost(wire, count) => due[wire.index()] += count,
            Got::Other(_) | Got::Tick(_) => {}
        }
    }
    // Bytes that the reader found missing are those that no line speaks of.
    let gap = |why: &str| why.contains("are missing before this line") || why.contains("was due");
    match session.torn().iter().find(|torn| gap(&torn.why)) {
        Some(torn) => Err(torn.to_string()),
        None => Ok(due),
    }
}

fn sent(heard: &[Heard]) -> [u64; 2] {
    let mut sent = [0; 2];
    for (wire, count) in heard.iter().filter_map(Heard::received) {
        sent[wire.index()] += count;
    }
    sent
}

/// Lines that only a recorder writes to say that something was lost, and how much they say.
fn lost_lines(file: &[u8]) -> u64 {
    let lines = file.split(|&byte| byte == b'\n').filter_map(|line| wheeltap::session::line::parse(line).ok());
    lines.filter_map(|line| if let Line::Lost { count, .. } = line { Some(count) } else { None }).sum()
}

/// Bytes that stand in whole reads.
fn read_bytes(file: &[u8]) -> u64 {
    let lines = file.split(|&byte| byte == b'\n').filter_map(|line| wheeltap::session::line::parse(line).ok());
    lines.filter_map(|line| if let Line::Read { bytes, .. } = line { Some(bytes.len() as u64) } else { None }).sum()
}

/// One life on a moody disk that is calm again in the end: every byte is kept or said to be lost.
fn survives_moods(make: Make, seed: u64) -> Result<(), String> {
    let disk = MoodyDisk::new(seed);
    let mut recorder = make(Arc::<MoodyDisk>::clone(&disk));
    let heard = heard(120);
    for (n, one) in heard.iter().enumerate() {
        disk.moody(n < 100);
        recorder.keep(one);
    }
    recorder.close();
    let file = disk.kept();
    let due = account(&file)?;
    if due != sent(&heard) {
        return Err(format!("the file accounts for {due:?} of {:?}", sent(&heard)));
    }
    let (kept, lost) = (read_bytes(&file), lost_lines(&file));
    if kept + lost != due[0] + due[1] {
        return Err(format!("{kept} bytes kept and {lost} said to be lost of {due:?}"));
    }
    Ok(())
}

/// A power cut: what was heard before the last sync is there, whatever was written after.
fn survives_a_power_cut(make: Make, seed: u64) -> Result<(), String> {
    let disk = MoodyDisk::new(seed);
    let mut recorder = make(Arc::<MoodyDisk>::clone(&disk));
    let heard = heard(120);
    let cut = 20 + (seed * 7 % 100) as usize;
    let mut safe = [0; 2];
    for (n, one) in heard.iter().enumerate().take(cut) {
        recorder.keep(one);
        if n % 17 == 16 {
            disk.sync().map_err(|error| error.to_string())?;
            safe = sent(&heard[..=n]);
        }
    }
    let due = account(&disk.after_power_cut())?;
    let most = sent(&heard[..cut]);
    for wire in Wire::BOTH {
        let at = wire.index();
        if due[at] < safe[at] || due[at] > most[at] {
            return Err(format!("{wire:?}: {} bytes accounted for; synced {}, heard {}", due[at], safe[at], most[at]));
        }
    }
    Ok(())
}

const SEEDS: u64 = 400;

fn failures(judge: fn(Make, u64) -> Result<(), String>, make: Make) -> Vec<String> {
    (1..=SEEDS).filter_map(|seed| judge(make, seed).err().map(|why| format!("seed {seed}: {why}"))).collect()
}

#[test]
fn a_moody_disk_costs_nothing_that_is_not_said() {
    assert_eq!(failures(survives_moods, ours), Vec::<String>::new());
}

#[test]
fn a_power_cut_costs_what_was_not_synced() {
    assert_eq!(failures(survives_a_power_cut, ours), Vec::<String>::new());
}

#[test]
fn known_bad_recorders_are_found_out() {
    let control: Make = |disk| Bad::make(disk, Fault::None);
    assert_eq!(failures(survives_a_power_cut, control), Vec::<String>::new());
    assert_eq!(failures(survives_moods, control), Vec::<String>::new());
    let gathers: Make = |disk| Bad::make(disk, Fault::Gathers);
    let leaves_torn: Make = |disk| Bad::make(disk, Fault::LeavesTorn);
    let keeps_silent: Make = |disk| Bad::make(disk, Fault::KeepsSilent);
    let found = [
        failures(survives_a_power_cut, gathers).len(),
        failures(survives_moods, leaves_torn).len(),
        failures(survives_moods, keeps_silent).len(),
    ];
    println!("of {SEEDS} lives each, bad recorders failed {found:?}");
    assert!(found.iter().all(|count| *count > SEEDS as usize / 4), "{found:?}");
}

#[test]
fn a_clock_set_back_and_a_laptop_asleep_leave_a_sound_session() {
    let disk = MoodyDisk::new(1);
    let mut recorder = ours(Arc::<MoodyDisk>::clone(&disk));
    let bytes = |offset| bytes_at(Wire::ToDrive, offset, 5).into();
    let read =
        |t_us, since_us, offset| Heard::Read { wire: Wire::ToDrive, t_us, since_us, offset, bytes: bytes(offset) };
    let wall = |t_us, unix_us| Heard::Wall { t_us, unix_us, offset_min: 60 };
    let hour = 3_600_000_000;
    for one in [
        read(1_000, 900, 0),
        wall(2_000, 1_777_707_000_000_000),
        // The wall clock is set back by a day; session time goes on.
        wall(3_000, 1_777_620_600_000_000),
        read(4_000, 900, 5),
        Heard::Tick { t_us: 5_000 },
        // Asleep for an hour: the reader looks again, and the last empty look is an hour old.
        read(hour, hour - 5_000, 10),
        Heard::Tick { t_us: hour + 1 },
    ] {
        recorder.keep(&one);
    }
    recorder.close();
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), disk.kept()).unwrap();
    let check = WholeCheck::of(file.path(), &mut |_| {}).unwrap();
    assert!(check.is_sound() && check.closed, "{:?}", check.torn());
    let got = all(&mut from_bytes(&disk.kept()).unwrap());
    let last = got.iter().rfind(|got| got.is_chunk()).unwrap();
    let Got::Chunk { lo, hi, .. } = last else { unreachable!() };
    // The last read says honestly that its bytes may be as old as the last look before the sleep, less the latency.
    assert_eq!((*lo, *hi), (5_000_000 - 17_000_000, hour * 1000));
}

/// The real program listens and is killed at a random moment; gives how many bytes it had read that are not in its file.
fn killed(folder: &Path, round: u64) -> usize {
    let mut dice = Dice(round.wrapping_mul(0x2545_F491_4F6C_DD1D) | 1);
    let mut wire = WatchedPort::open();
    let session = folder.join(format!("{round}.wheeltap"));
    let words = ["listen", wire.path.to_str().unwrap(), "--session", session.to_str().unwrap(), "--headless"];
    let running = Running::wheeltap(folder, &words);
    wait_for("the program listens", || running.said().contains("Recording to"));
    // The port is emptied as it is opened: the first bytes may fall out. What counts begins with the first read kept.
    wait_for("a first read is kept", || {
        wire.write(20);
        std::fs::read(&session).is_ok_and(|file| read_bytes(&file) >= 20)
    });
    let end = Instant::now() + Duration::from_micros(dice.below(80_000));
    while Instant::now() < end {
        wire.write(1 + dice.below(60) as usize);
        let pause = Instant::now() + Duration::from_micros(dice.below(900));
        while Instant::now() < pause {
            std::hint::spin_loop();
        }
    }
    running.signal("KILL");
    drop(running);
    let read = wire.written.len() - wire.unread();
    let file = std::fs::read(&session).unwrap();
    let mut reader = from_bytes(&file).unwrap();
    let mut kept = Vec::new();
    for got in all(&mut reader) {
        match got {
            Got::Chunk { offset, bytes, .. } => {
                assert_eq!(offset, kept.len() as u64, "round {round}: a gap");
                kept.extend(bytes);
            }
            Got::Lost(..) => panic!("round {round}: bytes are missing in the middle"),
            _ => {}
        }
    }
    // An unbroken piece of what was written; twenty bytes and more stand in one place only.
    let begin = memchr::memmem::find(&wire.written, &kept).unwrap_or_else(|| panic!("round {round}: altered bytes"));
    assert!(kept.len() >= 20, "round {round}: {} bytes kept", kept.len());
    assert!(reader.torn().len() <= 1, "round {round}: {:?}", reader.torn());
    assert!(begin + kept.len() <= read, "round {round}: more is kept than was read");
    read - begin - kept.len()
}

#[test]
fn killed_at_any_moment_it_loses_at_most_the_reads_in_hand() {
    let rounds = std::env::var("WHEELTAP_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(20);
    let folder = tempfile::tempdir().unwrap();
    let missing: Vec<usize> = (1..=rounds).map(|round| killed(folder.path(), round)).collect();
    let (most, some) = (missing.iter().max().unwrap(), missing.iter().filter(|count| **count > 0).count());
    println!("{rounds} kills: {some} cost bytes that had been read, at most {most}");
    // One read of a pseudo-terminal gives at most 4,095 bytes; that one may be in hand, and nothing else.
    assert!(*most <= 4_095, "{most} bytes were read and not kept");
}

#[test]
fn rotation_goes_on_without_a_gap_and_each_file_is_sound() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    let words = ["listen", wire.path.to_str().unwrap(), "--session", "long.wheeltap", "--rotate", "10kB", "--headless"];
    let running = Running::wheeltap(folder.path(), &words);
    wait_for("the program listens", || running.said().contains("Recording to"));
    let part = |number: u32| match number {
        1 => folder.path().join("long.wheeltap"),
        number => folder.path().join(format!("long-part{number}.wheeltap")),
    };
    wait_for("four files", || {
        wire.write(50);
        part(4).exists()
    });
    wait_for("all is read", || wire.unread() == 0);
    running.signal("INT");
    assert_eq!(running.end().code(), 0);
    let (mut stream, mut ended_us, mut files) = (Vec::new(), 0, 0);
    for number in (1..).take_while(|number| part(*number).exists()) {
        let check = WholeCheck::of(&part(number), &mut |_| {}).unwrap();
        assert!(check.is_sound() && check.closed, "part {number}: {:?}", check.torn());
        let mut session = wheeltap::session::SessionSource::open(&part(number)).unwrap();
        assert_eq!(session.header().part.map(|part| part.number), (number > 1).then_some(u64::from(number)));
        assert!(session.header().begins_us() >= ended_us, "part {number} begins before the one before ends");
        assert_eq!(session.header().offsets()[0], stream.len() as u64);
        for got in all(&mut session) {
            if let Got::Chunk { bytes, .. } = got {
                stream.extend(bytes);
            }
        }
        ended_us = session.length().unwrap();
        files += 1;
    }
    assert!(files >= 4);
    assert!(stream == wire.written, "{} of {} bytes", stream.len(), wire.written.len());
}

#[test]
fn a_file_that_may_grow_no_further_is_told_and_what_it_holds_is_sound() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    // 16 blocks of 512 bytes; without the trap the signal would end the program (POSIX, ulimit and XFSZ).
    let line = format!(
        "trap '' XFSZ; ulimit -f 16; exec $W listen {} --session full.wheeltap --headless > out 2> err",
        wire.path.display()
    );
    let mut running = Running::shell(folder.path(), &line);
    let said = || std::fs::read_to_string(folder.path().join("err")).unwrap_or_default();
    wait_for("the program listens", || said().contains("Recording to"));
    let size = || std::fs::metadata(folder.path().join("full.wheeltap")).map_or(0, |data| data.len());
    wait_for("the file is full", || {
        assert!(!running.over(), "{}", said());
        wire.write(40);
        size() >= 16 * 512
    });
    wire.write(40);
    wait_for("all is read", || wire.unread() == 0);
    running.signal("INT");
    let ended = running.end();
    assert_eq!(ended.code(), 3, "{}", said());
    assert!(said().contains("full.wheeltap") && said().contains("Free some space"), "{}", said());
    let mut file = Vec::new();
    std::fs::File::open(folder.path().join("full.wheeltap")).unwrap().read_to_end(&mut file).unwrap();
    assert!(file.len() <= 16 * 512);
    let mut session = from_bytes(&file).unwrap();
    let kept: Vec<u8> = all(&mut session)
        .into_iter()
        .filter_map(|got| if let Got::Chunk { bytes, .. } = got { Some(bytes) } else { None })
        .flatten()
        .collect();
    assert!(memchr::memmem::find(&wire.written, &kept).is_some() && kept.len() > 1_000, "{} bytes kept", kept.len());
    assert!(session.torn().len() <= 1, "{:?}", session.torn());
}
