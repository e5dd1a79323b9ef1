//! Speed on a busy machine: the shortest of many runs, in which nobody came between.
//!
//! `cargo bench -p wheeltap-parsers --bench shortest` prints, for each link, million bytes a second and the shares that
//! are promised: damaged against clean, small reads against whole, and both rivals of the cue line and the stave. Names
//! of links behind `--` print these alone.

#[path = "decoding/rivals.rs"]
mod rivals;
#[path = "decoding/run.rs"]
mod run;
#[path = "../tests/links/wagon.rs"]
mod wagon;
#[path = "decoding/wires.rs"]
mod wires;

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use wheeltap_parsers::{Check, Decoder, Profile, Wire};

/// Bytes of a wire: they stay in the second cache, so that other programs take little of it.
const LEN: usize = 1 << 17;
const RUNS: usize = 150;

type Link = (&'static str, Arc<Profile>);
/// A program written for one link.
type Rival = fn(&[u8], &Check);

fn links() -> [Link; 8] {
    [
        ("cue", wagon::cue()),
        ("stave", wagon::stave()),
        ("ladder", wagon::ladder()),
        ("bead", wagon::bead()),
        ("slipped", wagon::slipped()),
        ("stuffed", wagon::stuffed()),
        ("plain", wagon::plain()),
        ("starred", wagon::starred()),
    ]
}

/// The rival that finds and checks, and the one that reads all fields.
fn rivals_of(link: &str) -> Option<[Rival; 2]> {
    fn count(found: usize) {
        black_box(found);
    }
    fn sum(found: i64) {
        black_box(found);
    }
    match link {
        "cue" => Some([|w, c| count(rivals::cue_checked(w, c)), |w, c| sum(rivals::cue_read(w, c))]),
        "stave" => Some([|w, c| count(rivals::stave_checked(w, c)), |w, c| sum(rivals::stave_read(w, c))]),
        _ => None,
    }
}

/// Million bytes a second in the shortest run over `wire`.
fn speed(wire: &[u8], mut run: impl FnMut(&[u8])) -> f64 {
    let one = |_| {
        let begun = Instant::now();
        run(black_box(wire));
        begun.elapsed().as_secs_f64()
    };
    wire.len() as f64 / (0..RUNS).map(one).fold(f64::MAX, f64::min) / 1e6
}

fn row((name, profile): &Link) -> String {
    let (clean, damaged) = (wires::clean(profile, LEN), wires::damaged(profile, LEN));
    let decoded = |wire: &[u8], len| {
        let decoder = || Decoder::new(Wire::ToDrive, Arc::clone(profile));
        speed(wire, |wire| drop(black_box(run::decode(decoder(), wire, len))))
    };
    let whole = decoded(&clean, LEN);
    let share = |other: f64| format!("{other:6.0} ({:.2})", other / whole);
    let (hit, small, ones) = (decoded(&damaged, LEN), decoded(&clean, 62), decoded(&clean, 1));
    let rivals = rivals_of(name).into_iter().flatten().map(|rival| {
        let rival = speed(&clean, |wire| rival(wire, &profile.kinds[0].check));
        format!("{rival:6.0} ({:.2})", whole / rival)
    });
    let rivals: Vec<String> = rivals.collect();
    format!("{name:8} {whole:6.0} {} {} {ones:6.1} {}", share(hit), share(small), rivals.join(" "))
}

fn main() {
    println!("link      whole one in 20 hit   reads of 62    ones find, check     all fields");
    let asked: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    for link in links().iter().filter(|(name, _)| asked.is_empty() || asked.iter().any(|asked| asked == name)) {
        println!("{}", row(link));
    }
}
