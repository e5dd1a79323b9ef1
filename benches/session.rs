//! A session of a gigabyte: the whole check, going to any time, frames a second through the engine with all findings, the
//! first screen of `replay`, its memory, and how long it takes to play all of it as fast as possible.
//!
//! `cargo bench --bench session` prints a line for each figure; `cargo bench --bench session -- MEGABYTES` makes a smaller
//! file. It needs a quiet machine, Linux (`/proc`) and the room for the file.

use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use wheeltap::engine::Engine;
use wheeltap::engine::event::Happening;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::session::{Header, Line, SessionSource, WholeCheck};
use wheeltap::source::Source;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::Wire;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

/// An order every so many microseconds.
const EVERY_US: i64 = 5_000;
/// How far before a place a new engine begins, as the player does it, microseconds.
const COLD_US: i64 = 30_000_000;
/// How many places are gone to.
const PLACES: usize = 1_000;
/// How many frames go through the engine to tell its speed; all of them would take half a minute.
const FRAMES: u64 = 2_000_000;
/// Size of the terminal.
const ROWS: std::num::NonZero<u16> = std::num::NonZero::new(40).unwrap();
const COLUMNS: std::num::NonZero<u16> = std::num::NonZero::new(120).unwrap();

/// Writes orders of the letter line, with moves and rests, until the file has this size; gives its length in time.
fn make(path: &Path, size: u64) -> Done<i64> {
    let facts =
        WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 1_000_000, port: "tap".to_owned() };
    let link =
        LinkFacts { wires: [Some(facts), None], begun_unix_us: Some(0), utc_offset_min: 0, ..LinkFacts::default() };
    let rover = built_in::find("letter-line").ok_or("no letter line")?;
    let header = Header::new(link, Some((rover.name.to_owned(), rover.text.to_owned())));
    let mut file = BufWriter::with_capacity(1 << 20, File::create(path)?);
    let mut line = Vec::new();
    header.lines().iter().for_each(|one| one.write(&mut line));
    let (mut t_us, mut offset, mut written) = (0, 0_u64, 0_u64);
    while written < size {
        t_us += EVERY_US;
        let moving = t_us / 3_000_000 % 2 == 0;
        let bytes: &[u8] = if moving { b"D,A,60*03\n" } else { b"D,N,0*3A\n" };
        let read = Line::Read { wire: Wire::ToDrive, t_us, since_us: 900, offset, bytes: bytes.into() };
        read.write(&mut line);
        if t_us % 1_000_000 == 0 {
            Line::Tick { t_us }.write(&mut line);
        }
        offset += bytes.len() as u64;
        written += line.len() as u64;
        file.write_all(&line)?;
        line.clear();
    }
    file.flush()?;
    Ok(t_us)
}

fn check(path: &Path, size: u64) -> Done<()> {
    let (mut best, mut cpu) = (Duration::MAX, u64::MAX);
    for _ in 0..3 {
        let (began, before) = (Instant::now(), cpu_ns());
        let check = WholeCheck::of(path, &mut |_| {})?;
        best = best.min(began.elapsed());
        cpu = cpu.min(cpu_ns() - before);
        if !check.is_sound() {
            return Err(format!("{:?}", check.torn().first()).into());
        }
    }
    println!("whole check: {:.2} s a gigabyte, best of three", best.as_secs_f64() / size as f64 * 1e9);
    println!("its processor time: {:.2} s a gigabyte, best of three", cpu as f64 / size as f64);
    // What of that is the system's copying alone, in blocks of the same size.
    let (before, mut file, mut block) = (cpu_ns(), File::open(path)?, vec![0; 64 << 10]);
    while file.read(&mut block)? > 0 {}
    println!("the same bytes read and not looked at: {:.2} s a gigabyte", (cpu_ns() - before) as f64 / size as f64);
    Ok(())
}

/// Processor time of this thread so far, nanoseconds, from the kernel's own count.
fn cpu_ns() -> u64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    text.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or(0)
}

fn percentile(mut all: Vec<Duration>, hundredths: usize) -> f64 {
    all.sort_unstable();
    all.get(all.len().saturating_sub(1) * hundredths / 100).map_or(0.0, |time| time.as_secs_f64() * 1e3)
}

/// Bisection alone, and with a new engine that runs over the 30 s before the place, as a cold start does.
fn seek(path: &Path, length_us: i64) -> Done<()> {
    let rover = built_in::find("letter-line").ok_or("no letter line")?;
    let rover = RoverFile::load(rover.name, rover.text).map_err(|faults| format!("{faults:?}"))?;
    let rover = std::sync::Arc::new(rover);
    let (mut alone, mut cold) = (Vec::new(), Vec::new());
    // Marsaglia's xorshift64, so that a run can be repeated.
    let mut chance = 0x9E37_79B9_7F4A_7C15_u64;
    for _ in 0..PLACES {
        chance ^= chance << 13;
        chance ^= chance >> 7;
        chance ^= chance << 17;
        let place = (chance >> 1).cast_signed() % length_us;
        let began = Instant::now();
        let mut session = SessionSource::open(path)?;
        session.seek(place - COLD_US)?;
        alone.push(began.elapsed());
        let mut engine = Engine::new(session.link().clone(), Some(rover.clone()));
        while let Some(input) = session.next()? {
            if input.at() / 1000 > place {
                break;
            }
            engine.push(input);
        }
        cold.push(began.elapsed());
    }
    println!(
        "open and seek, {PLACES} random places: median {:.2} ms, p99 {:.2} ms, worst {:.2} ms",
        percentile(alone.clone(), 50),
        percentile(alone.clone(), 99),
        percentile(alone, 100)
    );
    println!(
        "the same and 30 s read cold: median {:.2} ms, p99 {:.2} ms",
        percentile(cold.clone(), 50),
        percentile(cold, 99)
    );
    Ok(())
}

