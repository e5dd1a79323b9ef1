//! A simulated day through the whole engine: frames a second, and memory after an hour and after the day.
//!
//! `cargo bench --bench day` prints a line for each; `cargo bench --bench day -- HOURS` runs so many hours.

use std::sync::Arc;
use std::time::Instant;

use wheeltap::engine::Engine;
use wheeltap::engine::event::Happening;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::simulation::{Settings, Style};
use wheeltap::source::Source;
use wheeltap::source::simulated::{Adapter, SimulatedSource};

const HOUR: i64 = 3_600_000_000_000;

/// Resident memory in kB, from the kernel's own count.
fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// Times of chunks are counted in steps of so many nanoseconds; the last step holds all longer ones.
const STEP: u128 = 100;

/// So many of a thousand chunks took no longer, microseconds.
fn share(pushes: &[u64], per_mille: u64) -> f64 {
    let all: u64 = pushes.iter().sum();
    let mut below = 0;
    let place = pushes.iter().position(|count| {
        below += count;
        below * 1000 >= all * per_mille
    });
    place.map_or(0.0, |place| (place + 1) as f64 * STEP as f64 / 1e3)
}

fn main() {
    let hours = std::env::args().skip(1).find_map(|word| word.parse::<i64>().ok()).unwrap_or(24);
    let Some(file) = built_in::find(Style::Stave.name()) else { return };
    let Ok(rover) = RoverFile::load(file.name, file.text) else { return };
    let mut source =
        SimulatedSource::new(&Settings::demo(Style::Stave, 1), Adapter::Timer { ms: 16 }).ends_at(hours * HOUR);
    let mut engine = Engine::new(source.link().clone(), Some(Arc::new(rover)));
    let (mut frames, mut inside, mut next) = (0_u64, 0_u128, HOUR);
    let (mut in_chunks, mut pushes) = (0_u128, [0_u64; 2000]);
    while let Ok(Some(input)) = source.next() {
        let at = input.at();
        let chunk = matches!(input, wheeltap_parsers::Input::Chunk(_));
        let began = Instant::now();
        let events = engine.push(input);
        let took = began.elapsed();
        inside += took.as_nanos();
        if chunk {
            in_chunks += took.as_nanos();
            let place = usize::try_from(took.as_nanos() / STEP).unwrap_or(usize::MAX).min(pushes.len() - 1);
            pushes[place] += 1;
        }
        frames += events.iter().filter(|event| matches!(event.what, Happening::Frame(_))).count() as u64;
        if at >= next {
            let kb = resident_kb();
            println!(
                "{:>3} h: {frames} frames, {kb} kB resident, {:.0} ns a frame in the engine",
                next / HOUR,
                inside as f64 / frames.max(1) as f64
            );
            next += HOUR * if next == HOUR { 5 } else { 6 };
        }
    }
    println!(
        "a chunk takes the engine at most {:.1} us (half), {:.1} us (999 of 1000), findings and all; {:.0} ns a frame without ticks",
        share(&pushes, 500),
        share(&pushes, 999),
        in_chunks as f64 / frames.max(1) as f64
    );
    println!("end: {frames} frames, {} kB resident, {} findings", resident_kb(), engine.findings().len());
}
