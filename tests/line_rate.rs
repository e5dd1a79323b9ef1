//! The line rate is found, or honestly fenced in, from 256 bytes of taps: against a wire at the level of bits that
//! knows nothing of the model inside the search.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "line_rate/bit_wire.rs"]
mod bit_wire;

use std::sync::Arc;

use bit_wire::{Chance, Edges, Receiver};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::rate::uart::HeardByte;
use wheeltap::timing::rate::{FIRST, Models, Search, Verdict};
use wheeltap_parsers::Profile;

/// Rates a link may have: those of the practice and the older ones, from memory.
const LINKS: [u32; 17] = [
    1200, 2400, 4800, 9600, 14_400, 19_200, 28_800, 38_400, 57_600, 74_880, 115_200, 128_000, 230_400, 250_000,
    460_800, 500_000, 921_600,
];

/// Bytes of taps in one trial.
const TAPS: usize = 256;

/// Frames of the stave, as its publisher wrote them down: five golden ones.
const STAVES: [[u8; 11]; 5] = [
    [0xF1, 0x2A, 0xA2, 0x4D, 0x4D, 0xA2, 0x3C, 0x02, 0x04, 0x00, 0xFE],
    [0xF1, 0x2B, 0x30, 0x98, 0x98, 0x30, 0x3C, 0x02, 0x0E, 0x0B, 0xFE],
    [0xF1, 0x2C, 0x64, 0x64, 0x64, 0x64, 0x3C, 0x02, 0x06, 0x0B, 0xFE],
    [0xF1, 0x2D, 0x7F, 0x97, 0x7F, 0x97, 0x3C, 0x02, 0x01, 0x02, 0xFE],
    [0xF2, 0x30, 0x64, 0x64, 0x64, 0x64, 0x00, 0x02, 0x07, 0x04, 0xFE],
];

/// What the taps of one trial send.
struct Taps {
    lines: Vec<Vec<u8>>,
    profile: Option<Arc<Profile>>,
}

/// Words, values and ends of a link nobody has seen before.
fn taps(chance: &mut Chance) -> Taps {
    let word = |chance: &mut Chance| -> String {
        let length = 2 + chance.below(7);
        (0..length).map(|_| (b'a' + chance.below(26) as u8) as char).collect()
    };
    let style = chance.below(10);
    if style == 0 {
        let profile = RoverFile::load("stave", built_in::find("stave").unwrap().text).unwrap().profiles[0].clone();
        return Taps { lines: STAVES.map(Vec::from).into(), profile };
    }
    let end = *chance.pick(&["\n", "\r\n"]);
    let (head, apart) = (word(chance), *chance.pick(&[",", " ", "=", ":"]));
    let lines = (0..3 + chance.below(6)).map(|_| {
        let text = match style {
            1..=3 => format!("{head}{apart}{}", chance.below(256)),
            4 | 5 => format!("{}{}", word(chance).to_uppercase(), chance.below(100)),
            _ => format!("{head}{apart}{}", word(chance)),
        };
        (text + end).into_bytes()
    });
    Taps { lines: lines.collect(), profile: None }
}

/// What a chip prints when it starts (public logs, excerpts), at its own rate.
const START_UP: &[u8] = b"ets Jul 29 2019 12:21:46\r\n\r\nrst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n\
configsip: 0, SPIWP:0xee\r\nmode:DIO, clock div:1\r\nload:0x3fff0018,len:4\r\nentry 0x400806a8\r\n";

struct Outcome {
    link: u32,
    error: f64,
    verdict: Verdict,
    sent: usize,
    evidence: Vec<String>,
}

/// One search over one link; `link` is drawn when not given.
fn search(models: &Arc<Models>, seed: u64, link: Option<u32>) -> Outcome {
    let mut chance = Chance::new(seed);
    let drawn = *chance.pick(&LINKS);
    let link = link.unwrap_or(drawn);
    let error = chance.sway() * 0.02;
    let Taps { lines, profile } = taps(&mut chance);
    let (told, restarts) = (chance.below(2) == 0, chance.below(2) == 0);
    let adapter = 1.0 + chance.sway() * 0.003;
    let resets = chance.below(10) == 0;
    let mut search = Search::new(Arc::clone(models), FIRST, profile);
    let mut sent = 0;
    let mut pushed = 0;
    while search.certain().is_none() {
        let line = chance.pick(&lines).clone();
        let reset = resets && pushed == 1;
        let (bytes, rate) = if reset { (START_UP, 115_200.0) } else { (line.as_slice(), f64::from(link)) };
        if !reset && sent + line.len() > TAPS {
            break;
        }
        sent += if reset { 0 } else { line.len() };
        pushed += 1;
        let edges = Edges::sent(bytes, rate * (1.0 + error), 0.03, &mut chance);
        let heard = Receiver { rate: f64::from(search.rate()) * adapter, restarts }.hears(&edges, &mut chance);
        let burst: Vec<HeardByte> =
            heard.into_iter().map(|(byte, broken)| HeardByte { byte, framing_error: told && broken }).collect();
        search.hear(&burst, false);
    }
    Outcome { link, error: (1.0 + error) / adapter - 1.0, verdict: search.so_far(), sent, evidence: search.evidence() }
}

