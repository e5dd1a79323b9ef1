//! The check as the engine follows it: orders of the plain line in, questions out.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::sync::Arc;

use wheeltap_parsers::{Chunk, Input, Nanos, Wire};

use crate::diagnosis::sheet::Seen;
use crate::diagnosis::test::Order;
use crate::diagnosis::wheel_state::DutyLevel;
use crate::engine::Engine;
use crate::engine::snapshot::Snapshot;
use crate::engine::snapshot::wheel_check::{Ask, Slide, Watched};
use crate::rover::built_in;
use crate::rover::file::RoverFile;
use crate::timing::link::{LinkFacts, WireFacts};

const MS: Nanos = 1_000_000;

struct Bench {
    engine: Engine,
    now: Nanos,
    offset: u64,
}

impl Bench {
    fn new(style: &str) -> Self {
        let file = built_in::find(style).unwrap();
        let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
        let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "plain".to_owned() };
        let link = LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() };
        Self { engine: Engine::new(link, Some(rover)), now: 0, offset: 0 }
    }

    fn line(&mut self, text: &str) -> &mut Self {
        self.now += 500 * MS;
        let bytes = format!("{text}\n").into_bytes();
        let (lo, hi) = (self.now - MS, self.now);
        let chunk = Chunk { wire: Wire::ToDrive, offset: self.offset, bytes: &bytes, lo, hi, byte_ns: 86_000 };
        self.engine.push(Input::Chunk(chunk));
        self.offset += bytes.len() as u64;
        self.engine.push(Input::Tick(self.now));
        self
    }

    fn note(&mut self, text: &str) -> &mut Self {
        self.now += 500 * MS;
        self.engine.push(Input::Note { at: self.now, text });
        self
    }

    fn look(&self) -> Snapshot {
        self.engine.snapshot(self.now)
    }
}

/// The move asked for or watched.
fn watched(ask: &Ask) -> &Watched {
    match ask {
        Ask::Order(watched) | Ask::Wheels(watched) | Ask::Floor(watched) => watched,
        other => panic!("{other:?}"),
    }
}

const BEGIN: &str = "seen sheet: tape yes, rover \"\", version \"\", firmware \"\", change \"\"";

#[test]
fn make_ready_then_rest_then_a_move_then_its_wheels() {
    let mut bench = Bench::new("plain-line");
    assert_eq!(bench.look().check.ask, Ask::Prepare);
    assert_eq!(bench.look().check.heading.rover, "Moonwagon, plain line");
    bench.note(BEGIN);
    let rest = bench.look().check.ask;
    assert!(matches!(&rest, Ask::Wheels(watched) if watched.should == [0; 4]), "{rest:?}");
    bench.note("seen rest at high duty: FL still FR still RL still RR still");
    bench.note("seen rollers: FL as-drawn FR as-drawn RL as-drawn RR as-drawn");
    let next = bench.look().check.ask;
    assert!(matches!(&next, Ask::Order(watched) if watched.ordered.is_none()), "{next:?}");
    // Another move than the one asked for is taken too: 128 of 255 is half.
    let other = if watched(&next).order == Order::Row(2) { "starboard" } else { "port" };
    bench.line("pace,128").line(&format!("way,{other}")).line("way,rest");
    let ask = bench.look().check.ask;
    let Ask::Wheels(watched) = &ask else { panic!("{ask:?}") };
    assert_eq!((watched.ordered, watched.asked_for), (Some(50), false));
    bench.note(&format!("seen {other} at high duty: FL still FR still RL still RR still"));
    assert!(matches!(bench.look().check.ask, Ask::Order(_)), "one leg is asked once");
    bench.note("seen undo: last");
    assert_eq!(bench.look().check.ask, ask, "taken back, it is asked again");
}

