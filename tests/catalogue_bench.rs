//! Every simulated fault on every link style it can have, through two adapters: claimed, missed, falsely claimed, or
//! said to be beyond judging on that link. Run with `--nocapture` for the table.
//!
//! The simulation is our own work and so no witness of a rule by itself: each rule has its tests on links made by hand
//! in `tests/catalogue/`. This shows how the rules do together. `WHEELTAP_SEEDS=8` tries more.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "at_once/threads.rs"]
mod threads;

use std::collections::{BTreeMap, HashSet};
use std::mem::discriminant;
use std::sync::Arc;

use threads::at_once;
use wheeltap::engine::Engine;
use wheeltap::findings::{Layer, Severity};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::simulation::{Fault, Settings, Style};
use wheeltap::source::Source;
use wheeltap::source::simulated::{Adapter, SimulatedSource};
use wheeltap_parsers::Input;

const SECOND: i64 = 1_000_000_000;

/// Ids that are a right answer to a fault, and ids that may come along with it.
struct Due {
    rules: &'static [&'static str],
    ids: &'static [&'static str],
    along: &'static [&'static str],
}

fn due(fault: Fault) -> Due {
    let due = |rules, ids, along| Due { rules, ids, along };
    match fault {
        Fault::LeadsReversed(_)
        | Fault::Dead(_)
        | Fault::PlugsExchanged(..)
        | Fault::WheelsExchanged(..)
        | Fault::RowSign(..)
        | Fault::RowsExchanged(..) => due(&[], &["turn-correction"], &[]),
        Fault::SendOnChange => {
            due(&["sends-on-change"], &["sends-on-change"], &["lapse", "silent-while-moving", "late"])
        }
        Fault::SupplySag => due(
            &["reset"],
            &["reset-brown-out"],
            &[
                "lapse",
                "truncated",
                "glued",
                "glued-at-start",
                "gear-after-restart",
                "silent-while-moving",
                "late",
                "unknown-word",
                "bad-check",
                // The panel was still pressed as the board came back, and the simulated board obeys it at once.
                "moves-at-start",
            ],
        ),
        // What the radio holds up comes late, and then at once.
        Fault::RadioGaps => due(&["panel-gap"], &["panel-gap"], &["lapse", "late", "bunched"]),
        Fault::Noise | Fault::MotorNoise => due(
            &["damaged-frames"],
            &[
                "bad-check",
                "noise",
                "unknown-word",
                "not-a-number",
                "out-of-range",
                "truncated",
                "glued",
                "overlong",
                "nearly-an-order",
            ],
            if fault == Fault::MotorNoise {
                &["lapse", "late", "sequence-gap", "refused-intact", "silent-while-moving", "noise-with-duty"]
            } else {
                &["lapse", "late", "sequence-gap", "refused-intact", "silent-while-moving"]
            },
        ),
        Fault::LostBytes => due(
            &["damaged-frames"],
            &[
                "bad-check",
                "truncated",
                "overlong",
                "glued",
                "unknown-word",
                "noise",
                "not-a-number",
                "out-of-range",
                "nearly-an-order",
            ],
            &["lapse", "late", "sequence-gap", "silent-while-moving"],
        ),
        // After a stall the orders that waited come at once.
        Fault::LateSender => due(&["late"], &["late"], &["lapse", "silent-while-moving", "bunched"]),
        Fault::ReleaseLost => due(&["no-rest-between"], &["no-rest-between", "move-stands"], &[]),
        Fault::NoEndMark => due(
            &["damaged-frames", "nothing-fits"],
            &["overlong", "glued", "truncated", "bad-check", "nothing-fits", "noise", "unknown-word", "not-a-number"],
            // A reader that waits for the mark answers one second late each time.
            &["lapse", "silent-while-moving", "answer-one-second", "no-end-mark"],
        ),
        Fault::BootGlued => due(&["glued-at-start"], &["glued-at-start"], &["moves-at-start"]),
        Fault::CrBeforeLf => due(
            &["damaged-frames"],
            &["unknown-word", "truncated", "not-a-number", "overlong", "bad-check"],
            &["nothing-fits"],
        ),
        Fault::TwoPanels => due(&["panel-gap"], &["two-panels"], &["lapse"]),
        Fault::AnswersCut => due(&["silent-wire"], &["silent-wire"], &["answer-missing"]),
    }
}

