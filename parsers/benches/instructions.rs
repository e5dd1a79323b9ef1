//! Instructions the decoder needs for fixed wires, counted exactly, beside the counts written down.
//!
//! `cargo bench -p wheeltap-parsers --bench instructions` fails where a count is more than one in twenty above the one
//! in `instructions/counts.txt`; with `-- --write` it writes the counts of today there. It needs valgrind.
//!
//! The counts are those of one compiler, named in the file, and one kind of processor: on another the first thing to do
//! is to write them anew from the state before the change.

#[path = "decoding/run.rs"]
mod run;
#[path = "../tests/links/wagon.rs"]
mod wagon;
#[path = "decoding/wires.rs"]
mod wires;

use std::hint::black_box;
use std::process::{Command, ExitCode};
use std::sync::Arc;

use wheeltap_parsers::{Decoder, Profile, Wire};

/// Bytes of a wire: enough that the start counts for nothing.
const LEN: usize = 1 << 16;
const COUNTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/instructions/counts.txt");
/// How wires are given to the decoder.
const WAYS: [&str; 4] = ["whole", "damaged", "in-62s", "in-ones"];

fn links() -> [(&'static str, Arc<Profile>); 8] {
    [
        ("cue", wagon::cue()),
        ("plain", wagon::plain()),
        ("starred", wagon::starred()),
        ("stave", wagon::stave()),
        ("ladder", wagon::ladder()),
        ("bead", wagon::bead()),
        ("slipped", wagon::slipped()),
        ("stuffed", wagon::stuffed()),
    ]
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let outcome = match words.as_slice() {
        ["--decode", link, way] => decode(link, way),
        ["--write"] => write(),
        [] => compare(),
        other => Err(format!("{other:?} is not known; nothing or --write may be given")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

/// Decodes one wire, once. Only what happens inside `counted` is counted.
fn decode(link: &str, way: &str) -> Result<(), String> {
    let links = links();
    let (_, profile) = links.iter().find(|(name, _)| *name == link).ok_or(format!("no link {link}"))?;
    let wire = if way == "damaged" { wires::damaged(profile, LEN) } else { wires::clean(profile, LEN) };
    let len = match way {
        "in-62s" => 62,
        "in-ones" => 1,
        _ => LEN,
    };
    let ready = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    // A run before it leaves the heap tidy: otherwise that work, done once, is counted where it happens to fall.
    drop(black_box(run::decode(ready.clone(), &wire, len)));
    black_box(counted(ready, &wire, len));
    Ok(())
}

#[inline(never)]
fn counted(decoder: Decoder, wire: &[u8], len: usize) -> (Decoder, i64) {
    run::decode(decoder, black_box(wire), len)
}

/// What valgrind counts while this very program decodes the wire.
fn count(link: &str, way: &str) -> Result<u64, String> {
    let own = std::env::current_exe().map_err(|why| format!("this program cannot find itself: {why}"))?;
    let mut command = Command::new("valgrind");
    command.args(["--tool=callgrind", "--callgrind-out-file=/dev/null", "--toggle-collect=*counted*"]);
    let out = command.arg(own).args(["--decode", link, way]).output();
    let out = out.map_err(|why| format!("valgrind does not start: {why}. Install it (package valgrind on Debian)"))?;
    let said = String::from_utf8_lossy(&out.stderr);
    let collected = said.lines().find_map(|line| line.split_once("Collected : "));
    let number = collected.and_then(|(_, number)| number.trim().parse().ok()).filter(|number| *number > 0);
    number.ok_or_else(|| format!("valgrind counted nothing for {link} {way}:\n{said}"))
}

/// Every count of today as `link way count`, and how many bytes the wire has.
fn counts() -> Result<Vec<(String, u64, usize)>, String> {
    let mut all = Vec::new();
    for (link, profile) in links() {
        let bytes = wires::clean(&profile, LEN).len();
        for way in WAYS {
            all.push((format!("{link} {way}"), count(link, way)?, bytes));
        }
    }
    Ok(all)
}

fn compiler() -> String {
    let said = Command::new("rustc").arg("--version").output().map(|out| out.stdout).unwrap_or_default();
    String::from_utf8_lossy(&said).trim().to_owned()
}

fn write() -> Result<(), String> {
    let mut text = format!("# {}\n", compiler());
    for (name, count, _) in counts()? {
        text += &format!("{name} {count}\n");
    }
    std::fs::write(COUNTS, text).map_err(|why| format!("{COUNTS}: {why}"))
}

fn compare() -> Result<(), String> {
    let text = std::fs::read_to_string(COUNTS).map_err(|why| format!("{COUNTS}: {why}"))?;
    let mut too_many = String::new();
    println!("{:20} {:>12} {:>12} {:>8} {:>14}", "wire", "written", "counted", "change", "for each byte");
    for (name, counted, bytes) in counts()? {
        let written = text.lines().find_map(|line| line.strip_prefix(&name)?.trim().parse::<u64>().ok());
        let written = written.ok_or_else(|| format!("{COUNTS}: no count for {name}; write it with -- --write"))?;
        let (change, each) = (counted as f64 / written as f64 - 1.0, counted as f64 / bytes as f64);
        println!("{name:20} {written:12} {counted:12} {:7.1}% {each:14.2}", 100.0 * change);
        if counted * 20 > written * 21 {
            too_many += &format!("{name}: {counted} instructions, {written} written down\n");
        }
    }
    if too_many.is_empty() {
        return Ok(());
    }
    let then = text.lines().next().unwrap_or_default();
    Err(format!("More than one in twenty above the counts of {then} (here {}):\n{too_many}", compiler()))
}
