//! The plainest link: what is claimed of it, what must not be, and what it cannot show.
#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::findings::{Finding, Need};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Wire};

const MS: i64 = 1_000_000;

/// Plays lines at their times in milliseconds on the plain line.
fn play(lines: &[(i64, &str)]) -> Engine {
    let file = built_in::find("plain-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "plain".to_owned() };
    let link = LinkFacts { wires: [Some(facts.clone()), None], ..LinkFacts::default() };
    let mut engine = Engine::new(link, Some(rover));
    let mut offset = 0;
    for (at, line) in lines {
        let bytes = format!("{line}\n").into_bytes();
        let read_at = at * MS;
        engine.push(Input::Tick(read_at - 2 * MS));
        engine.push(Input::Chunk(chunk(&facts, Wire::ToDrive, offset, read_at, read_at - 2 * MS, &bytes)));
        offset += bytes.len() as u64;
    }
    engine.finish();
    engine
}

fn count(engine: &Engine, id: &str) -> u64 {
    engine.findings().iter().find(|finding| finding.id == id).map_or(0, |finding| finding.count)
}

/// Presses of a finger: way, rest, way, rest, at human times.
fn presses() -> Vec<(i64, String)> {
    let ways = ["ahead", "port", "astern", "spin-port", "starboard"];
    (0..40_i64)
        .flat_map(|n| {
            let way = ways[n as usize % ways.len()];
            let at = 1_000 + n * 1_700 + n * n % 311;
            [(at, format!("way,{way}")), (at + 420 + n * 37 % 500, "way,rest".to_owned())]
        })
        .collect()
}

fn borrowed(lines: &[(i64, String)]) -> Vec<(i64, &str)> {
    lines.iter().map(|(at, line)| (*at, line.as_str())).collect()
}

#[test]
fn plain_driving_gives_one_standing_note_and_nothing_else() {
    let lines = presses();
    let engine = play(&borrowed(&lines));
    let ids: Vec<&str> = engine.findings().iter().map(|finding| finding.id).collect();
    assert_eq!(ids, ["nothing-would-stop-it"]);
    assert_eq!(engine.snapshot(0).leg_count, 40);
}

#[test]
fn what_the_link_cannot_show_is_said_with_the_field_that_would() {
    let lines = presses();
    let engine = play(&borrowed(&lines));
    let not_judged = engine.not_judged();
    let lacks = |id: &str| not_judged.iter().find(|rule| rule.id == id).map(|rule| rule.lacks.clone()).unwrap();
    assert_eq!(lacks("sequence-gap"), [Need::Sequence]);
    assert_eq!(lacks("silent-while-moving"), [Need::Cadence]);
    assert_eq!(lacks("lapse"), [Need::Deadline]);
    let silent: Vec<Finding> =
        engine.findings().into_iter().filter(|one| not_judged.iter().any(|rule| rule.id == one.id)).collect();
    assert!(silent.is_empty(), "a rule that cannot judge claims nothing: {silent:#?}");
}

#[test]
fn a_release_that_never_came_is_a_doubt() {
    let mut lines = presses();
    lines.remove(11);
    let engine = play(&borrowed(&lines));
    assert_eq!(count(&engine, "no-rest-between"), 1);
}

#[test]
fn double_sends_are_noted_but_a_quick_finger_is_not() {
    let twice: Vec<(i64, String)> =
        presses().into_iter().flat_map(|(at, line)| [(at, line.clone()), (at + 4, line)]).collect();
    assert_eq!(count(&play(&borrowed(&twice)), "double-sends"), 80);
    let mut quick = presses();
    quick.extend((0..10).flat_map(|n| {
        let at = 100_000 + n * 240;
        [(at, "way,ahead".to_owned()), (at + 110, "way,rest".to_owned())]
    }));
    assert_eq!(count(&play(&borrowed(&quick)), "double-sends"), 0);
}

#[test]
fn a_flood_of_duty_is_a_doubt_but_a_slow_hand_is_not() {
    let flood = |step: i64| -> Vec<(i64, String)> {
        let mut lines = presses();
        lines.extend((0..60).map(|n| (100_000 + n * step, format!("pace,{}", 100 + n))));
        lines
    };
    assert_eq!(count(&play(&borrowed(&flood(20))), "duty-flood"), 1);
    assert_eq!(count(&play(&borrowed(&flood(100))), "duty-flood"), 0);
}

#[test]
fn a_lenient_reader_obeys_a_broken_number_and_the_wheels_follow() {
    let engine = play(&[(1_000, "pace,51x"), (2_000, "way,ahead")]);
    let meant: Vec<Option<i32>> = engine.snapshot(0).wheels.iter().map(|wheel| wheel.meant).collect();
    assert_eq!(meant, [Some(200); 4], "51 of 255");
    assert_eq!(count(&engine, "not-a-number"), 1);
}

#[test]
fn a_leftover_carriage_return_is_no_order() {
    let engine = play(&[(1_000, "way,ahead\r"), (2_000, "way,port")]);
    assert_eq!(engine.snapshot(0).leg_count, 1, "only the second line is one the drive board knows");
}