#[test]
fn a_row_seen_as_meant_makes_its_wheels_solid_and_no_other_row() {
    let mut bench = Bench::new("plain-line");
    bench.note(BEGIN).line("way,port");
    assert!(bench.look().wheels.iter().all(|wheel| !wheel.proven));
    bench.note("seen port at high duty: FL backward FR forward RL forward RR forward");
    let proven = |bench: &Bench| bench.look().wheels.map(|wheel| wheel.proven);
    assert_eq!(proven(&bench), [true, true, true, false], "RR turned otherwise");
    bench.note("seen port at high duty: FL backward FR forward RL forward RR backward");
    assert_eq!(proven(&bench), [true; 4]);
    bench.line("way,ahead");
    assert_eq!(proven(&bench), [false; 4], "ahead was not seen");
    bench.note(BEGIN).line("way,port");
    assert_eq!(proven(&bench), [false; 4], "after a repair everything is to be seen again");
}

#[test]
fn the_same_notes_give_the_same_sheet_whenever_they_come() {
    let notes = [
        (500 * MS, BEGIN),
        (600 * MS, "seen rest at high duty: FL still FR still RL still RR still"),
        (700 * MS, "seen ahead at high duty: FL forward FR forward RL forward RR backward"),
        (700 * MS, "the tape came off"),
        (800 * MS, "seen nonsense: FL forward"),
    ];
    let report = |order: &[usize]| {
        let mut bench = Bench::new("plain-line");
        for place in order {
            bench.engine.push(Input::Note { at: notes[*place].0, text: notes[*place].1 });
        }
        bench.look().check
    };
    let first = report(&[0, 1, 2, 3, 4]);
    assert_eq!(report(&[2, 0, 4, 3, 1]), first);
    let sheet = first.report.unwrap();
    assert_eq!(sheet.lines.len(), 2);
    assert_eq!(sheet.proofs[0].seen().unwrap()[3], Seen::Backward);
    assert!(first.not_read[0].contains("seen nonsense"), "{:?}", first.not_read);
}

#[test]
fn one_wheel_alone_is_asked_only_where_the_link_can_order_it() {
    for (style, can) in [("plain-line", false), ("cue-line", true)] {
        let bench = Bench::new(style);
        assert_eq!(bench.engine.check().available().one_wheel, can, "{style}");
    }
}

/// Every row as X rollers make it, seen on the stand; then the rollers.
fn seen_sound(bench: &mut Bench) {
    bench.note(BEGIN).note("seen rest: FL still FR still RL still RR still");
    for (code, wheels) in [
        ("ahead", ["forward", "forward", "forward", "forward"]),
        ("astern", ["backward", "backward", "backward", "backward"]),
        ("port", ["backward", "forward", "forward", "backward"]),
        ("starboard", ["forward", "backward", "backward", "forward"]),
        ("ahead-port", ["still", "forward", "forward", "still"]),
        ("ahead-starboard", ["forward", "still", "still", "forward"]),
        ("astern-port", ["backward", "still", "still", "backward"]),
        ("astern-starboard", ["still", "backward", "backward", "still"]),
        ("spin-port", ["backward", "forward", "backward", "forward"]),
        ("spin-starboard", ["forward", "backward", "forward", "backward"]),
    ] {
        let [fl, fr, rl, rr] = wheels;
        bench.note(&format!("seen {code} at low duty: FL {fl} FR {fr} RL {rl} RR {rr}"));
    }
    bench.note("seen rollers: FL as-drawn FR as-drawn RL as-drawn RR as-drawn");
}

