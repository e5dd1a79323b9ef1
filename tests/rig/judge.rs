//! Holds what wheeltap said of a run against what really happened.

use wheeltap::engine::event::{Event, Frame, Happening};
use wheeltap::rover::wheels::Wheel;
use wheeltap_parsers::{Value, Wire};

use crate::at_pins;
use crate::cases::{Case, Pins, Range};
use crate::dump::{Dump, Told};
use crate::orders::{self, Order};
use crate::run::Run;

/// Every way in which wheeltap, or the rig, is wrong about this case.
pub fn faults(case: &Case<'_>, run: &Run) -> Vec<String> {
    let mut faults = Vec::new();
    let orders = orders::sent(&run.truth, case.link);
    tiles(run, &mut faults);
    ordered(case, run, &orders, &mut faults);
    meant(case, run, &mut faults);
    lapses(case, &run.events, &run.dump, case.latency(), &mut faults);
    told_lapses(case, run, &mut faults);
    legs(case, run, &mut faults);
    resets(run, &mut faults);
    counts("finding", case.claims, &claims(run), &mut faults);
    counts("damage", case.damage, &run.damage(), &mut faults);
    at_pins::faults(case, run, &mut faults);
    known(case, faults)
}

/// Takes out what the table says wheeltap is wrong about today; such a word that fits nothing any more is a fault.
fn known(case: &Case<'_>, faults: Vec<String>) -> Vec<String> {
    let healed = case.wrong_today.iter().filter(|word| !faults.iter().any(|fault| fault.contains(**word)));
    let healed: Vec<String> = healed.map(|word| format!("no longer wrong, strike it from the table: {word}")).collect();
    let new = faults.into_iter().filter(|fault| !case.wrong_today.iter().any(|word| fault.contains(word)));
    new.chain(healed).collect()
}

/// The first two lines of the command board's start-up text.
const START_UP: u64 = 67;

/// What is wrong with the bytes alone, when times are those of a computer's wall clock.
pub fn faults_of_bytes(case: &Case<'_>, run: &Run) -> Vec<String> {
    let mut faults = Vec::new();
    // A port is emptied when listening begins: some of the start-up text may go with that, no more.
    let missing = run.truth.tapped[Wire::ToDrive.index()].len() as u64 - tiled(run, Wire::ToDrive, &mut faults);
    if missing > START_UP {
        faults.push(format!("{missing} bytes are missing"));
    }
    let sent = orders::sent(&run.truth, case.link);
    let decoded: Vec<&Frame> = decoded(&run.events).map(|(_, frame)| frame).collect();
    if sent.len() < 20 || sent.len() != decoded.len() {
        faults.push(format!("{} orders were sent and {} decoded", sent.len(), decoded.len()));
    }
    let differ = decoded.iter().zip(&sent).filter(|(frame, order)| !is_same(frame, order)).count();
    if differ > 0 {
        faults.push(format!("{differ} orders differ from what was sent"));
    }
    counts("damage", case.damage, &run.damage(), &mut faults);
    faults
}

fn claims(run: &Run) -> Vec<(&'static str, u64)> {
    run.findings.iter().map(|finding| (finding.id, finding.count)).collect()
}

/// Every byte of the tap is in exactly one event.
fn tiles(run: &Run, faults: &mut Vec<String>) {
    for wire in Wire::BOTH {
        let next = tiled(run, wire, faults);
        let heard = run.truth.tapped[wire.index()].len() as u64;
        if next != heard && heard > 0 {
            faults.push(format!("{wire:?}: the events cover {next} of {heard} bytes"));
        }
    }
}

/// How many bytes the events of this wire tile.
fn tiled(run: &Run, wire: Wire, faults: &mut Vec<String>) -> u64 {
    let mut next = 0;
    for event in run.events.iter().filter(|event| event.wire == Some(wire) && event.len > 0) {
        if event.offset != next {
            faults.push(format!("{wire:?}: an event begins at {} and not at {next}: {event:?}", event.offset));
        }
        next = event.offset + event.len;
    }
    next
}

/// The orders among the events.
pub fn decoded(events: &[Event]) -> impl Iterator<Item = (&Event, &Frame)> {
    events.iter().filter_map(|event| match &event.what {
        Happening::Frame(frame) if event.wire == Some(Wire::ToDrive) => Some((event, frame)),
        _ => None,
    })
}

