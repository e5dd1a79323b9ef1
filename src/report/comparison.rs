//! `compare`: two sessions side by side, in words or as one JSON object (`comparison` in the schema).

use serde_json::{Value as Json, json};

use crate::compare::measure::{Counts, Measure, Spread, Verdict, What};
use crate::compare::{Comparison, FindingPair, LegPair};

/// The whole comparison in lines for a person.
pub fn words(comparison: &Comparison, names: [&str; 2]) -> Vec<String> {
    let mut lines = vec![format!("A: {}", names[0]), format!("B: {}", names[1]), String::new()];
    let differ: Vec<_> = comparison.settings.iter().filter(|setting| setting.values[0] != setting.values[1]).collect();
    lines.push(if differ.is_empty() { "Settings: the same." } else { "Settings that differ:" }.to_owned());
    lines.extend(
        differ.iter().map(|setting| format!("    {}: {} -> {}", setting.name, setting.values[0], setting.values[1])),
    );
    let same = comparison.settings.iter().filter(|setting| setting.values[0] == setting.values[1]);
    lines.extend(same.map(|setting| format!("    the same: {}: {}", setting.name, setting.values[0])));
    lines.push(String::new());
    lines.push("Measured (A -> B):".to_owned());
    lines.extend(comparison.measures.iter().map(measure_words));
    lines.push(String::new());
    lines.push(if comparison.findings.is_empty() { "Findings: none in either." } else { "Findings:" }.to_owned());
    lines.extend(comparison.findings.iter().map(finding_words));
    lines.push(String::new());
    lines.push(if comparison.legs.is_empty() { "Legs: none in either." } else { "Legs (A -> B):" }.to_owned());
    lines.extend(comparison.legs.iter().map(leg_words));
    lines.push(String::new());
    lines.push(footnote(comparison.tests));
    lines
}

fn footnote(tests: usize) -> String {
    format!(
        "\"More than chance\": Fisher's exact test for shares, Mood's median test for values, at 5 % after Holm's \
         correction for {tests} tests. Both take what is counted as independent; what comes in bursts looks surer than it is. \
         A difference in what was driven is a difference too."
    )
}

fn measure_words(measure: &Measure) -> String {
    let figures = match measure.what {
        What::Rate(counts) => counts.map(rate_words).join(" -> "),
        What::Values(spreads) => spreads.map(|side| spread_words(side, measure.unit)).join(" -> "),
    };
    let p =
        if measure.verdict == Verdict::TooFew { String::new() } else { format!(" (p {})", p_words(measure.corrected)) };
    let unit = if matches!(measure.what, What::Rate(_)) { format!(" {}", measure.unit) } else { String::new() };
    format!("    {}: {figures}{unit}: {}{p}", measure.name, measure.verdict.words())
}

fn rate_words(counts: Counts) -> String {
    counts.share().map_or_else(
        || "none".to_owned(),
        |share| format!("{} of {} ({:.2} %)", counts.hits, counts.all, share * 100.0),
    )
}

fn spread_words(spread: Spread, unit: &str) -> String {
    let Some([low, middle, high, last]) = spread.parts.map(|parts| parts.map(|value| in_unit(value, unit))) else {
        return "none".to_owned();
    };
    format!("median {middle:.2} {unit} ({low:.2} to {high:.2}, 99 in 100 within {last:.2}; {} values)", spread.count)
}

/// Microseconds as milliseconds, microvolts as volts.
fn in_unit(value: i64, unit: &str) -> f64 {
    value as f64 / if unit == "ms" { 1e3 } else { 1e6 }
}

fn p_words(p: f64) -> String {
    if p < 0.0001 { "< 0.0001".to_owned() } else { format!("{p:.4}") }
}

fn finding_words(pair: &FindingPair) -> String {
    let change = change(pair);
    let counts = if change == "both" { format!(", {} -> {}", pair.counts[0], pair.counts[1]) } else { String::new() };
    format!("    {change}: {} {}{counts}: {}", pair.severity.id(), pair.id, pair.says)
}

const fn change(pair: &FindingPair) -> &'static str {
    match pair.counts {
        [0, _] => "came",
        [_, 0] => "went",
        _ => "both",
    }
}

fn leg_words(pair: &LegPair) -> String {
    let seconds = pair.mean_s.map(|mean| mean.map_or_else(|| "-".to_owned(), |mean| format!("{mean:.2} s")));
    let turn = pair.correction.map(|turn| turn.map_or_else(|| "-".to_owned(), |turn| format!("{turn:+.1} %")));
    format!(
        "    {}: {} -> {}, mean {} -> {}, mean turn ordered {} -> {}",
        pair.name, pair.counts[0], pair.counts[1], seconds[0], seconds[1], turn[0], turn[1]
    )
}

/// The whole comparison as one object.
pub fn json(comparison: &Comparison, names: [&str; 2]) -> Json {
    json!({
        "kind": "comparison",
        "a": names[0],
        "b": names[1],
        "settings": comparison.settings.iter().map(|setting| json!({
            "name": setting.name,
            "a": setting.values[0],
            "b": setting.values[1],
            "same": setting.values[0] == setting.values[1],
        })).collect::<Vec<_>>(),
        "measures": comparison.measures.iter().map(measure_json).collect::<Vec<_>>(),
        "findings": comparison.findings.iter().map(|pair| json!({
            "id": pair.id,
            "severity": pair.severity.id(),
            "change": change(pair),
            "a": pair.counts[0],
            "b": pair.counts[1],
            "says": pair.says,
        })).collect::<Vec<_>>(),
        "legs": comparison.legs.iter().map(|pair| json!({
            "move": pair.name,
            "a": pair.counts[0],
            "b": pair.counts[1],
            "mean_s": pair.mean_s,
            "turn_percent": pair.correction,
        })).collect::<Vec<_>>(),
        "tests": comparison.tests,
    })
}

fn measure_json(measure: &Measure) -> Json {
    let sides = match measure.what {
        What::Rate(counts) => counts.map(|side| json!({ "hits": side.hits, "all": side.all })),
        What::Values(spreads) => spreads.map(|side| {
            let parts = side.parts.map(|parts| parts.map(|value| in_unit(value, measure.unit)));
            json!({ "count": side.count, "p10_p50_p90_p99": parts })
        }),
    };
    let [a, b] = sides;
    json!({
        "name": measure.name,
        "unit": measure.unit,
        "a": a,
        "b": b,
        "p": measure.p,
        "p_corrected": measure.corrected,
        "verdict": measure.verdict.words(),
    })
}
