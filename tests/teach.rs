//! What a lesson teaches: from random links in all five styles the rover file that made the link comes back.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

#[path = "teach/chance.rs"]
mod chance;
#[path = "teach/link.rs"]
mod link;
#[path = "teach/pupil.rs"]
mod pupil;

use link::{Link, STYLES};
use pupil::Pupil;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::meaning::{KindMeaning, Means, Role};
use wheeltap::teach::Lesson;
use wheeltap_parsers::{Framing, Kind, Part, Read, Wire};

/// Most prompts from start to the written file.
const MOST_PROMPTS: usize = 15;

/// How a field is read, what it means, its range, and its scale.
type PlainField = (Read, Means, Option<(i64, i64)>, [i64; 3]);

/// What a kind of frame is, its names left out.
#[derive(Debug, PartialEq)]
struct Plain {
    role: Role,
    parts: Vec<Part>,
    fields: Vec<PlainField>,
    checked: bool,
}

fn plain(kind: &Kind, meaning: &KindMeaning) -> Plain {
    let field = |(field, means): (&wheeltap_parsers::Field, &Means)| {
        // What was pressed bounds a duty and another part's value; a counter or a code has no stated range.
        let range = field.range.filter(|_| matches!(means, Means::Duty | Means::Nothing));
        (field.read, *means, range, [field.offset, field.multiply, field.divide])
    };
    Plain {
        role: meaning.role,
        parts: kind.parts.clone(),
        fields: kind.fields.iter().zip(&meaning.fields).map(field).collect(),
        checked: !kind.check.is_none(),
    }
}

fn plains(rover: &RoverFile) -> Vec<Plain> {
    let profile = rover.profile(Wire::ToDrive).unwrap();
    profile.kinds.iter().zip(&rover.meaning.kinds[0]).map(|(kind, meaning)| plain(kind, meaning)).collect()
}

fn framing(rover: &RoverFile) -> &Framing {
    &rover.profile(Wire::ToDrive).unwrap().framing
}

/// Where the taught file differs from the file that made the link.
fn differences(truth: &RoverFile, taught: &RoverFile) -> Vec<String> {
    let mut found = Vec::new();
    let mut same = |what: &str, equal: bool, a: String, b: String| {
        if !equal {
            found.push(format!("{what}: {a} was made, {b} was taught"));
        }
    };
    let show = |value: &dyn std::fmt::Debug| format!("{value:?}");
    same("framing", framing(truth) == framing(taught), show(framing(truth)), show(framing(taught)));
    let check = |rover: &RoverFile| rover.profile(Wire::ToDrive).unwrap().kinds[0].check.clone();
    same("check", check(truth) == check(taught), String::new(), String::new());
    same("kinds", plains(truth) == plains(taught), show(&plains(truth)), show(&plains(taught)));
    let moves = |rover: &RoverFile| rover.meaning.moves.clone();
    same("moves", moves(truth) == moves(taught), show(&moves(truth)), show(&moves(taught)));
    let duty = |rover: &RoverFile| rover.meaning.duty;
    same("duty", duty(truth) == duty(taught), show(&duty(truth)), show(&duty(taught)));
    same("cadence", truth.cadence == taught.cadence, show(&truth.cadence), show(&taught.cadence));
    same("rate", truth.rate == taught.rate, show(&truth.rate), show(&taught.rate));
    let reader = |rover: &RoverFile| rover.meaning.reader;
    same("reader", reader(truth) == reader(taught), show(&reader(truth)), show(&reader(taught)));
    found
}

fn teach(link: &mut Link, seed: u64) -> (String, Lesson, Vec<String>) {
    let mut lesson = Lesson::new(115_200, None);
    let mut pupil = Pupil::new(link, seed);
    pupil.attend(&mut lesson);
    let said = std::mem::take(&mut pupil.said);
    let (text, faults) = lesson.rover_file();
    assert!(faults.is_empty(), "{faults:#?}\n{text}\n{}", said.join("\n"));
    (text, lesson, said)
}

/// So many links of each style; `WHEELTAP_LINKS=200` for more.
fn links() -> u64 {
    std::env::var("WHEELTAP_LINKS").ok().map_or(30, |links| links.parse().unwrap())
}

/// Every taught file means the same as the file that made the link; at most fifteen prompts each.
#[track_caller]
fn all_come_back(style: &str) {
    let mut failed = Vec::new();
    for seed in 0..links() {
        let mut link = link::random(style, seed);
        let (text, lesson, said) = teach(&mut link, seed);
        let taught = RoverFile::load("taught", &text).unwrap();
        let found = differences(&link.rover, &taught);
        if !found.is_empty() || lesson.prompts() > MOST_PROMPTS {
            let all = format!("{style} {seed}: {} prompts, {found:#?}", lesson.prompts());
            failed.push((all, link.text, text, said.join("\n")));
        }
    }
    if let Some((found, truth, text, said)) = failed.first() {
        let list: Vec<&str> = failed.iter().map(|(found, ..)| found.as_str()).collect();
        let (count, all, list) = (list.len(), links(), list.join("\n"));
        panic!("{count} of {all} differ:\n{list}\n--- {found}\n{truth}\n---\n{text}\n---\n{said}");
    }
}

#[test]
fn random_plain_lines_come_back() {
    all_come_back(STYLES[0]);
}

#[test]
fn random_cue_lines_come_back() {
    all_come_back(STYLES[1]);
}

#[test]
fn random_staves_come_back() {
    all_come_back(STYLES[2]);
}

#[test]
fn random_beads_come_back() {
    all_come_back(STYLES[3]);
}

#[test]
fn random_ladders_come_back() {
    all_come_back(STYLES[4]);
}

/// The comparison itself notices a difference in each part it looks at.
#[test]
fn the_comparison_notices_what_differs() {
    let truth = link::random("plain-line", 1);
    assert_eq!(differences(&truth.rover, &truth.rover), [""; 0]);
    let other = |from: &str, to: &str| {
        let text = truth.text.replacen(from, to, 1);
        assert_ne!(text, truth.text, "{from}");
        differences(&truth.rover, &RoverFile::load("other", &text).unwrap())
    };
    let first = &truth.rover.meaning.moves[0].code;
    let changed = [
        other("is = \"forward\"", "is = \"backward-left\"\n"),
        other(&format!("code = \"{first}\""), "code = \"zzzzzzzzzzz\""),
        other("rate = 115200", "rate = 9600"),
        other("[duty]\nfull = ", "[duty]\nfull = 1"),
        other("role = \"order\"", "role = \"ignored\""),
    ];
    for (place, found) in changed.iter().enumerate() {
        assert!(!found.is_empty(), "change {place}");
    }
}