/// Ordered equals what was sent: no order that was not, and none left out but those whose bytes the tap heard otherwise.
fn ordered(case: &Case<'_>, run: &Run, orders: &[Order], faults: &mut Vec<String>) {
    let mut found = vec![false; orders.len()];
    for (event, frame) in decoded(&run.events) {
        // The stop bit is sampled half a bit before it ends, or just behind its end where the sender is as fast as the
        // receiver bears; and the log has microseconds.
        let (from, to) = (event.span.lo - 2_000, event.span.hi + 8_000);
        let near = |order: &&Order| (from..=to).contains(&order.at);
        let same = orders.iter().position(|order| near(&order) && is_same(frame, order));
        let small = || orders.iter().filter(near).any(|order| frame.raw.bytes().eq_ignore_ascii_case(&order.bytes));
        match same {
            Some(place) => found[place] = true,
            None if small() => faults.push(format!("taken as sound with a letter hit: byte {}", event.offset)),
            None => faults.push(format!("never sent: at {} us, byte {}", event.at / 1000, event.offset)),
        }
    }
    for (order, found) in orders.iter().zip(found) {
        let wanted = case.heard && !is_hit(run, order);
        if wanted != found {
            faults.push(format!("the order at {} us: wanted {wanted}, found {found}", order.at / 1000));
        }
    }
    if orders.len() < 4 {
        faults.push(format!("only {} orders were sent", orders.len()));
    }
}

/// True when the tap's receiver made other bytes of this order, or none.
fn is_hit(run: &Run, order: &Order) -> bool {
    let (from, to) = (order.begins - 40_000, order.at + 40_000);
    let tapped = run.truth.tapped[Wire::ToDrive.index()].iter();
    let heard: Vec<u8> = tapped.filter(|byte| (from..to).contains(&byte.at)).map(|byte| byte.byte).collect();
    heard != order.bytes
}

pub fn is_same(frame: &Frame, order: &Order) -> bool {
    let numbers: Vec<i64> =
        frame.values.iter().filter_map(|value| if let Value::Int(n) = value { Some(n) } else { None }).collect();
    frame.raw.bytes() == order.bytes && numbers.starts_with(&order.numbers)
}

/// How long after a change the drive board may still be at the order before.
const SETTLES: i64 = 5_000_000;
/// Around a reset of the drive board nothing is measured; behind it the wheels must be as meant again.
const OFF: i64 = 30_000_000;
/// Shorter stretches are not measured.
const SHORTEST: i64 = 60_000_000;

/// Meant equals the pins at the wheel: signs exact, duty within one per cent.
fn meant(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    let Pins::As(odd) = case.pins else { return };
    let mut changes = run.meant();
    changes.push((run.truth.sent[0].last().map_or(0, |byte| byte.at), [0; 4]));
    let mut judged = 0;
    let mut odd_seen = [false; 4];
    for pair in changes.windows(2) {
        let (from, to) = (pair[0].0 + SETTLES, pair[1].0 - 1_000_000 - case.latency());
        let off = run.truth.resets.iter().any(|(_, board, at)| board == "drive" && from < at + OFF && to > at - OFF);
        if to - from < SHORTEST || off {
            continue;
        }
        for wheel in Wheel::ALL {
            let meant = f64::from(pair[0].1[wheel.index()]) / 10.0;
            let told = at_wheel(run, wheel, from, to);
            let same = matches!(told, Told::Duty(duty) if (duty - meant).abs() <= 1.0 && (duty == 0.0 || duty.signum() == meant.signum()));
            judged += 1;
            odd_seen[wheel.index()] |= !same;
            if !same && !odd.contains(&wheel) {
                faults.push(format!(
                    "{} {} to {} us: meant {meant}, pins {told:?}",
                    wheel.name(),
                    from / 1000,
                    to / 1000
                ));
            }
        }
    }
    let healthy: Vec<&Wheel> = odd.iter().filter(|wheel| !odd_seen[wheel.index()]).collect();
    if !healthy.is_empty() {
        faults.push(format!("the planted fault does not show at {healthy:?}"));
    }
    if judged < 8 {
        faults.push(format!("only {judged} stretches were measured"));
    }
}

/// What the half bridge of this wheel was told, + towards the nose: the left side's motors are mounted mirrored.
fn at_wheel(run: &Run, wheel: Wheel, from: i64, to: i64) -> Told {
    match run.dump.told(&format!("wheel.{}", wheel.name().to_lowercase()), from, to) {
        Told::Duty(duty) if matches!(wheel, Wheel::FL | Wheel::RL) => Told::Duty(-duty),
        told => told,
    }
}

