//! What the motors bear and how far the rover runs on, from orders on the wire to the snapshot.
#![allow(missing_docs, clippy::unwrap_used)]

use std::sync::Arc;

use crossterm::event::KeyCode;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use wheeltap::console::status::Status;
use wheeltap::console::{Console, Theme};
use wheeltap::engine::Engine;
use wheeltap::engine::snapshot::{MotorLimits, RunOn, Snapshot};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::timing::link::{LinkFacts, WireFacts};
use wheeltap_parsers::{Chunk, Input, Wire};

fn limits(text: &str, bytes: &[u8]) -> MotorLimits {
    snapshot(text, bytes).motors
}

fn snapshot(text: &str, bytes: &[u8]) -> Snapshot {
    let rover = Arc::new(RoverFile::load("rover", text).unwrap());
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "test".to_owned() };
    let mut engine = Engine::new(LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() }, Some(rover));
    let (at, byte_ns) = (1_000_000_000, 86_806);
    engine.push(Input::Chunk(Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: at, hi: at, byte_ns }));
    engine.push(Input::Tick(at + 1_000_000));
    engine.snapshot(at + 1_000_000)
}

/// 180 of 255 is 71 %. With 6 V motors the cap on a full pack is 6.0 / (12.6 - 1.8) = 55.5 %: least drop of an L298 at
/// 1 A, ST L298 data sheet, January 2000, page 3.
#[test]
fn a_plain_line_would_not_stop_and_may_be_over_the_cap() {
    let plain = built_in::find("plain-line").unwrap().text;
    let six_volts = plain.replace("rated_volts = 12.0", "rated_volts = 6.0");
    let moving = limits(&six_volts, b"pace,180\nway,port\n");
    assert_eq!((moving.duty_cap, moving.over, moving.run_on), (Some(555), true, RunOn::Never));
    assert_eq!(moving.pack, Some((12_600, false)), "nobody told the pack: a full one is reckoned with");
    let slow = limits(&six_volts, b"pace,120\nway,port\n");
    assert!(!slow.over);
    let resting = limits(&six_volts, b"pace,180\nway,port\nway,rest\n");
    assert_eq!((resting.over, resting.run_on), (false, RunOn::Resting));
    assert_eq!(limits(plain, b"way,port\n").duty_cap, Some(1000), "12 V motors behind an L298 need no cap");
}

/// The golden cue line orders +62 % and a deadline of 300 ms; at 600 mm/s full speed 0.62 * 600 * 0.3 = 111.6 mm.
#[test]
fn a_deadline_bounds_the_way() {
    let cue = built_in::find("cue-line").unwrap().text;
    let line = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    let run_on = limits(cue, line).run_on;
    assert_eq!(run_on, RunOn::Until { length: 300_000_000, millimetres: Some(112) });
    let unknown = cue.lines().filter(|line| !line.starts_with("full_speed_mm_s")).collect::<Vec<_>>().join("\n");
    assert_eq!(limits(&unknown, line).run_on, RunOn::Until { length: 300_000_000, millimetres: None });
}

/// What an L298 keeps of the supply at 1 A and Tj 25 C (ST L298 data sheet, January 2000, electrical characteristics,
/// page 3), volts: source and sink side least, typical, most, and the total, of which the sheet prints no typical.
const SOURCE: [f64; 3] = [0.95, 1.35, 1.7];
const SINK: [f64; 3] = [0.85, 1.2, 1.6];
const TOTAL: [f64; 2] = [1.8, 3.2];

/// Supplies of a pack of two cells (6.0 empty, 7.4, 8.4 full) and of three (11.1, 12.6 full), volts; what an L298 leaves a
/// motor of them at worst, typically and at best, at 1 A and 100 % duty: supply less the data sheet's totals, and less the
/// sum of its typical halves.
const LEFT: [(f64, [f64; 3]); 5] = [
    (6.0, [2.8, 3.45, 4.2]),
    (7.4, [4.2, 4.85, 5.6]),
    (8.4, [5.2, 5.85, 6.6]),
    (11.1, [7.9, 8.55, 9.3]),
    (12.6, [9.4, 10.05, 10.8]),
];

#[test]
fn an_l298_leaves_a_motor_what_the_data_sheet_says() {
    assert!((SOURCE[0] + SINK[0] - TOTAL[0]).abs() < 1e-9, "the least total is the sum of the least halves");
    const { assert!(SOURCE[2] + SINK[2] > TOTAL[1], "the halves are not both at their worst at once") };
    for (supply, [worst, typical, best]) in LEFT {
        for (found, due) in
            [(supply - TOTAL[1], worst), (supply - SOURCE[1] - SINK[1], typical), (supply - TOTAL[0], best)]
        {
            assert!((found - due).abs() < 1e-9, "{supply} V: {found}, {due}");
        }
        let plain = built_in::find("plain-line").unwrap().text;
        let kept = plain.lines().filter(|line| !line.starts_with("warn_volts") && !line.starts_with("stop_volts"));
        let cells = if supply > 9.0 { 3 } else { 2 };
        let text = kept.collect::<Vec<_>>().join("\n").replace("cells = 3", &format!("cells = {cells}"));
        let text = text.replace("full_volts = 12.6", &format!("full_volts = {supply:.1}"));
        for (pace, share) in [(255, 1.0), (51, 0.2)] {
            for wheel in snapshot(&text, format!("pace,{pace}\nway,port\n").as_bytes()).wheels {
                let volts = wheel.motor_millivolts.unwrap().map(|millivolts| millivolts as f64 / 1000.0);
                // Whole millivolts, rounded down.
                let near = |found: f64, due: f64| (-1e-9..0.001_1).contains(&(due * share - found));
                assert!(near(volts[0], worst) && near(volts[1], best), "{supply} V at {pace}: {volts:?}");
                assert!(volts[0] < typical * share && typical * share < volts[1]);
            }
        }
    }
}

/// The bridge's total at 2 A is 4.9 V at most (the same page), more than at 1 A. What is said of a motor's volts holds for
/// 1 A, so the screen has to say so.
#[test]
fn the_page_of_wheels_says_at_which_current() {
    let at_two_amperes = 4.9;
    assert!(at_two_amperes > TOTAL[1]);
    let plain = built_in::find("plain-line").unwrap().text;
    let (snapshot, status) = (snapshot(plain, b"pace,255\nway,port\n"), Status::default());
    for (columns, rows) in [(80, 24), (120, 40)] {
        let mut console = Console::new(Theme::default());
        console.key(KeyCode::Char('w').into(), &snapshot, &status);
        let mut terminal = Terminal::new(TestBackend::new(columns, rows)).unwrap();
        terminal.draw(|frame| console.draw(frame, &snapshot, &status)).unwrap();
        let shown = terminal.backend().to_string();
        assert!(shown.contains("inferred at 1 A") && shown.contains("motor 9.4-10.8 V"), "{shown}");
    }
}
