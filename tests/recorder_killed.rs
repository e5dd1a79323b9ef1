//! The real program killed at any moment, and what it kept judged by a command of its own that shares no code with it:
//! `python3 tests/session_judge.py`. The command is tried on three recorders that are known to be bad.
//!
//! `WHEELTAP_KILLS=200 cargo test --test recorder_killed -- --nocapture` kills two hundred times in place of ten.
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

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use bad_recorder::{Bad, Fault, Make, ours};
use heard::{bytes_at, heard};
use moody_disk::{Dice, MoodyDisk};
use serde_json::Value;
use watched_port::WatchedPort;
use wheeltap::session::Heard;
use wheeltap::session::disk::Disk;
use wheeltap_parsers::Wire;
use without_screen::{Running, wait_for};

/// The most bytes that may be in the recorder's hand.
const IN_HAND: usize = 4_095;

/// Bytes that stand in whole reads, whatever the rest of the file is.
fn read_bytes(file: &[u8]) -> u64 {
    let Ok(mut session) = heard::from_bytes(file) else { return 0 };
    let got = heard::all(&mut session);
    got.iter().map(|got| if let heard::Got::Chunk { bytes, .. } = got { bytes.len() as u64 } else { 0 }).sum()
}

/// What the command says of `session`, which may hold `torn` damaged lines: for each wire the file with what was written,
/// and how many bytes of it had been read, at least and at most.
fn judge(session: &Path, torn: usize, wires: &[(Wire, &Path, [usize; 2])]) -> Result<Value, String> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/session_judge.py");
    let mut command = Command::new("python3");
    command.arg("-B").arg(script).arg(session).arg(torn.to_string());
    for (wire, written, [least, most]) in wires {
        command.arg(wire.symbol().to_string()).arg(written).args([least.to_string(), most.to_string()]);
    }
    let out = command.output().expect("Python 3 is installed");
    match out.status.code() {
        Some(0) => Ok(serde_json::from_slice(&out.stdout).unwrap()),
        Some(1) if !out.stderr.starts_with(b"Traceback") => Err(String::from_utf8(out.stderr).unwrap()),
        _ => panic!("the command itself failed: {}", String::from_utf8_lossy(&out.stderr)),
    }
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
    let read = wire.written.len() - wire.left();
    let written = folder.join("written");
    std::fs::write(&written, &wire.written).unwrap();
    // One read of a pseudo-terminal gives at most 4,095 bytes; that one may be in hand, and nothing else. A line may be
    // cut off: the last.
    let span = [read.saturating_sub(IN_HAND), read];
    let verdict = judge(&session, 1, &[(Wire::ToDrive, written.as_path(), span)])
        .unwrap_or_else(|why| panic!("round {round}: {why}"));
    assert_eq!(verdict[">"]["lost"], 0, "round {round}");
    assert!(verdict[">"]["kept"].as_u64().unwrap() >= 20, "round {round}: {verdict}");
    usize::try_from(verdict[">"]["missing"].as_u64().unwrap()).unwrap()
}

#[test]
fn killed_at_any_moment_it_loses_at_most_the_reads_in_hand() {
    let rounds = std::env::var("WHEELTAP_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(10);
    let folder = tempfile::tempdir().unwrap();
    let missing: Vec<usize> = (1..=rounds).map(|round| killed(folder.path(), round)).collect();
    let (most, some) = (missing.iter().max().unwrap(), missing.iter().filter(|count| **count > 0).count());
    println!("{rounds} kills: {some} cost bytes that had been read, at most {most}");
    assert!(*most <= IN_HAND, "{most} bytes were read and not kept");
}

/// How a life of a recorder ends.
#[derive(Clone, Copy, PartialEq)]
enum End {
    /// The disk had moods and is calm again; the recorder is closed.
    Closed,
    /// The power is cut: what was synced is there, and any beginning of the rest.
    PowerCut,
}

fn sent(heard: &[Heard]) -> [usize; 2] {
    let mut sent = [0; 2];
    for (wire, count) in heard.iter().filter_map(Heard::received) {
        sent[wire.index()] += count as usize;
    }
    sent
}

/// One life on a moody disk, and what the command says of the file it leaves.
fn life(make: Make, end: End, seed: u64) -> Result<Value, String> {
    let folder = tempfile::tempdir().unwrap();
    let disk = MoodyDisk::new(seed);
    let mut recorder = make(Arc::<MoodyDisk>::clone(&disk));
    let heard = heard(120);
    let cut = if end == End::PowerCut { 20 + (seed * 7 % 100) as usize } else { heard.len() };
    let mut safe = [0; 2];
    for (n, one) in heard.iter().enumerate().take(cut) {
        disk.moody(end == End::Closed && n < 100);
        recorder.keep(one);
        if n % 17 == 16 {
            disk.sync().unwrap();
            safe = sent(&heard[..=n]);
        }
    }
    let most = sent(&heard[..cut]);
    let file = if end == End::PowerCut {
        disk.after_power_cut()
    } else {
        recorder.close();
        safe = most;
        disk.kept()
    };
    let session = folder.path().join("session");
    std::fs::write(&session, file).unwrap();
    let written = Wire::BOTH.map(|wire| folder.path().join(wire.index().to_string()));
    for wire in Wire::BOTH {
        std::fs::write(&written[wire.index()], bytes_at(wire, 0, most[wire.index()])).unwrap();
    }
    let wires = Wire::BOTH.map(|wire| {
        let at = wire.index();
        (wire, written[at].as_path(), [safe[at], most[at]])
    });
    // A write that fell short leaves a damaged line behind; it is the bytes that count.
    judge(&session, heard.len(), &wires)
}

/// How many lives the command calls bad.
fn found_out(make: Make, end: End, lives: u64) -> usize {
    (1..=lives).filter(|seed| life(make, end, *seed).is_err()).count()
}

#[test]
fn the_command_passes_good_recorders_and_finds_bad_ones_out() {
    const LIVES: u64 = 12;
    let control: Make = |disk| Bad::make(disk, Fault::None);
    for make in [ours, control] {
        for end in [End::Closed, End::PowerCut] {
            for seed in 1..=LIVES {
                life(make, end, seed).unwrap_or_else(|why| panic!("seed {seed}: {why}"));
            }
        }
    }
    let bad: [(Make, End); 3] = [
        (|disk| Bad::make(disk, Fault::Gathers), End::PowerCut),
        (|disk| Bad::make(disk, Fault::LeavesTorn), End::Closed),
        (|disk| Bad::make(disk, Fault::KeepsSilent), End::Closed),
    ];
    let found = bad.map(|(make, end)| found_out(make, end, LIVES));
    println!("of {LIVES} lives each, the command found {found:?} of the bad recorders out");
    assert!(found.iter().all(|count| *count > LIVES as usize / 4), "{found:?}");
}