/// Every certain lapse is a stop of all wheels within two milliseconds, and every stop without an order is a lapse.
pub fn lapses(case: &Case<'_>, events: &[Event], dump: &Dump, latency: i64, faults: &mut Vec<String>) {
    let rests = dump.rests();
    let lapses: Vec<&Event> =
        events.iter().filter(|event| matches!(event.what, Happening::Lapse { certain: true })).collect();
    for lapse in &lapses {
        let near = rests.iter().map(|rest| (rest - lapse.at).abs()).min();
        if case.stops && near.is_none_or(|away| away > 2_000_000 + latency) {
            faults.push(format!("the lapse at {} us is {near:?} ns from any stop in the dump", lapse.at / 1000));
        }
        if !case.stops && near.is_some_and(|away| away <= 2_000_000) {
            faults.push(format!("the drive board should have gone on after {} us", lapse.at / 1000));
        }
    }
}

/// Every leg ends where the pins of the drive board came to rest, and every rest of the pins ends a leg.
fn legs(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    let off = run.truth.resets.iter().any(|(_, board, _)| board == "drive");
    if !matches!(case.pins, Pins::As([])) || off {
        return;
    }
    let ends: Vec<i64> = run
        .events
        .iter()
        .filter(|event| matches!(event.what, Happening::Leg { begins: false }))
        .map(|event| event.at)
        .collect();
    let rests = run.dump.rests();
    let near = |at: i64, others: &[i64]| others.iter().any(|other| (other - at).abs() < 4_000_000 + case.latency());
    let odd_ends = ends
        .iter()
        .filter(|at| !near(**at, &rests))
        .map(|at| format!("a leg ends at {} us, the pins do not", at / 1000));
    faults.extend(odd_ends);
    // Where an order comes as the deadline runs out nobody can say which was first.
    let ties = lapses_at(run, false);
    let odd_rests = rests
        .iter()
        .filter(|at| !near(**at, &ends) && !near(**at, &ties))
        .map(|at| format!("the pins rest at {} us and no leg ends", at / 1000));
    faults.extend(odd_rests);
}

/// When wheeltap saw certain, or possible, lapses.
fn lapses_at(run: &Run, wanted: bool) -> Vec<i64> {
    let lapse = |event: &&Event| matches!(event.what, Happening::Lapse { certain } if certain == wanted);
    run.events.iter().filter(lapse).map(|event| event.at).collect()
}

/// Every lapse that the drive board told is one of wheeltap's too, certain or possible.
fn told_lapses(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    let sent = &run.truth.sent[Wire::FromDrive.index()];
    let told = sent.windows(8).filter(|bytes| bytes.iter().map(|byte| byte.byte).eq(*b"=lapsed "));
    let lapses = [lapses_at(run, true), lapses_at(run, false)].concat();
    for at in told.map(|bytes| bytes[0].at) {
        if !lapses.iter().any(|lapse| (lapse - at).abs() < 4_000_000 + case.latency()) {
            faults.push(format!("the drive board told a lapse at {} us and wheeltap saw none", at / 1000));
        }
    }
}

/// Each reset that was done is named once, with its cause.
fn resets(run: &Run, faults: &mut Vec<String>) {
    for (kind, board) in [("brown-out", "command"), ("brown-out", "drive"), ("watchdog", "drive")] {
        let done = run.truth.resets.iter().filter(|(k, b, _)| k == kind && b == board).count() as u64;
        let id = format!("reset-{kind}");
        let named = run.findings.iter().filter(|finding| finding.id == id && finding.says.contains(board));
        let said: u64 = named.map(|finding| finding.count).sum();
        if done != said {
            faults.push(format!("{done} resets ({kind}, {board} board) were done and {said} named"));
        }
    }
}

/// Exactly these ids, each this often.
fn counts(what: &str, wanted: &[(&str, Range)], found: &[(&'static str, u64)], faults: &mut Vec<String>) {
    for (id, range) in wanted {
        let count: u64 = found.iter().filter(|(other, _)| other == id).map(|(_, count)| count).sum();
        if !range.contains(count) {
            faults.push(format!("{what} `{id}` {count} times, wanted {range:?}"));
        }
    }
    for (id, count) in found.iter().filter(|(id, _)| !wanted.iter().any(|(other, _)| other == id)) {
        faults.push(format!("{what} `{id}` {count} times must not be said here"));
    }
}
