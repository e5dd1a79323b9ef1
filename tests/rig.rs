//! Real firmware, a real wire, real pins: two programs for an 8-bit microcontroller in a chip simulator are the
//! witness that is not ours. The table of cases is in `rig/cases.rs`, the judgement in `rig/judge.rs`.
//!
//! The witness: `ATmega328P` programs in `tests/firmware`, written from the link formats alone and compiled by `avr-gcc`;
//! `libsimavr`, which runs them; the pins of the drive board as a value-change dump (IEEE 1364-2005). Needs avr-gcc, a C
//! compiler and libsimavr; without them it says so and judges nothing, unless `WHEELTAP_RIG=required` is set.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "rig/at_pins.rs"]
mod at_pins;
#[path = "rig/cases.rs"]
mod cases;
#[path = "rig/dump.rs"]
mod dump;
#[path = "rig/judge.rs"]
mod judge;
#[path = "rig/listener.rs"]
mod listener;
#[path = "rig/orders.rs"]
mod orders;
#[path = "rig/run.rs"]
mod run;
#[path = "terminal/terminal.rs"]
mod terminal;
#[path = "rig/tool_chain.rs"]
mod tool_chain;
#[path = "rig/truth.rs"]
mod truth;

use std::io::Write;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{LazyLock, Mutex};

use cases::{Case, Pins, Range};
use tool_chain::ToolChain;
use wheeltap::engine::event::Happening;
use wheeltap::rover::wheels::Wheel;

/// Says something even while the test's own output is kept back.
fn say(text: &str) {
    std::io::stderr().write_all(format!("{text}\n").as_bytes()).unwrap();
}

static TOOLS: LazyLock<Result<ToolChain, String>> = LazyLock::new(ToolChain::find);

/// Whether this run has to judge every case.
fn required() -> bool {
    std::env::var_os("WHEELTAP_RIG").is_some_and(|value| value == "required")
}

/// The tools, or `None` after saying which is missing.
fn tools() -> Option<&'static ToolChain> {
    if required() {
        assert_eq!(TOOLS.as_ref().err(), None);
    }
    TOOLS.as_ref().map_err(|why| say(&format!("rig skipped: {why}"))).ok()
}

fn judged(tools: &ToolChain, case: &Case<'_>, group: &str) -> Vec<String> {
    let run = run::run(tools, case, group);
    let faults = judge::faults(case, &run);
    let log = run.log.display();
    faults.into_iter().map(|fault| format!("{}: {fault} ({log})", case.name)).collect()
}

/// One case in three, or every one where `WHEELTAP_RIG=required` is set.
#[test]
fn every_case_is_seen_as_it_was() {
    let Some(tools) = tools() else { return };
    let (next, done, faults) = (AtomicUsize::new(0), AtomicUsize::new(0), Mutex::new(Vec::new()));
    let cases: Vec<&Case<'_>> = cases::all().step_by(if required() { 1 } else { 3 }).collect();
    let work = || {
        while let Some(case) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
            let found = judged(tools, case, "cases");
            faults.lock().unwrap().extend(found);
            done.fetch_add(1, Ordering::Relaxed);
        }
    };
    std::thread::scope(|scope| {
        scope.spawn(work);
        scope.spawn(work);
    });
    let faults = faults.into_inner().unwrap();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    let (done, wrong) = (done.into_inner(), cases.iter().filter(|case| !case.wrong_today.is_empty()).count());
    assert_eq!(done, cases.len());
    let of = cases::all().count();
    say(&format!("rig: {done} cases judged of {of}, wheeltap known to be wrong in {wrong} of them"));
}