/// Where to look, by where the fault was planted; more than one where the link cannot tell them apart.
fn layers(fault: Fault, style: Style) -> &'static [Layer] {
    match fault {
        Fault::SupplySag => &[Layer::Power],
        Fault::RadioGaps | Fault::ReleaseLost | Fault::TwoPanels => &[Layer::Panel],
        // Without a check a number that was hit can be one that was sent.
        Fault::Noise | Fault::MotorNoise | Fault::LostBytes if style == Style::PlainLine => {
            &[Layer::Wire, Layer::Untold]
        }
        Fault::Noise | Fault::MotorNoise | Fault::LostBytes => &[Layer::Wire],
        // Without the panel's own counter the radio can be what held it up.
        Fault::LateSender => &[Layer::CommandBoard, Layer::Untold],
        // Without its end mark a frame that is encoded is nothing that any file knows.
        Fault::NoEndMark if style == Style::Bead => &[Layer::CommandBoard, Layer::Tap],
        // So it is here, until the habit of the sender is known.
        Fault::SendOnChange if matches!(style, Style::Stave | Style::Bead) => &[Layer::CommandBoard, Layer::Untold],
        Fault::SendOnChange | Fault::NoEndMark | Fault::BootGlued | Fault::CrBeforeLf => &[Layer::CommandBoard],
        // Either the lead back or the board that sends on it.
        Fault::AnswersCut => &[Layer::Wire, Layer::Reader],
        // The others sit at a wheel.
        _ => &[Layer::Wheel],
    }
}

/// The layer with the largest share, or that of what was found besides.
fn first_layer(engine: &Engine) -> Option<Layer> {
    let verdict = engine.snapshot(engine.now()).verdict;
    let largest = verdict.layers.first().map(|share| (share.count, share.layer));
    let besides = verdict.besides.first().map(|beside| beside.layer);
    match largest {
        Some((count, layer)) if count >= verdict.unexplained => Some(layer),
        _ if verdict.troubles > 0 => Some(Layer::Untold),
        _ => besides,
    }
}

fn run(style: Style, seed: u64, fault: Option<Fault>, ms: u8, seconds: i64) -> Engine {
    let file = built_in::find(style.name()).unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let mut settings = Settings::demo(style, seed);
    settings.faults = fault.into_iter().collect();
    let mut source = SimulatedSource::new(&settings, Adapter::Timer { ms }).ends_at(seconds * SECOND);
    let mut engine = Engine::new(source.link().clone(), Some(rover));
    while let Some(input) = source.next().unwrap() {
        engine.push(input);
    }
    engine.finish();
    engine
}

#[derive(Clone, Debug, Default)]
struct Score {
    claimed: u32,
    missed: u32,
    beyond: u32,
    falsely: BTreeMap<&'static str, u32>,
    /// Claimed, but the verdict looks elsewhere first.
    astray: u32,
}

/// Whether a line of the plain link is an order by its format, from the formats alone.
fn is_order(line: &str) -> bool {
    const WAYS: [&str; 11] = [
        "ahead",
        "astern",
        "port",
        "starboard",
        "ahead-port",
        "ahead-starboard",
        "astern-port",
        "astern-starboard",
        "spin-port",
        "spin-starboard",
        "rest",
    ];
    match line.split_once(',') {
        Some(("way", way)) => WAYS.contains(&way),
        Some(("pace" | "lamp", value)) => value.parse::<u8>().is_ok(),
        _ => false,
    }
}

/// The lines of the plain link that stand behind the three of its start.
fn lines(seed: u64, fault: Option<Fault>) -> Vec<String> {
    let mut settings = Settings::demo(Style::PlainLine, seed);
    settings.faults = fault.into_iter().collect();
    let mut source = SimulatedSource::new(&settings, Adapter::Timer { ms: 1 }).ends_at(40 * SECOND);
    let mut bytes = Vec::new();
    while let Some(input) = source.next().unwrap() {
        if let Input::Chunk(chunk) = input {
            bytes.extend_from_slice(chunk.bytes);
        }
    }
    bytes.split(|byte| *byte == b'\n').skip(3).map(|line| String::from_utf8_lossy(line).into_owned()).collect()
}

/// Whether a wire that hits bytes has left a mark that nobody can take for an order: where nothing checks an order, one
/// that was hit can be another order, and in these few bytes perhaps none was hit.
fn leaves_a_mark(seed: u64, fault: Fault) -> bool {
    let sound = lines(seed, None);
    lines(seed, Some(fault)).iter().any(|line| !is_order(line) && !sound.contains(line))
}