/// The session through the engine with all findings, as fast as possible.
fn engine(path: &Path) -> Done<()> {
    let rover = built_in::find("letter-line").ok_or("no letter line")?;
    let rover = RoverFile::load(rover.name, rover.text).map_err(|faults| format!("{faults:?}"))?;
    let mut session = SessionSource::open(path)?;
    let mut engine = Engine::new(session.link().clone(), Some(std::sync::Arc::new(rover)));
    let began = Instant::now();
    let mut frames = 0;
    while let Some(input) = session.next()? {
        let events = engine.push(input);
        frames += events.iter().filter(|event| matches!(event.what, Happening::Frame(_))).count() as u64;
        if frames >= FRAMES {
            break;
        }
    }
    let seconds = began.elapsed().as_secs_f64();
    println!("file and engine: {:.0} frames a second, {} findings", frames as f64 / seconds, engine.findings().len());
    // The file alone, for what it costs of that.
    let mut session = SessionSource::open(path)?;
    let (began, mut reads) = (Instant::now(), 0_u64);
    while session.next()?.is_some() && reads < FRAMES {
        reads += 1;
    }
    println!("the file alone: {:.0} ns a line", began.elapsed().as_secs_f64() * 1e9 / reads as f64);
    Ok(())
}

/// Resident memory at its highest, kB, from the kernel's own count.
fn peak_kb(id: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// `frames`: how many stand in the file.
fn screen(path: &Path, frames: i64) -> Done<()> {
    let mut first = Vec::new();
    for n in 0..5 {
        let pair = native_pty_system().openpty(PtySize { rows: 40, cols: 120, ..PtySize::default() })?;
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wheeltap"));
        command.args(["replay".as_ref(), path.as_os_str()]);
        command.env("TERM", "xterm-256color");
        let mut reader = pair.master.try_clone_reader()?;
        let mut keys = pair.master.take_writer()?;
        let began = Instant::now();
        let mut child = pair.slave.spawn_command(command)?;
        drop(pair.slave);
        let mut seen = wait_for(&mut reader, Vec::new(), b"running")?;
        first.push(began.elapsed());
        if n == 4 {
            keys.write_all(b"\x1b[Fd")?;
            seen.clear();
            // The session page says how far it has been read, until it has been read to the end.
            let id = child.process_id().unwrap_or(0);
            let mut parser = vt100::Parser::new(ROWS, COLUMNS, 0);
            let mut block = vec![0; 65536];
            let mut until = |reader: &mut Box<dyn Read + Send>, there: fn(&str) -> bool| -> Done<()> {
                loop {
                    let count = reader.read(&mut block)?;
                    parser.process(block.get(..count).unwrap_or_default());
                    if there(&parser.screen().contents()) {
                        return Ok(());
                    }
                }
            };
            until(&mut reader, |text| text.contains("session ") && text.contains("legs") && !text.contains("read to"))?;
            let read = began.elapsed();
            println!(
                "replay has read all of it after {:.1} s: {:.0} frames a second; peak memory {} kB",
                read.as_secs_f64(),
                frames as f64 / read.as_secs_f64(),
                peak_kb(id)
            );
            // From the beginning, as fast as possible, until it stands at the end.
            keys.write_all(b"\x1b[H++++++")?;
            until(&mut reader, |text| text.contains("as fast as possible"))?;
            let began = Instant::now();
            keys.write_all(b"h")?;
            until(&mut reader, |text| text.contains("running as fast"))?;
            until(&mut reader, |text| text.contains("STANDING"))?;
            let played = began.elapsed();
            println!(
                "replay has played all of it after {:.1} s: {:.0} frames a second; peak memory {} kB",
                played.as_secs_f64(),
                frames as f64 / played.as_secs_f64(),
                peak_kb(id)
            );
        }
        child.kill()?;
        child.wait()?;
    }
    println!(
        "first screen of replay: median {:.1} ms, worst {:.1} ms of five",
        percentile(first.clone(), 50),
        percentile(first, 100)
    );
    Ok(())
}

/// Reads until `wanted` has come.
fn wait_for(reader: &mut Box<dyn Read + Send>, mut seen: Vec<u8>, wanted: &[u8]) -> Done<Vec<u8>> {
    let mut block = vec![0; 65536];
    while memchr::memmem::find(&seen, wanted).is_none() {
        let count = reader.read(&mut block)?;
        seen.extend_from_slice(block.get(..count).unwrap_or_default());
    }
    Ok(seen)
}

fn main() -> Done<()> {
    let megabytes = std::env::args().skip(1).find_map(|word| word.parse::<u64>().ok()).unwrap_or(1_000);
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("large.wheeltap");
    let length_us = make(&path, megabytes * 1_000_000)?;
    let size = std::fs::metadata(&path)?.len();
    println!("a session of {size} bytes, {:.1} h of orders every {} ms", length_us as f64 / 3.6e9, EVERY_US / 1000);
    check(&path, size)?;
    seek(&path, length_us)?;
    engine(&path)?;
    screen(&path, length_us / EVERY_US)
}
