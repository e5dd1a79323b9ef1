//! Holds what wheeltap reads in the dump itself against the rig's own reading of it: bytes and the sender's clock from
//! edges, duties from pins, the findings that need pins, and what `diagnose` names.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::event::{Event, Happening};
use wheeltap::findings::Finding;
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::Wheel;
use wheeltap::run::signals_choice::{Asked, rover_pins};
use wheeltap::source::{PinsSource, Source};
use wheeltap_parsers::{LineClock, Pins, Place, Told, Wire};

use crate::cases::{self, Case};
use crate::dump::{self, Dump};
use crate::judge;
use crate::orders;
use crate::run::Run;

/// What wheeltap made of a dump.
#[derive(Default)]
pub struct AtPins {
    pub events: Vec<Event>,
    pub findings: Vec<Finding>,
}

impl AtPins {
    pub fn read(path: &Path, rover: &str) -> Self {
        let file = built_in::find(rover).unwrap();
        let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
        let asked = Asked { rover: rover_pins(&rover), ..Asked::default() };
        let mut source = PinsSource::file(path, &asked).unwrap();
        let mut engine = Engine::new(source.link().clone(), Some(rover));
        let mut events = Vec::new();
        while let Some(input) = source.next().unwrap() {
            events.extend_from_slice(engine.push(input));
        }
        events.extend_from_slice(engine.finish());
        Self { events, findings: engine.findings() }
    }
}

/// Every way in which wheeltap is wrong about the dump of this case.
pub fn faults(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    seen(run, faults);
    clock(case, run, faults);
    ordered(case, run, faults);
    parted(case, run, faults);
    judge::lapses(case, &run.at_pins.events, &run.dump, 0, faults);
    if !case.names.is_empty() {
        named(case, run, faults);
    }
}

/// A stretch is measured this long behind its beginning and before its end, nanoseconds.
const INSIDE: i64 = 2_500_000;
/// Shorter stretches are not measured.
const SHORTEST: i64 = 40_000_000;

/// Seen at the pins equals the rig's own measure of the same pins: within half a per cent, signs and open inputs exact.
fn seen(run: &Run, faults: &mut Vec<String>) {
    let mut judged = 0;
    for place in Place::BOTH {
        let pins: Vec<&Pins> = run.at_pins.events.iter().filter_map(|event| at(event, place)).collect();
        let end = run.dump.end();
        for wheel in Wheel::ALL {
            let mut begin = None;
            for (now, next) in pins.iter().zip(pins.iter().skip(1).map(Some).chain([None])) {
                let told = now.wheels[wheel.index()];
                let from = *begin.get_or_insert(now.at);
                let to = next.map_or(end, |next| next.at);
                if next.is_some_and(|next| next.wheels[wheel.index()] == told) {
                    continue;
                }
                begin = None;
                if to - from >= SHORTEST {
                    judged += 1;
                    faults.extend(differs(&run.dump, place, wheel, told, (from + INSIDE, to - INSIDE)));
                }
            }
        }
    }
    if judged < 8 {
        faults.push(format!("only {judged} stretches of pins were compared"));
    }
}

fn at(event: &Event, wanted: Place) -> Option<&Pins> {
    match &event.what {
        Happening::Pins(pins) if pins.place == wanted => Some(pins),
        _ => None,
    }
}

fn differs(dump: &Dump, place: Place, wheel: Wheel, told: Told, (from, to): (i64, i64)) -> Option<String> {
    let scope = format!("{}.{}", place.word(), wheel.name().to_lowercase());
    let own = dump.told(&scope, from, to);
    let mirrored = if matches!(wheel, Wheel::FL | Wheel::RL) { -1.0 } else { 1.0 };
    let same = match (told, own) {
        (Told::Open, dump::Told::Open) => true,
        (Told::Duty(duty), dump::Told::Duty(own)) => (f64::from(duty) / 10.0 - own * mirrored).abs() <= 0.5,
        _ => false,
    };
    (!same).then(|| format!("seen at {scope}, {from} to {to} ns: {told:?}, the rig's own measure {own:?}"))
}