/// Seeded links over 1200 to 921600 baud, the sender's clock up to 2 % off either way, 256 bytes of taps. 200 of them;
/// `WHEELTAP_LINKS=1000` for more.
#[test]
fn the_rate_is_found_or_honestly_fenced_in() {
    let models = Arc::new(Models::default());
    let links = std::env::var("WHEELTAP_LINKS").map_or(200, |links| links.parse().unwrap());
    let outcomes: Vec<Outcome> = (0..links).map(|seed| search(&models, seed, None)).collect();
    let (mut found, mut fenced, mut wrong, mut sent) = (0, 0, Vec::new(), Vec::new());
    let (mut told, mut held) = (0, 0);
    for outcome in &outcomes {
        match &outcome.verdict {
            Verdict::Found { rate, clock } if *rate == outcome.link => {
                found += 1;
                sent.push(outcome.sent);
                if let Some([low, high]) = clock {
                    told += 1;
                    held += usize::from((f64::from(*low)..=f64::from(*high)).contains(&(outcome.error * 1000.0)));
                }
            }
            Verdict::Bounded { at_least, at_most }
                if outcome.verdict.allows(outcome.link) && (at_least.is_some() || at_most.is_some()) =>
            {
                fenced += 1;
            }
            other => wrong.push(format!("{} ({:+.1} %): {other:?}", outcome.link, outcome.error * 100.0)),
        }
    }
    sent.sort_unstable();
    let of = |tenths: usize| sent.get(sent.len() * tenths / 10).copied().unwrap_or(0);
    println!("found {found}, fenced in {fenced}, wrong {}", wrong.len());
    println!("bytes of taps until found: half {}, nine in ten {}", of(5), of(9));
    println!("clock error told {told} times, the truth inside {held} times");
    for outcome in outcomes.iter().filter(|outcome| outcome.verdict.rate() != Some(outcome.link)) {
        println!("  {} ({:+.1} %): {:?} {:#?}", outcome.link, outcome.error * 100.0, outcome.verdict, outcome.evidence);
    }
    assert!(100 * (found + fenced) >= 99 * links, "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(100 * found >= 97 * links, "only {found} found");
    assert!(held * 100 >= told * 95, "the clock error lay inside {held} of {told} spans");
}

/// A rate that is no usual one must not be called one.
#[test]
fn an_unusual_rate_is_not_called_a_usual_one() {
    let models = Arc::new(Models::default());
    let mut said = 0;
    for link in [300, 6800, 33_000, 100_000, 170_000, 340_000, 700_000, 2_000_000] {
        for seed in 0..20 {
            let verdict = search(&models, 5000 + seed, Some(link)).verdict;
            if !verdict.allows(link) {
                println!("{link}, seed {seed}: {verdict:?}");
                said += 1;
            }
        }
    }
    assert_eq!(said, 0);
}

/// One tap is too little, and is called so.
#[test]
fn too_few_bytes_are_called_too_few() {
    let models = Arc::new(Models::default());
    let mut search = Search::new(models, FIRST, None);
    assert_eq!(search.so_far(), Verdict::TooFew { bytes: 0 });
    search.hear(
        &[HeardByte { byte: b'x', framing_error: false }, HeardByte { byte: b'\n', framing_error: false }],
        false,
    );
    assert_eq!(search.so_far(), Verdict::TooFew { bytes: 2 });
    assert!(search.so_far().words().contains("Keep tapping"), "{}", search.so_far().words());
}

/// A port without a rate gives the same at each: no wire does, and no rate is claimed.
#[test]
fn the_same_text_at_every_rate_is_no_rate() {
    let mut search = Search::new(Arc::new(Models::default()), FIRST, None);
    let line: Vec<HeardByte> =
        b"way,port\n".iter().map(|byte| HeardByte { byte: *byte, framing_error: false }).collect();
    for _ in 0..10 {
        search.hear(&line, false);
    }
    assert_eq!(search.certain(), Some(Verdict::SameAtEveryRate));
}
