//! What the recorder must live through: disks that fail, fall short, interrupt and forget; clocks set back; a laptop put
//! to sleep; a file that may grow no further. The judges are tried on recorders that are known to be bad. Being killed is in
//! `tests/recorder_killed.rs`.
#![cfg(unix)]
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

#[path = "sessions/bad_recorder.rs"]
mod bad_recorder;
#[path = "sessions/heard.rs"]
mod heard;
#[path = "sessions/moody_disk.rs"]
mod moody_disk;
#[path = "sessions/watched_port.rs"]
mod watched_port;
#[path = "terminal/without_screen.rs"]
mod without_screen;

use std::io::Read;
use std::sync::Arc;

use bad_recorder::{Bad, Fault, Make, ours};
use heard::{Got, all, bytes_at, from_bytes, heard};
use moody_disk::{Dice, MoodyDisk};
use watched_port::WatchedPort;
use wheeltap::session::disk::Disk;
use wheeltap::session::{Heard, Line, WholeCheck};
use wheeltap_parsers::Wire;
use without_screen::{Running, wait_for};

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

/// Every byte that a session holds.
fn kept(session: &mut wheeltap::session::SessionSource) -> Vec<u8> {
    let bytes = |got| if let Got::Chunk { bytes, .. } = got { bytes } else { Vec::new() };
    all(session).into_iter().flat_map(bytes).collect()
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
        stream.extend(kept(&mut session));
        ended_us = session.length().unwrap();
        files += 1;
    }
    assert!(files >= 4);
    let read = wire.written.len() - wire.left();
    assert!(stream == wire.written[..read], "{} bytes kept of {read} that were read", stream.len());
}

/// What was read is kept, whenever the person ends it: the sender goes on all the while.
#[test]
fn asked_to_end_at_any_moment_it_keeps_every_byte_that_it_read() {
    let folder = tempfile::tempdir().unwrap();
    for round in 1..=20 {
        let mut dice = Dice(round);
        let mut wire = WatchedPort::open();
        let session = folder.path().join(format!("{round}.wheeltap"));
        let words = ["listen", wire.path.to_str().unwrap(), "--session", session.to_str().unwrap(), "--headless"];
        let mut running = Running::wheeltap(folder.path(), &words);
        wait_for("the program listens", || running.said().contains("Recording to"));
        for _ in 0..dice.below(200) {
            wire.write(1 + dice.below(60) as usize);
        }
        running.signal("INT");
        // Every second time the key is pressed twice, now and then with something else behind it.
        if round % 2 == 0 {
            running.signal("INT");
        }
        if round % 4 == 0 {
            running.signal("TERM");
        }
        wait_for("the end of the program", || {
            wire.write(1 + dice.below(60) as usize);
            running.over()
        });
        assert_eq!(running.end().code(), 0);
        let check = WholeCheck::of(&session, &mut |_| {}).unwrap();
        assert!(check.is_sound() && check.closed, "round {round}: {:?}", check.torn());
        let kept = kept(&mut wheeltap::session::SessionSource::open(&session).unwrap());
        let left = wire.left();
        let read = &wire.written[..wire.written.len() - left];
        assert!(
            !kept.is_empty() && read.ends_with(&kept),
            "round {round}: {} bytes kept of {}",
            kept.len(),
            read.len()
        );
    }
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

/// What a trouble costs is told when it begins and when it is over, each once, while the program goes on.
#[cfg(target_os = "linux")]
#[test]
fn a_trouble_without_a_screen_is_told_when_it_begins_and_when_it_is_over() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    // A limit that can be lifted again, with prlimit of util-linux.
    let line = format!(
        "trap '' XFSZ; ulimit -S -f 16; exec $W listen {} --session full.wheeltap --headless > /dev/null 2> err",
        wire.path.display()
    );
    let running = Running::shell(folder.path(), &line);
    let said = || std::fs::read_to_string(folder.path().join("err")).unwrap_or_default();
    wait_for("the program listens", || said().contains("Recording to"));
    let begins = "full.wheeltap: the session cannot be written (";
    let over = "full.wheeltap: the recording is in order again. ";
    wait_for("the trouble is told", || {
        wire.write(40);
        said().contains(begins)
    });
    // It goes on losing, and says no more of that.
    let told = said();
    wire.write(400);
    wait_for("all is read", || wire.unread() == 0);
    assert_eq!(said(), told);
    let lifted = std::process::Command::new("prlimit")
        .args(["--pid", &running.id().to_string(), "--fsize=unlimited"])
        .status()
        .unwrap();
    assert!(lifted.success());
    wait_for("its end is told", || {
        wire.write(40);
        said().contains(over)
    });
    running.signal("INT");
    assert_eq!(running.end().code(), 0, "{}", said());
    assert_eq!((said().matches(begins).count(), said().matches(over).count()), (1, 1), "{}", said());
    let file = std::fs::read(folder.path().join("full.wheeltap")).unwrap();
    let lost = lost_lines(&file);
    assert!(lost > 0 && said().contains(&format!("{over}{lost} bytes could not be kept so far")), "{lost}: {}", said());
    assert_eq!(account(&file).unwrap()[0], wire.written.len() as u64 - wire.left() as u64);
}