fn score(score: &mut Score, (fault, style): (Fault, Style), engine: &Engine, shows: bool) {
    let due = due(fault);
    let findings = engine.findings();
    let not_judged = engine.not_judged();
    if findings.iter().any(|finding| due.ids.contains(&finding.id)) {
        score.claimed += 1;
        let look = first_layer(engine);
        score.astray += u32::from(look.is_none_or(|layer| !layers(fault, style).contains(&layer)));
    } else if !shows || due.rules.iter().all(|rule| not_judged.iter().any(|one| one.id == *rule)) {
        score.beyond += 1;
    } else {
        score.missed += 1;
    }
    let known = |id: &str| due.ids.contains(&id) || due.along.contains(&id);
    for finding in findings.iter().filter(|finding| finding.severity <= Severity::Fault && !known(finding.id)) {
        *score.falsely.entry(finding.id).or_default() += 1;
    }
}

fn seeds() -> u64 {
    std::env::var("WHEELTAP_SEEDS").ok().and_then(|seeds| seeds.parse().ok()).unwrap_or(4)
}

/// Of the faults that only a person at the wheels can see, the first of each sort: what a tap sees of the others is the
/// same.
fn faults() -> Vec<Fault> {
    let mut sorts = HashSet::new();
    Fault::all()
        .into_iter()
        .filter(|fault| !due(*fault).rules.is_empty() || sorts.insert(discriminant(fault)))
        .collect()
}

#[test]
fn every_fault_on_every_style() {
    println!("{:<20} {:<11} claimed missed beyond astray  falsely", "fault", "link");
    let (mut all, mut missed) = (Score::default(), Vec::new());
    let scored = at_once(&faults(), |fault| {
        let styles = Style::ALL.into_iter().filter(|style| fault.applies_to(*style));
        let of = |style| {
            let mut one = Score::default();
            let hits = matches!(fault, Fault::Noise | Fault::MotorNoise | Fault::LostBytes);
            for seed in 100..100 + seeds() {
                let shows = !hits || style != Style::PlainLine || leaves_a_mark(seed, *fault);
                for ms in [1, 16] {
                    score(&mut one, (*fault, style), &run(style, seed, Some(*fault), ms, 40), shows);
                }
            }
            (*fault, style, one)
        };
        styles.map(of).collect::<Vec<_>>()
    });
    for (fault, style, one) in scored.into_iter().flatten() {
        println!(
            "{:<20} {:<11} {:>7} {:>6} {:>6} {:>6}  {:?}",
            fault.name(),
            style.name(),
            one.claimed,
            one.missed,
            one.beyond,
            one.astray,
            one.falsely
        );
        if one.missed > 0 {
            missed.push(format!("{} {}", style.name(), fault.name()));
        }
        all.claimed += one.claimed;
        all.missed += one.missed;
        all.beyond += one.beyond;
        all.astray += one.astray;
        for (id, count) in one.falsely {
            *all.falsely.entry(id).or_default() += count;
        }
    }
    println!("all: {all:?}");
    assert_eq!(all.falsely, BTreeMap::new(), "no fault is claimed that was not planted");
    assert!(all.claimed > 30 * seeds() as u32, "{all:?}");
    assert_eq!(missed, Vec::<String>::new());
    assert_eq!(all.astray, 0, "the verdict looks first where the fault was planted");
}

/// A healthy wagon for ten simulated hours of each style: nothing is claimed above a doubt, and nothing is troubled.
/// `WHEELTAP_HOURS` says how many hours in all.
#[test]
fn healthy_hours_of_each_style() {
    let all = std::env::var("WHEELTAP_HOURS").ok().map_or(10 * Style::ALL.len(), |hours| hours.parse().unwrap());
    let each = all.div_ceil(Style::ALL.len());
    at_once(&Style::ALL, |style| {
        let style = *style;
        for hour in 0..each {
            let ms = if hour % 2 == 0 { 16 } else { 1 };
            let engine = run(style, 5 + hour as u64, None, ms, 3_600);
            let claimed: Vec<&str> = engine
                .findings()
                .iter()
                .filter(|finding| finding.severity < Severity::Note)
                .map(|finding| finding.id)
                .collect();
            assert_eq!(claimed, Vec::<&str>::new(), "{}, hour {hour}, {ms} ms", style.name());
            let verdict = engine.snapshot(engine.now()).verdict;
            assert_eq!(verdict.troubles, 0, "{}, hour {hour}, {ms} ms: {:?}", style.name(), verdict.words());
        }
    });
    // None in n hours: the exact bound of a Poisson count is -ln(0.05) / n, the rule of three.
    let bound = |hours: usize| 3.0 / hours as f64;
    println!("none in {each} h of each style: at most {:.3} an hour, 95 %; all: {:.3}", bound(each), bound(each * 5));
}
