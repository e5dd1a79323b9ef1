//! Real firmware, a real wire, real pins: two programs for an 8-bit microcontroller in a chip simulator are the
//! witness that is not ours. The table of cases is in `rig/cases.rs`, the judgement in `rig/judge.rs`.
//!
//! The witness: ATmega328P programs in `tests/firmware`, written from the link formats alone and compiled by avr-gcc;
//! libsimavr, which runs them; the pins of the drive board as a value-change dump (IEEE 1364-2005). Needs avr-gcc, a C
//! compiler and libsimavr; without them it says so and judges nothing, unless `WHEELTAP_RIG=required` is set.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "rig/cases.rs"]
mod cases;
#[path = "rig/dump.rs"]
mod dump;
#[path = "rig/judge.rs"]
mod judge;
#[path = "rig/orders.rs"]
mod orders;
#[path = "rig/run.rs"]
mod run;
#[path = "rig/tool_chain.rs"]
mod tool_chain;
#[path = "rig/truth.rs"]
mod truth;

use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use cases::Case;
use tool_chain::ToolChain;

/// Says something even while the test's own output is kept back.
fn say(text: &str) {
    writeln!(std::io::stderr(), "{text}").unwrap();
}

/// The tools, or `None` after saying which is missing.
fn tools() -> Option<ToolChain> {
    let tools = ToolChain::find();
    if std::env::var_os("WHEELTAP_RIG").is_some_and(|value| value == "required") {
        return Some(tools.unwrap());
    }
    tools.map_err(|why| say(&format!("rig skipped: {why}"))).ok()
}

fn judged(tools: &ToolChain, case: &Case) -> Vec<String> {
    let run = run::run(tools, case);
    let faults = judge::faults(case, &run);
    let log = run.log.display();
    faults.into_iter().map(|fault| format!("{}: {fault} ({log})", case.name)).collect()
}

#[test]
fn every_case_is_seen_as_it_was() {
    let Some(tools) = tools() else { return };
    let (next, faults) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    let cases: Vec<&Case> = cases::all().collect();
    let work = || {
        while let Some(case) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
            let found = judged(&tools, case);
            faults.lock().unwrap().extend(found);
        }
    };
    std::thread::scope(|scope| {
        scope.spawn(work);
        scope.spawn(work);
    });
    let faults = faults.into_inner().unwrap();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    let wrong = cases.iter().filter(|case| !case.wrong_today.is_empty()).count();
    say(&format!("rig: {} cases judged, wheeltap known to be wrong in {wrong} of them", cases.len()));
}

#[test]
fn the_table_is_whole_and_its_names_are_its_own() {
    let mut names: Vec<&str> = cases::all().map(|case| case.name).collect();
    assert!(names.len() >= 50, "only {} cases", names.len());
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), cases::all().count(), "two cases share a name, so a folder");
}