/// Sound runs judged by wrong rows, and spoilt runs judged by a sound row: each must be found out, in these words.
#[test]
fn the_judge_can_fail() {
    let Some(tools) = tools() else { return };
    let row = |name: &str| cases::all().find(|case| case.name == name).unwrap();
    let as_sound =
        |name: &'static str| Case { pins: Pins::As(&[]), claims: &[], damage: &[], wrong_today: &[], ..*row(name) };
    let planted = [
        (Case { pins: Pins::As(&[Wheel::FL]), ..*row("clean-cue") }, "does not show at [FL]"),
        (Case { claims: &[("lapse", Range(1, 1))], ..*row("clean-cue") }, "finding `lapse` 0 times"),
        (Case { heard: false, ..*row("clean-stave") }, "wanted false, found true"),
        (Case { wrong_today: &["anything"], ..*row("clean-cue") }, "no longer wrong"),
        (Case { stops: false, ..*row("sends-on-change-cue") }, "should have gone on"),
        (Case { stops: true, ..*row("obeys-for-ever") }, "from any stop in the dump"),
        (as_sound("pair-exchanged-in-firmware"), "FL "),
        (as_sound("input-open"), "pins Open"),
        (as_sound("wrong-duty-scale"), "pins Duty("),
        (as_sound("clipped-in-place-of-scaled"), "pins Duty("),
        (as_sound("brown-out-of-command-board-cue"), "`reset-brown-out` 1 times must not be said"),
        (as_sound("watchdog-of-drive-board"), "`reset-watchdog` 4 times must not be said"),
        (as_sound("missing-end-mark-cue"), "damage `truncated` 6 times must not be said"),
        (as_sound("wire-cut-behind-the-tap"), "pins Duty("),
        (Case { apart: &[], ..*row("pair-exchanged-in-loom") }, "partings [(\"pins-loom\", RR)], wanted []"),
        (Case { names: "nothing wrong", ..*row("left-plugs-exchanged") }, "diagnose names"),
    ];
    for (case, words) in planted {
        let faults = judged(tools, &case, "planted");
        assert!(faults.iter().any(|fault| fault.contains(words)), "{}: {words}: {faults:#?}", case.name);
    }
}

/// A sound run judged by what was read in the dump of another one.
#[test]
fn the_judge_of_pins_can_fail() {
    let Some(tools) = tools() else { return };
    let row = |name: &str| cases::all().find(|case| case.name == name).unwrap();
    let sound = row("clean-cue");
    for (name, words) in [
        ("pair-exchanged-in-firmware", "the rig's own measure"),
        ("input-open", "Open, the rig's own measure"),
        ("clock-5.2-percent-fast", "baud; measured Some"),
        ("instant-reversal", "from edges at"),
    ] {
        let mut run = run::run(tools, sound, "exchanged");
        run.at_pins = run::run(tools, row(name), "exchanged").at_pins;
        let faults = judge::faults(sound, &run);
        assert!(faults.iter().any(|fault| fault.contains(words)), "{name}: {words}: {faults:#?}");
    }
}

#[test]
fn the_table_is_whole_and_its_names_are_its_own() {
    let mut names: Vec<&str> = cases::all().map(|case| case.name).collect();
    assert!(names.len() >= 50, "only {} cases", names.len());
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), cases::all().count(), "two cases share a name, so a folder");
    let unnamed = cases::all().filter(|case| matches!(case.pins, Pins::As([_, ..])) && case.names.is_empty());
    let unnamed: Vec<&str> = unnamed.map(|case| case.name).collect();
    assert!(unnamed.is_empty(), "wheels are wrong and `diagnose` is not asked: {unnamed:?}");
}

/// Every fault that two boards, four wires and a loom are known to have has a case of its own.
#[test]
fn every_known_fault_has_its_case() {
    for begins in [
        "clean-cue",
        "clean-stave",
        "clean-plain",
        "pair-exchanged-in-firmware",
        "pair-exchanged-in-loom",
        "inputs-2-and-3-crossed",
        "inputs-1-and-3-crossed",
        "input-open",
        "left-plugs-exchanged",
        "front-plugs-exchanged",
        "diagonal-plugs-exchanged",
        "wrong-sign-row",
        "wrong-duty-scale",
        "clipped-in-place-of-scaled",
        "obeys-for-ever",
        "sends-on-change",
        "reads-until-end-mark",
        "slow-loop-with-queue",
        "leftover-cr",
        "missing-end-mark",
        "start-up-text-glued",
        "brown-out-of-command-board",
        "brown-out-of-drive-board",
        "watchdog-of-drive-board",
        "mute-drive-board",
        "wire-cut-before-the-tap",
        "wire-cut-behind-the-tap",
        "divisor-2.1-percent-fast",
        "clock-4.5-percent-fast",
        "clock-5.2-percent-fast",
        "divisor-8.5-percent-fast",
        "divisor-8.6-percent-slow",
        "tap-at-",
        "noise-weak",
        "noise-middling",
        "noise-strong",
        "noise-by-duty",
        "instant-reversal",
        "two-senders",
        "sequence-gap",
    ] {
        assert!(cases::all().any(|case| case.name.starts_with(begins)), "no case for `{begins}`");
    }
}

