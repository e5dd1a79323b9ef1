//! Times and loads: in words for `decode`, and as the part `times` of the JSON summary.

use serde_json::{Value as Json, json};
use wheeltap_parsers::{Nanos, Wire};

use crate::engine::snapshot::times::{KindTimes, Loaded, Quantiles, Times};
use crate::report::json::micros;

/// As JSON. Times are pairs: not below the first, not above the second.
pub fn json(times: &Times) -> Json {
    let pair = |wires: [u64; 2]| json!({ ">": wires[0], "<": wires[1] });
    let load = |load: Option<Loaded>| {
        load.map_or(
            Json::Null,
            |load| json!({ "mean": thousandths(load.mean), "busiest_second": thousandths(load.busiest_second) }),
        )
    };
    let not_read = |not: &crate::engine::snapshot::times::NotRead| json!({ "ms": not.ms, "dropped": not.dropped });
    let tries = |tries: &crate::engine::snapshot::times::TriesShown| json!({ "what": tries.what, "tries": tries.tries, "failed": tries.failed, "still_allows": thousandths(tries.still_allows) });
    json!({
        "orders": times.orders.as_ref().map(kind),
        "kinds": times.kinds.iter().map(kind).collect::<Vec<_>>(),
        "answers": times.answers.map(spread),
        "no_answer": times.no_answer,
        "answers_not_judged": times.not_judged,
        "lapse_reports": times.lapse_reports.map(spread),
        "bunched": times.bunched,
        "delivered_together": pair(times.together),
        "tap_asleep": pair(times.asleep),
        "load": { ">": load(times.load[0]), "<": load(times.load[1]) },
        "buffer": times.buffer,
        "not_read": times.not_read.iter().map(not_read).collect::<Vec<_>>(),
        "tries": times.tries.iter().map(tries).collect::<Vec<_>>(),
        "tries_not_understood": times.tries_not_understood,
    })
}

fn thousandths(share: u32) -> f64 {
    f64::from(share) / 1000.0
}

fn kind(kind: &KindTimes) -> Json {
    json!({
        "wire": kind.wire.symbol().to_string(),
        "name": kind.name,
        "frames": kind.frames,
        "rhythm": kind.rhythm,
        "gaps": kind.gaps.map(spread),
        "late": kind.late,
        "possibly_late": kind.possibly_late,
    })
}

fn spread(times: Quantiles) -> Json {
    let pair = |[lo, hi]: [Nanos; 2]| json!([micros(lo), micros(hi)]);
    json!({
        "count": times.count,
        "p50_us": pair(times.half),
        "p95_us": pair(times.most),
        "p99_9_us": pair(times.nearly_all),
        "max_us": pair(times.longest),
    })
}

/// In words, a line each; what was not heard has no line.
pub fn words(times: &Times) -> Vec<String> {
    let mut lines: Vec<String> = times.rows().map(kind_words).collect();
    if let Some(answers) = times.answers {
        lines.push(format!("Answers: {}; {} orders without one", quantiles(answers), times.no_answer));
    }
    if let Some(reports) = times.lapse_reports {
        lines.push(format!("The drive board reports a lapse after its last order: {}", quantiles(reports)));
    }
    lines.extend(Wire::BOTH.into_iter().filter_map(|wire| load_words(times, wire)));
    let worst = times.not_read.iter().filter(|not| not.dropped[1] > 0);
    lines.extend(worst.map(|not| {
        let [lo, hi] = not.dropped;
        let (ms, buffer) = (not.ms, times.buffer);
        format!("Not read for {ms} ms at the worst moment, a receive buffer of {buffer} bytes drops {lo} to {hi} bytes")
    }));
    lines.extend(times.tries.iter().map(|tries| {
        let allows = tries.still_allows.div_ceil(10);
        format!(
            "Tried {}: {} bad in {}; that still allows up to {allows} % (95 %)",
            tries.what, tries.failed, tries.tries
        )
    }));
    if times.tries_not_understood > 0 {
        let count = times.tries_not_understood;
        lines.push(format!("Notes that begin with `try` and end neither with `: good` nor with `: bad`: {count}"));
    }
    lines
}

fn kind_words(kind: &KindTimes) -> String {
    let gaps = kind.gaps.map_or_else(String::new, |gaps| format!(", gaps {}", quantiles(gaps)));
    let late = match (kind.late, kind.possibly_late) {
        (0, 0) => String::new(),
        (late, possibly) => format!("; late {late}, possibly {possibly} more"),
    };
    format!("Times {} {}: {}, {}{gaps}{late}", kind.wire.symbol(), kind.name, kind.frames, kind.rhythm)
}

fn load_words(times: &Times, wire: Wire) -> Option<String> {
    let load = times.load[wire.index()]?;
    let percent = |share: u32| format!("{}.{} %", share / 10, share % 10);
    let [mean, most] = [load.mean, load.busiest_second].map(percent);
    Some(format!("Load of wire {}: {mean}, in the busiest second {most}", wire.symbol()))
}

fn quantiles(times: Quantiles) -> String {
    let [half, most, nearly, longest] = [times.half, times.most, times.nearly_all, times.longest].map(range);
    format!("p50 {half}, p95 {most}, p99.9 {nearly}, longest {longest} ms")
}

/// Two ends in milliseconds, one where they are the same.
fn range([lo, hi]: [Nanos; 2]) -> String {
    let ms = |time: Nanos| format!("{:.1}", time as f64 / 1e6);
    let (lo, hi) = (ms(lo), ms(hi));
    if lo == hi { lo } else { format!("{lo} to {hi}") }
}