/// The clock of the command board's UART, from its divisor at double speed: clock / (8 * (divisor + 1)) (`ATmega328P` data
/// sheet, DS40002061B, chapter USART, table of the rate's equations).
fn clock(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    let number = |words: &[&str], key: &str| -> Option<f64> {
        words.iter().find_map(|word| word.strip_prefix(key)).map(|text| text.parse().unwrap())
    };
    let divisor = number(case.command, "DIVISOR=").unwrap_or(16.0);
    let due = number(case.rig, "command-clock=").unwrap_or(16e6) / (8.0 * (divisor + 1.0));
    let mut clocks = run.at_pins.events.iter().filter_map(|event| match &event.what {
        Happening::Clock(clock) if clock.wire == Wire::ToDrive => Some(clock),
        _ => None,
    });
    match clocks.next_back() {
        Some(LineClock { milli_baud, .. }) if (*milli_baud as f64 / 1e3 / due - 1.0).abs() < 0.001 => {}
        other => faults.push(format!("the command board sends at {due} baud; measured {other:?}")),
    }
}

/// From edges every order is heard, whatever the rate of the sender; nothing is made up.
fn ordered(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    if cases::spoils_bytes(case) {
        return;
    }
    let sent = orders::sent(&run.truth, case.link);
    let decoded: Vec<(&Event, _)> = judge::decoded(&run.at_pins.events).collect();
    if decoded.len() != sent.len() {
        faults.push(format!("{} orders were sent and {} read from edges", sent.len(), decoded.len()));
    }
    for ((event, frame), order) in decoded.iter().zip(&sent) {
        if !judge::is_same(frame, order) || (event.at - order.at).abs() > 20_000 {
            faults.push(format!("from edges at {} us: not the order of {} us", event.at / 1000, order.at / 1000));
        }
    }
}

/// Exactly these partings of pins, at these wheels.
fn parted(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    if !matches!(case.pins, cases::Pins::As(_)) {
        return;
    }
    let mut found: Vec<(&str, Wheel)> = Vec::new();
    for finding in run.at_pins.findings.iter().filter(|finding| finding.id.starts_with("pins-")) {
        found.push((finding.id, finding.wheel.unwrap()));
    }
    let mut wanted = case.apart.to_vec();
    wanted.sort_unstable();
    found.sort_unstable();
    if wanted != found {
        faults.push(format!("partings {found:?}, wanted {wanted:?}"));
    }
}

/// What `diagnose` holds likeliest of the nearest end that is wrong, or says of an open input, when it is given the dump;
/// and where it tells to look: in the program or in the loom, as the pins part.
fn named(case: &Case<'_>, run: &Run, faults: &mut Vec<String>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wheeltap"));
    let out = command.arg("diagnose").arg(&run.vcd).args(["--rover", case.link.rover()]).output().unwrap();
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    let at_wheels = text.lines().skip_while(|line| !line.starts_with("Directions at the wheels' inputs")).nth(1);
    let likeliest = at_wheels.unwrap_or_default();
    let open = text.lines().find(|line| line.starts_with("Wrong, as seen: an input of ")).unwrap_or_default();
    let opens = case.names.starts_with("an input of ");
    if !(if opens { open } else { likeliest }).contains(case.names) || opens == open.is_empty() {
        faults.push(format!("diagnose names `{likeliest}`, `{open}`, wanted `{}`", case.names));
    }
    let places = [("pins-firmware", "the drive board's program:"), ("pins-loom", "the loom:")];
    let turned = !opens && !likeliest.contains("driven as meant");
    for (_, words) in places.iter().filter(|(id, _)| turned && case.apart.iter().any(|(apart, _)| apart == id)) {
        if !text
            .lines()
            .any(|line| line.starts_with("In: ") && line.contains(words) || line.contains(&format!("Look in {words}")))
        {
            faults.push(format!("diagnose does not say to look in {words} {text}"));
        }
    }
    let sound = case.apart.is_empty() && likeliest.contains("driven as meant") && open.is_empty();
    if sound != out.status.success() {
        faults.push(format!("diagnose ends with {:?}: {text}", out.status.code()));
    }
}