#[test]
fn a_file_that_rotation_cannot_make_is_told_without_a_screen() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    let taken = folder.path().join("long-part2.wheeltap");
    std::fs::write(&taken, "precious").unwrap();
    let words = ["listen", wire.path.to_str().unwrap(), "--session", "long.wheeltap", "--rotate", "10kB", "--headless"];
    let running = Running::wheeltap(folder.path(), &words);
    let begins = "long-part2.wheeltap: this file exists";
    wait_for("the trouble is told", || {
        wire.write(50);
        running.said().contains(begins)
    });
    assert!(running.said().contains("The recording goes on in the old file."), "{}", running.said());
    assert_eq!(std::fs::read(&taken).unwrap(), b"precious");
    std::fs::rename(&taken, folder.path().join("away")).unwrap();
    // The next try comes after another megabyte.
    wait_for("the recording goes on in a new file", || {
        wire.write(1_000);
        running.said().contains("goes on in long-part2.wheeltap, part 2.")
    });
    wait_for("the end of the trouble is told", || running.said().contains("the recording is in order again. No byte"));
    running.signal("INT");
    assert_eq!(running.end().code(), 0);
}

/// Nobody reads what the program prints, so it cannot end in order: only a signal later than three seconds after the first
/// ends it, and any number before that do not.
#[test]
fn a_signal_after_three_seconds_ends_a_program_that_cannot_end_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut wire = WatchedPort::open();
    let err = std::fs::File::create(folder.path().join("err")).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_wheeltap"));
    command.current_dir(folder.path());
    command.args(["listen", wire.path.to_str().unwrap(), "--session", "a.wheeltap", "--headless", "--json"]);
    command.stdin(std::process::Stdio::null()).stdout(std::process::Stdio::piped()).stderr(err);
    let mut child = command.spawn().unwrap();
    let said = || std::fs::read_to_string(folder.path().join("err")).unwrap();
    wait_for("the program listens", || said().contains("Recording to"));
    // Far more lines than a pipe and the program's own hand hold: before its end it has to print them all.
    for _ in 0..200 {
        wire.text(&"heap 91k\n".repeat(40));
        wait_for("they are read", || wire.unread() == 0);
    }
    let begun = std::time::Instant::now();
    let signal = format!("kill -INT {}", child.id());
    let ended = loop {
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        assert!(begun.elapsed() < without_screen::LIMIT, "{}", said());
        // It may be gone between the look and this.
        drop(std::process::Command::new("/bin/sh").args(["-c", &signal]).stderr(std::process::Stdio::null()).status());
        std::thread::sleep(std::time::Duration::from_millis(20));
    };
    assert!(begun.elapsed() >= std::time::Duration::from_secs(3), "{:?}", begun.elapsed());
    assert_eq!(ended.code(), Some(3), "{}", said());
    assert!(said().contains("Ended at once, as asked again"), "{}", said());
    let mut kept = from_bytes(&std::fs::read(folder.path().join("a.wheeltap")).unwrap()).unwrap();
    let lines = self::kept(&mut kept);
    assert!(lines.starts_with(b"heap 91k\n") && lines.len() > 9 * 40 * 100, "{} bytes", lines.len());
}