/// What the receivers of the rig bear, at the tap (16 samples a bit) and at the drive board (8). The difference of two
/// clocks may be 4.54 % slow to 4.58 % fast with 16 samples, 4.00 % slow to 3.90 % fast with 8, and should be no more than
/// 2.0 % and 1.5 % (Microchip, USART chapter, table of the largest error of the receiver's rate, 8 data bits; read in an
/// excerpt); 5.26 % is more than any receiver bears that looks at the middle of each bit (0.5 / 9.5; Circuit Cellar,
/// excerpt).
#[test]
fn the_rigs_receivers_bear_what_the_data_sheet_says() {
    // The drive board's divisor makes 16 MHz / (8 * 17) of its clock.
    const DRIVE: f64 = 16e6 / 136.0;
    let Some(tools) = tools() else { return };
    for (at_tap, receiver, inside, beyond) in
        [(true, 115_200.0, [-44, -20, 20, 45], [-60, 60]), (false, DRIVE, [-39, -15, 15, 38], [-60, 60])]
    {
        for per_mille in inside.into_iter().chain(beyond) {
            let baud = receiver * (1.0 + f64::from(per_mille) / 1000.0);
            let clock = format!("command-clock={:.0}", baud * 136.0);
            let case = Case { rig: &[&clock, "length=2500"], name: "tolerance", ..*cases::all().next().unwrap() };
            let truth = run::truth(tools, &case, "tolerance");
            let heard = if at_tap { truth.heard_as_sent() } else { truth.orders_answered() };
            let wanted = inside.contains(&per_mille);
            assert_eq!(heard, wanted, "{per_mille} per mille, at the tap: {at_tap}");
        }
    }
}

/// The supply of the command board sags at instants spread over one order and the pause behind it: the reset is named
/// each time, at most the frame that was cut is damaged, and no order is made up.
#[test]
fn a_brown_out_is_named_whenever_it_comes() {
    let Some(tools) = tools() else { return };
    let row = |name: &str| cases::all().find(|case| case.name == name).unwrap();
    for (name, step) in [("brown-out-of-command-board-cue", 0.4), ("brown-out-of-command-board-stave", 0.1)] {
        for place in (0..14).step_by(if required() { 1 } else { 3 }) {
            let at = format!("command-sags={}", 2050.43 + step * f64::from(place));
            let case = Case {
                rig: &[&at, "length=3000"],
                claims: &[
                    ("reset-brown-out", Range(1, 1)),
                    ("silent-while-moving", Range(1, 1)),
                    ("truncated", Range(0, 1)),
                ],
                damage: &[("truncated", Range(0, 1))],
                ..*row(name)
            };
            let faults = judged(tools, &case, "sweep");
            assert!(faults.is_empty(), "{at}: {faults:#?}");
        }
    }
}

#[test]
fn the_same_run_gives_the_same_files() {
    let Some(tools) = tools() else { return };
    let case = cases::all().find(|case| case.name == "noise-by-duty").unwrap();
    let files = ["first", "second"].map(|group| {
        let folder = tools.folder(group, case.name);
        tools.drive(&run::programs(tools, case), &folder, case.rig);
        ["tap.jsonl", "pins.vcd", "truth.txt"].map(|name| std::fs::read(folder.join(name)).unwrap())
    });
    assert!(files[0] == files[1]);
    assert!(files[0].iter().all(|file| file.len() > 1_000));
}

/// The program itself, listening to two pseudo-terminals in real time: every byte is recorded, every order decoded.
/// Times are those of a busy computer here, so only bytes are judged.
#[test]
fn the_program_listens_to_the_rig_in_real_time() {
    let Some(tools) = tools() else { return };
    let case = Case { rig: &["length=2500", "live=1"], name: "live", ..*cases::all().next().unwrap() };
    let run = listener::listen(tools, &case);
    let faults = judge::faults_of_bytes(&case, &run);
    assert!(faults.is_empty(), "{faults:#?}");
}

/// The tap hears at the rate that the program sets, so one that does not fit gives no order at all.
#[test]
fn the_rate_that_is_set_is_honoured() {
    let Some(tools) = tools() else { return };
    let case = Case { rig: &["length=2500", "live=1"], name: "other-rate", ..*cases::all().next().unwrap() };
    let run = listener::listen_at(tools, &case, 57_600);
    let orders = run.events.iter().filter(|event| matches!(event.what, Happening::Frame(_))).count();
    let bytes: u64 = run.events.iter().map(|event| event.len).sum();
    assert_eq!(orders, 0);
    assert!(bytes > 500, "{bytes} bytes of other kinds");
}

/// The same with the console in a real terminal: what it records is what was sent, and shown again it counts every order.
#[test]
fn the_console_shows_records_and_replays_the_rig() {
    let Some(tools) = tools() else { return };
    let case = Case { rig: &["length=3500", "live=1"], name: "live", ..*cases::all().next().unwrap() };
    let run = listener::at_console(tools, &case);
    let faults = judge::faults_of_bytes(&case, &run);
    assert!(faults.is_empty(), "{faults:#?}");
}
