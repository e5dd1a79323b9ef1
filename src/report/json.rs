//! `decode --json`: one object a line. The schema stands in `tests/golden/decode.schema.json`.
//!
//! Offsets and lengths of the kinds `frame`, `damage`, `text` and `noise` tile each wire. Times are whole
//! microseconds: `t_us` is the latest instant of the last byte, `e_us` the earliest.

use serde_json::{Map, Value as Json, json};
use wheeltap_parsers::{Field, LineClock, Nanos, Pins, TextClass, Told, Value, Wire};

use crate::engine::Engine;
use crate::engine::event::{Event, Frame, Happening};
use crate::engine::words::harmless;
use crate::findings::attribution::verdict::Verdict;
use crate::findings::{Finding, Layer};
use crate::report::times;
use crate::rover::file::RoverFile;
use crate::rover::wheels::{Duties, Wheel};

/// An event as one line of JSON; `None` for what is no line of its own.
pub fn event(event: &Event, rover: Option<&RoverFile>) -> Option<Json> {
    let mut line = Map::new();
    let kind = match &event.what {
        Happening::Frame(frame) => {
            frame_parts(&mut line, event, frame, rover);
            "frame"
        }
        Happening::Damage { cause, raw, obeyed, .. } => {
            line.insert("cause".into(), cause.id().into());
            line.insert("text".into(), harmless(raw).into());
            if *obeyed {
                line.insert("obeyed".into(), true.into());
            }
            "damage"
        }
        Happening::Text { class, raw } => {
            line.insert("class".into(), class_id(*class).into());
            if let TextClass::Start { cause: Some(cause), .. } | TextClass::Reset(cause) = class {
                line.insert("reset".into(), cause.id().into());
            }
            line.insert("text".into(), harmless(raw).into());
            "text"
        }
        Happening::Noise { raw } => {
            let hex = crate::engine::words::hex(raw.get(..32).unwrap_or(raw)).replace(' ', "").to_lowercase();
            line.insert("hex".into(), hex.into());
            "noise"
        }
        other => {
            event_parts(&mut line, other);
            "event"
        }
    };
    Some(head(kind, event, line))
}

/// The common beginning of each line, then its own parts.
fn head(kind: &str, event: &Event, own: Map<String, Json>) -> Json {
    let mut line = Map::new();
    line.insert("kind".into(), kind.into());
    if let Some(wire) = event.wire {
        line.insert("wire".into(), wire.symbol().to_string().into());
    }
    line.insert("t_us".into(), micros(event.at).into());
    if event.len > 0 {
        line.insert("e_us".into(), micros(event.span.lo).into());
        line.insert("offset".into(), event.offset.into());
        line.insert("len".into(), event.len.into());
    }
    line.extend(own);
    Json::Object(line)
}

/// Nanoseconds as whole microseconds, rounded down.
pub const fn micros(nanos: Nanos) -> i64 {
    nanos.div_euclid(1000)
}

fn frame_parts(line: &mut Map<String, Json>, event: &Event, frame: &Frame, rover: Option<&RoverFile>) {
    let kind = event.wire.and_then(|wire| rover?.profile(wire)?.kinds.get(frame.kind));
    if let Some(kind) = kind {
        line.insert("name".into(), kind.name.clone().into());
        let fields = kind.fields.iter().zip(frame.values.iter());
        let fields: Map<String, Json> =
            fields.map(|(field, value)| (field.name.clone(), field_json(field, value))).collect();
        line.insert("fields".into(), fields.into());
    }
    if let (Some(meant), Some(Wire::ToDrive)) = (frame.meant, event.wire) {
        line.insert("meant".into(), wheels_json(meant));
    }
    if let Some(confirmed) = frame.confirmed {
        line.insert("confirmed".into(), wheels_json(confirmed));
    }
    if let Some(reply) = frame.reply {
        line.insert("delay_us".into(), json!([micros(reply.delay.lo), micros(reply.delay.hi)]));
    }
    let flags: Vec<&str> = frame.flags.iter().map(crate::engine::event::Flag::id).collect();
    line.insert("flags".into(), flags.into());
}

fn wheels_json(duties: Duties) -> Json {
    let wheels = Wheel::ALL.iter().map(|wheel| (wheel.name().to_owned(), percent(duties[wheel.index()])));
    Json::Object(wheels.collect())
}