#[test]
fn an_accepted_rover_stays_accepted_through_its_slide_on_the_floor() {
    let accepted = |bench: &Bench| bench.look().check.report.unwrap().accepted;
    let mut bench = Bench::new("plain-line");
    seen_sound(&mut bench);
    let check = bench.look().check;
    let next = check.report.as_ref().unwrap().next.clone().unwrap();
    assert_eq!((accepted(&bench), &check.ask), (true, &Ask::Nothing), "{:?}", check.report);
    assert_eq!(next.order, Some((Order::Row(2), DutyLevel::Low, true)), "{next:?}");
    bench.line("pace,80").line("way,ahead").line("way,rest");
    assert_eq!((accepted(&bench), bench.look().check.ask), (true, Ask::Nothing), "nothing is asked of another move");
    bench.line("way,port").line("way,rest");
    let ask = bench.look().check.ask;
    assert!(matches!(&ask, Ask::Floor(watched) if watched.should == [-1, 1, 1, -1]), "{ask:?}");
    assert!(accepted(&bench));
    bench.note("seen port at low duty on the floor: went left turned none");
    let check = bench.look().check;
    assert_eq!((accepted(&bench), check.ask), (true, Ask::Nothing));
    let report = check.report.unwrap();
    assert_eq!((report.slide, &report.next), (Slide::AsMeant, &None));
    bench.note("seen port at low duty on the floor: went right turned none");
    let check = bench.look().check;
    assert!(!check.report.unwrap().accepted, "a slide to the other side is no proof");
    assert!(matches!(&check.ask, Ask::Order(watched) if watched.floor), "{:?}", check.ask);
    bench.note("seen undo: last");
    assert!(accepted(&bench));
}

#[test]
fn what_was_left_out_stays_so_after_a_repair_until_it_is_brought_back() {
    let mut bench = Bench::new("plain-line");
    bench.note(BEGIN).note("seen rest: FL still FR still RL still RR still").note("seen skip: rollers");
    bench.note("seen skip: row astern");
    bench.note("seen sheet: tape yes, rover \"\", version \"\", firmware \"\", change \"leads of RR\"");
    let report = bench.look().check.report.unwrap();
    assert_eq!(report.left_out, ["the look at the rollers", "`astern`"]);
    bench.note("seen rest: FL still FR still RL still RR still");
    let asks = |bench: &mut Bench| {
        let mut asked = Vec::new();
        for _ in 0..12 {
            let ask = bench.look().check.ask;
            let Ask::Order(watched) = &ask else {
                asked.push(ask);
                break;
            };
            let Order::Row(row) = watched.order else { panic!("{ask:?}") };
            asked.push(ask.clone());
            let signs = bench
                .engine
                .check()
                .moves()
                .signs(row)
                .map(|sign| ["backward", "still", "forward"][(sign + 1) as usize]);
            let code = bench.engine.check().moves().code(row).to_owned();
            bench.note(&format!(
                "seen {code} at {}: FL {} FR {} RL {} RR {}",
                watched.duty.words(),
                signs[0],
                signs[1],
                signs[2],
                signs[3]
            ));
        }
        asked
    };
    let asked = asks(&mut bench);
    assert!(!asked.contains(&Ask::Rollers), "{asked:?}");
    assert!(asked.iter().all(|ask| !matches!(ask, Ask::Order(watched) if watched.order == Order::Row(1))), "{asked:?}");
    bench.note("seen skip: nothing");
    assert!(bench.look().check.report.unwrap().left_out.is_empty());
    let asked = asks(&mut bench);
    assert!(asked.contains(&Ask::Rollers), "{asked:?}");
}

#[test]
fn an_answer_that_does_not_fit_is_named_and_can_be_doubted() {
    let mut bench = Bench::new("plain-line");
    seen_sound(&mut bench);
    bench.note("seen ahead at high duty: FL forward FR backward RL still RR forward");
    let report = bench.look().check.report.unwrap();
    assert_eq!(report.doubtful, ["seen ahead at high duty: FL forward FR backward RL still RR forward"]);
    let doubt = crate::diagnosis::sheet::write(report.doubt.as_ref().unwrap(), bench.engine.check().moves());
    assert_eq!(doubt, "seen doubt: ahead at high duty");
    bench.note(&doubt);
    let doubted = bench.look().check.report.unwrap();
    assert_eq!((doubted.doubtful.len(), doubted.doubt.clone()), (0, None));
    assert_ne!(doubted.ranking, report.ranking, "it counts for less");
    bench.note("seen undo: last");
    assert_eq!(bench.look().check.report.unwrap().doubtful.len(), 1, "taken back, it is named again");
}
