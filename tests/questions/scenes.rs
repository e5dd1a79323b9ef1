//! Rovers with a trouble each, as far as their link shows it.

use std::path::Path;
use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::snapshot::Snapshot;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::source::open::open;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Chunk, Input, Wire};

use crate::hand_made::{MS, POWER, Read, checked, cue, got, nay, play, play_held, play_then, to};

fn now(engine: &mut Engine) -> Snapshot {
    engine.snapshot(engine.now())
}

fn log(name: &str, rover: &str) -> Engine {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("logs").join(name);
    let file = built_in::find(rover).unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let mut source = open(path.to_str().unwrap()).unwrap();
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    while let Some(input) = source.next().unwrap() {
        engine.push(input);
    }
    engine.finish();
    engine
}

/// Ten minutes with a reversed plug at RR, a sender of changes and two sags (`incident/truth.json`).
pub fn evening() -> Snapshot {
    now(&mut log("moonwagon-evening.jsonl", "cue-line"))
}

/// A sound run.
pub fn letter_good() -> Snapshot {
    now(&mut log("two-chip-good.jsonl", "letter-line"))
}

/// Orders and a person's remarks, at whole seconds.
fn noted(rover: &str, steps: &[&str]) -> Snapshot {
    let file = built_in::find(rover).unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() };
    let mut engine = Engine::new(LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() }, Some(rover));
    let mut offset = 0;
    for (step, second) in steps.iter().zip(1_i64..) {
        let at = second * 1_000 * MS;
        if step.starts_with("seen ") || step.starts_with("try ") {
            engine.push(Input::Note { at, text: step });
        } else {
            let bytes = format!("{step}\n").into_bytes();
            let chunk = Chunk { wire: Wire::ToDrive, offset, bytes: &bytes, lo: at, hi: at, byte_ns: 86_806 };
            offset += bytes.len() as u64;
            engine.push(Input::Chunk(chunk));
        }
        engine.push(Input::Tick(at + 500 * MS));
    }
    now(&mut engine)
}

const SHEET: &str =
    "seen sheet: tape yes, rover \"Moonwagon, plain line\", version \"1.0\", firmware \"\", change \"\"";
const ROLLERS: &str = "seen rollers: FL as-drawn FR as-drawn RL as-drawn RR as-drawn";
const REST: &str = "seen rest at high duty: FL still FR still RL still RR still";

/// RR's leads are exchanged: forward shows it backward, left (FL -, FR +, RL +, RR -) shows it forward.
pub fn reversed() -> Snapshot {
    noted(
        "plain-line",
        &[
            SHEET,
            REST,
            ROLLERS,
            "pace,180",
            "way,ahead",
            "seen ahead at high duty: FL forward FR forward RL forward RR backward",
            "way,rest",
            "way,port",
            "seen port at high duty: FL backward FR forward RL forward RR forward",
            "way,rest",
        ],
    )
}

/// The plugs of FL and RL are exchanged: forward is right, left turns FL as RL should and RL as FL should.
pub fn exchanged() -> Snapshot {
    noted(
        "plain-line",
        &[
            SHEET,
            REST,
            ROLLERS,
            "way,ahead",
            "seen ahead at high duty: FL forward FR forward RL forward RR forward",
            "way,port",
            "seen port at high duty: FL forward FR forward RL backward RR backward",
            "way,spin-port",
            "seen spin-port at high duty: FL backward FR forward RL backward RR forward",
            "way,rest",
        ],
    )
}

/// The wheels turn as they should; the rollers of two of them run the other way.
pub fn rollers() -> Snapshot {
    noted(
        "plain-line",
        &[
            SHEET,
            REST,
            "seen rollers: FL other-hand FR as-drawn RL as-drawn RR other-hand",
            "way,ahead",
            "seen ahead at high duty: FL forward FR forward RL forward RR forward",
            "way,port",
            "seen port at high duty: FL backward FR forward RL forward RR backward",
            "way,rest",
        ],
    )
}

/// One order of the cue line: forward 30, left -65, gear 2.
pub fn one_order() -> Snapshot {
    let mut engine = play_then("cue-line", &[cue(1_000, 42, 17, [30, -65, 0])], 100);
    now(&mut engine)
}

/// The cue line repeated, each order answered so much later.
fn answered(delay: impl Fn(i64) -> i64) -> Snapshot {
    let orders = (0..60).map(|n| cue(1_000 + n * 100, n, n, [30, 0, 0]));
    let answers = (0..60).map(|n| got(1_000 + n * 100 + delay(n), n));
    let reads: Vec<Read> = orders.chain(answers).collect();
    now(&mut play("cue-line", &reads))
}

/// Each order is answered a second behind its last byte.
pub fn a_second_late() -> Snapshot {
    let at = |n: i64| 2_000 + n * 3_000 + n * 173 % 400;
    let orders = (0..12).map(|n| cue(at(n), n, n, [0; 3]));
    let answers = (0..12).map(|n| got(at(n) + 1_000 + n % 3, n));
    now(&mut play("cue-line", &orders.chain(answers).collect::<Vec<Read>>()))
}

/// Each answer comes 15 ms later than the one before.
pub fn growing() -> Snapshot {
    answered(|n| 10 + n * 15)
}

/// Every third order is refused, and intact.
pub fn refused() -> Snapshot {
    let orders = (0..30).map(|n| cue(1_000 + n * 100, n, n, [30, 0, 0]));
    let answers = (0..30).map(|n| if n % 3 == 0 { nay(1_004 + n * 100, n, 4) } else { got(1_004 + n * 100, n) });
    now(&mut play("cue-line", &orders.chain(answers).collect::<Vec<Read>>()))
}

/// A plain line, moving, then silence for half a second.
pub fn plain_moving() -> Snapshot {
    now(&mut play_then("plain-line", &[to(1_000, "pace,60\n"), to(2_000, "way,ahead\n")], 500))
}

/// Garbage, the same for the same order: another line rate.
pub fn same_garbage() -> Snapshot {
    let garbage = "\u{e}\u{10}~\u{1f}\u{7}x";
    let reads: Vec<Read> = (0..40).map(|n| to(1_000 + n * 400, garbage)).collect();
    now(&mut play("plain-line", &reads))
}

/// Start-up text without a line end before the first order.
pub fn glued() -> Snapshot {
    let first = format!("eye ok heap 91k net up {}", checked("c000 p00 drv f+000 s+000 t+000 g3 d30 "));
    now(&mut play("cue-line", &[to(500, POWER), to(900, &first)]))
}

/// Orders every 100 ms through an adapter of 16 ms.
pub fn behind_an_adapter() -> Snapshot {
    let reads: Vec<Read> = (0..200).map(|n| cue((1_000 + n * 100 + 15) / 16 * 16, n, n, [30, 0, 0])).collect();
    now(&mut play_held("cue-line", &reads, 16))
}

/// Twenty tries, none bad.
pub fn tries() -> Snapshot {
    noted("plain-line", &["try worst start: good"; 20])
}