/// A duty as per cent, with its tenth.
fn percent(duty: i32) -> Json {
    if duty % 10 == 0 { (duty / 10).into() } else { (f64::from(duty) / 10.0).into() }
}

/// The value of a field, scaled, as JSON.
pub fn field_json(field: &Field, value: Value<'_>) -> Json {
    match value {
        Value::Word(index) => field.words.get(index).map_or(Json::Null, |word| word.clone().into()),
        Value::Text(text) => harmless(text.as_bytes()).into(),
        Value::Int(number) if field.offset == 0 && field.multiply == 1 && field.divide == 1 => number.into(),
        Value::Int(_) | Value::Real(_) => match field.scaled(value) {
            Some(scaled) if scaled.fract() == 0.0 && scaled.abs() < 9e15 => (scaled as i64).into(),
            Some(scaled) => scaled.into(),
            None => Json::Null,
        },
    }
}

const fn class_id(class: TextClass) -> &'static str {
    match class {
        TextClass::Start { .. } => "start",
        TextClass::Reset(_) => "reset",
        TextClass::BrownOut => "brown-out",
        TextClass::Watchdog => "watchdog",
        TextClass::Crash => "crash",
        TextClass::Backtrace => "backtrace",
        TextClass::Download => "download",
        TextClass::FlashError => "flash-error",
        TextClass::StartDetail => "start-detail",
        TextClass::Free => "free",
    }
}

fn event_parts(line: &mut Map<String, Json>, what: &Happening) {
    let (name, detail) = match what {
        Happening::Lapse { certain } => ("lapse", Some(("certain", Json::from(*certain)))),
        Happening::SilentWhileMoving { since } => ("silent-while-moving", Some(("since_us", micros(*since).into()))),
        Happening::NoAnswer { since } => ("no-answer", Some(("since_us", micros(*since).into()))),
        Happening::Bunched { gap, .. } => ("bunched", Some(("gap_us", micros(*gap).into()))),
        Happening::GapInside { by } => ("gap-inside", Some(("by_us", micros(*by).into()))),
        Happening::TooClose { by } => ("too-close", Some(("by_us", micros(*by).into()))),
        Happening::Asleep { lasted } => ("tap-asleep", Some(("lasted_us", micros(*lasted).into()))),
        Happening::Leg { begins: true } => ("leg-begins", None),
        Happening::Leg { begins: false } => ("leg-ends", None),
        Happening::PortGone { .. } => ("port-gone", None),
        Happening::PortBack { .. } => ("port-back", None),
        Happening::Lost { bytes, damaged } => {
            (if *damaged { "missing" } else { "lost" }, Some(("bytes", (*bytes).into())))
        }
        Happening::Pins(pins) => return pins_parts(line, pins),
        Happening::Clock(clock) => return clock_parts(line, clock),
        Happening::Note(text) => ("note", Some(("text", harmless(text.as_bytes()).into()))),
        Happening::Frame(_) | Happening::Damage { .. } | Happening::Text { .. } | Happening::Noise { .. } => return,
    };
    line.insert("event".into(), name.into());
    if let Some((key, value)) = detail {
        line.insert(key.into(), value);
    }
}

/// What the pins told: `null` for a wheel with an open input; wheels that were not recorded are left out.
fn pins_parts(line: &mut Map<String, Json>, pins: &Pins) {
    let told = |(wheel, told): (Wheel, Told)| match told {
        Told::NotProbed => None,
        Told::Open => Some((wheel.name().to_owned(), Json::Null)),
        Told::Duty(duty) => Some((wheel.name().to_owned(), percent(duty))),
    };
    line.insert("event".into(), "pins".into());
    line.insert("place".into(), pins.place.word().into());
    let seen: Map<String, Json> = Wheel::ALL.into_iter().zip(pins.wheels).filter_map(told).collect();
    line.insert("seen".into(), seen.into());
}

fn clock_parts(line: &mut Map<String, Json>, clock: &LineClock) {
    line.insert("event".into(), "clock".into());
    line.insert("baud".into(), (clock.milli_baud as f64 / 1e3).into());
    if let Some(ppm) = clock.error_ppm {
        line.insert("off_percent".into(), (ppm as f64 / 1e4).into());
    }
    line.insert("framing_errors".into(), clock.framing_errors.into());
}

