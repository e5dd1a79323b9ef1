//! Reading a value-change dump of 100 MB: megabytes a second, alone and with the engine behind it, and memory.
//!
//! `cargo bench --bench dump` prints a line for each; `cargo bench --bench dump -- MB` takes another size. The dump is
//! made first: pulses of four wheels at both ends of the loom, a plain line on the wire.

use std::io::{BufWriter, Write};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use wheeltap::engine::Engine;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::source::{Asked, PinsSource, Source};

/// Resident memory in kB, from the kernel's own count.
fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// Writes a dump of so many bytes at least.
fn make(path: &Path, bytes: u64) -> std::io::Result<()> {
    let mut out = BufWriter::new(std::fs::File::create(path)?);
    let mut text = String::from("$timescale 1 ns $end\n");
    for (place, first) in [("chip", b'A'), ("wheel", b'a')] {
        for (wheel, name) in ["fl", "fr", "rl", "rr"].iter().enumerate() {
            text += &format!("$scope module {place} $end\n$scope module {name} $end\n");
            for (input, name) in ["in1", "in2", "en"].iter().enumerate() {
                let code = char::from(first + (3 * wheel + input) as u8);
                text += &format!("$var wire 1 {code} {name} $end\n");
            }
            text += "$upscope $end\n$upscope $end\n";
        }
    }
    text += "$var wire 1 > tx $end\n$enddefinitions $end\n#0\n$dumpvars\n1>\n";
    for code in ('A'..='L').chain('a'..='l') {
        text += &format!("0{code}\n");
    }
    text += "$end\n";
    let mut written = text.len() as u64;
    out.write_all(text.as_bytes())?;
    let mut cycle = 0_u64;
    while written < bytes {
        let text = one_cycle(cycle);
        out.write_all(text.as_bytes())?;
        written += text.len() as u64;
        cycle += 1;
    }
    out.flush()
}

/// 50 ms: a line on the wire, the direction inputs, then fifty pulses of every enable.
fn one_cycle(cycle: u64) -> String {
    let begin = 1_000_000 + cycle * 50_000_000;
    let mut changes: Vec<(u64, char, char)> = Vec::new();
    let line = ["way,ahead\n", "way,astern\n", "way,rest\n", "way,port\n"][(cycle / 20 % 4) as usize];
    for (place, byte) in line.bytes().enumerate() {
        let bits = u32::from(byte) << 1 | 1 << 9;
        for bit in 0..10 {
            let at = begin + ((place * 10 + bit) as u64) * 8_681;
            changes.push((at, if bits >> bit & 1 == 1 { '1' } else { '0' }, '>'));
        }
    }
    let ahead = (cycle / 20).is_multiple_of(2);
    for first in [b'A', b'a'] {
        for wheel in 0..4 {
            let code = |input: u8| char::from(first + 3 * wheel + input);
            changes.push((begin + 1_000_000, if ahead { '1' } else { '0' }, code(0)));
            changes.push((begin + 1_000_000, if ahead { '0' } else { '1' }, code(1)));
            for pulse in 0..50 {
                let at = begin + pulse * 1_000_000 + u64::from(wheel) * 1_000;
                changes.push((at, '1', code(2)));
                changes.push((at + 700_000, '0', code(2)));
            }
        }
    }
    changes.sort_unstable();
    let (mut text, mut now) = (String::new(), 0);
    for (at, level, code) in changes {
        if at != now {
            text += &format!("#{at}\n");
            now = at;
        }
        text.push(level);
        text.push(code);
        text.push('\n');
    }
    text
}

fn main() {
    let megabytes = std::env::args().skip(1).find_map(|word| word.parse::<u64>().ok()).unwrap_or(100);
    let path = std::env::temp_dir().join(format!("wheeltap-dump-{}.vcd", std::process::id()));
    if let Err(error) = make(&path, megabytes * 1_000_000) {
        return println!("{}: {error}", path.display());
    }
    for engine in [false, true] {
        run(&path, engine, megabytes);
    }
    drop(std::fs::remove_file(&path));
}

fn run(path: &Path, with_engine: bool, megabytes: u64) {
    let Ok(mut source) = PinsSource::file(path, &Asked::default()) else { return println!("not read") };
    let rover = built_in::find("plain-line").and_then(|file| RoverFile::load(file.name, file.text).ok());
    let mut engine = Engine::new(source.link().clone(), rover.map(Arc::new));
    let (began, mut inputs, mut first_kb) = (Instant::now(), 0_u64, 0);
    while let Ok(Some(input)) = source.next() {
        inputs += 1;
        if with_engine {
            engine.push(input);
        }
        if inputs == 10_000 {
            first_kb = resident_kb();
        }
    }
    let seconds = began.elapsed().as_secs_f64();
    let what = if with_engine { "with the engine" } else { "the source alone" };
    println!(
        "{what}: {megabytes} MB in {seconds:.2} s, {:.0} MB/s, {inputs} inputs; {first_kb} kB resident after 10,000 inputs, \
         {} kB at the end",
        megabytes as f64 / seconds,
        resident_kb()
    );
}