/// A finding as one line of JSON.
pub fn finding(finding: &Finding) -> Json {
    let evidence = |place: &crate::findings::Evidence| {
        json!({
            "wire": place.wire.symbol().to_string(),
            "offset": place.offset,
            "len": place.len,
            "t_us": micros(place.at),
        })
    };
    let mut line = json!({
        "kind": "finding",
        "id": finding.id,
        "severity": finding.severity.id(),
        "layer": finding.layer.id(),
        "count": finding.count,
        "first_us": micros(finding.first),
        "last_us": micros(finding.last),
        "confidence": finding.confidence.id(),
        "says": finding.says,
        "not": finding.not,
        "do": finding.what_to_do,
        "check": finding.check_after,
        "evidence": finding.evidence.iter().map(evidence).collect::<Vec<_>>(),
    });
    if let (Some(wheel), Some(map)) = (finding.wheel, line.as_object_mut()) {
        map.insert("wheel".into(), wheel.name().into());
    }
    line
}

/// The figures of a whole check of a session file.
#[derive(Clone, Debug)]
pub struct Check {
    /// Lines looked at.
    pub lines: u64,
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Bytes of each wire in whole lines.
    pub heard: [u64; 2],
    /// Bytes said to have been received but not kept.
    pub lost: u64,
    /// Time of the last line, microseconds.
    pub ends_us: i64,
    /// The recorder closed the file.
    pub closed: bool,
    /// Line, byte and what is wrong, for each damaged line.
    pub damaged: Vec<(Option<u64>, u64, String)>,
    /// How many more there were.
    pub not_listed: u64,
}

/// A whole check as one object.
pub fn whole_check(check: &Check) -> Json {
    let damaged = check.damaged.iter().map(|(line, byte, why)| json!({ "line": line, "byte": byte, "why": why }));
    json!({
        "kind": "check",
        "lines": check.lines,
        "file_bytes": check.file_bytes,
        "bytes_to_drive": check.heard[0],
        "bytes_from_drive": check.heard[1],
        "lost": check.lost,
        "end_us": check.ends_us,
        "closed": check.closed,
        "damaged": damaged.collect::<Vec<_>>(),
        "not_listed": check.not_listed,
    })
}

/// The last line: counts of each wire, and the rules that could not judge.
pub fn summary(engine: &Engine) -> Json {
    let snapshot = engine.snapshot(engine.now());
    let wires: Vec<Json> = snapshot
        .wires
        .iter()
        .flatten()
        .map(|wire| {
            json!({
                "wire": wire.wire.symbol().to_string(),
                "rate": wire.rate,
                "bytes": wire.bytes,
                "frames": wire.frames,
                "damage": wire.damaged,
                "text": wire.texts,
                "noise": wire.noises,
                "lost": wire.lost,
            })
        })
        .collect();
    let not_judged: Vec<Json> = snapshot
        .not_judged
        .iter()
        .map(|rule| {
            let lacks: Vec<&str> = rule.lacks.iter().map(|need| need.says()).collect();
            json!({ "id": rule.id, "looks_for": rule.looks_for, "lacks": lacks })
        })
        .collect();
    json!({
        "kind": "summary",
        "rover": snapshot.rover,
        "link": snapshot.link,
        "end_us": micros(engine.now()),
        "legs": snapshot.leg_count,
        "resolution_us": snapshot.resolution.map(micros),
        "times": times::json(&snapshot.times),
        "wires": wires,
        "verdict": verdict(&snapshot.verdict),
        "not_judged": not_judged,
    })
}

/// Where to look: what each layer and each cause explains of all troubles.
fn verdict(verdict: &Verdict) -> Json {
    let layers = verdict.layers.iter().map(
        |share| json!({ "layer": share.layer.id(), "count": share.count, "percent": verdict.percent(share.count) }),
    );
    let causes = verdict.causes.iter().map(|part| {
        let of: Map<String, Json> =
            part.of.iter().map(|(trouble, count)| (trouble.id().to_owned(), (*count).into())).collect();
        json!({
            "cause": part.cause.id(),
            "layer": part.cause.layer().map(Layer::id),
            "says": part.cause.says(),
            "count": part.count,
            "of": of,
        })
    });
    let besides =
        verdict.besides.iter().map(|beside| json!({ "layer": beside.layer.id(), "findings": beside.findings }));
    json!({
        "troubles": verdict.troubles,
        "undecided": verdict.undecided,
        "unexplained": verdict.unexplained,
        "layers": layers.collect::<Vec<_>>(),
        "causes": causes.collect::<Vec<_>>(),
        "besides": besides.collect::<Vec<_>>(),
    })
}
