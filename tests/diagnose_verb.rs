//! `diagnose` as a person uses it: a file of observations, and one test at a time at a terminal.
#![allow(clippy::unwrap_used)]

#[path = "at_once/threads.rs"]
mod threads;

use std::io::Write;
use std::process::{Command, Output, Stdio};

use threads::at_once;

fn diagnose(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wheeltap"))
        .arg("diagnose")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

/// A rover whose right rear motor leads are reversed, as seen on the stand.
const RR_REVERSED: &str = r#"{"kind":"observation","test":"tape"}
{"kind":"observation","test":"stand","move":"rest","duty":"high","wheels":{"FL":"still","FR":"still","RL":"still","RR":"still"}}
{"kind":"observation","test":"look","rollers":{"FL":"as-drawn","FR":"as-drawn","RL":"as-drawn","RR":"as-drawn"}}

{"kind":"observation","test":"stand","move":"ahead","duty":"low","wheels":{"FL":"forward","FR":"forward","RL":"forward","RR":"backward"}}
{"kind":"observation","test":"stand","move":"port","duty":"low","wheels":{"FL":"backward","FR":"forward","RL":"forward","RR":"forward"}}
{"kind":"observation","test":"stand","move":"astern","duty":"low","wheels":{"FL":"backward","FR":"backward","RL":"backward","RR":"forward"}}
{"kind":"observation","test":"stand","move":"spin-port","duty":"low","wheels":{"FL":"backward","FR":"forward","RL":"backward","RR":"backward"}}
{"kind":"observation","test":"stand","move":"spin-starboard","duty":"low","wheels":{"FL":"forward","FR":"backward","RL":"forward","RR":"forward"}}
"#;

#[test]
fn a_file_of_observations_names_the_wheel_and_its_terminal() {
    let output = diagnose(&["-", "--rover", "plain-line", "--json"], RR_REVERSED);
    assert_eq!(output.status.code(), Some(1), "a fault was found");
    let line = String::from_utf8(output.stdout).unwrap();
    let json: serde_json::Value = serde_json::from_str(&line).unwrap();
    let best = &json["classes"][0];
    assert!(best["probability"].as_f64().unwrap() > 0.9, "{line}");
    assert!(best["members"][0]["wrong"].as_str().unwrap().starts_with("RR reversed"), "{line}");
    let repair = &json["repair"];
    assert!(repair["change"].as_str().unwrap().contains("Oxpair B"), "in this rover's own terms: {line}");
    assert!(repair["first"].as_str().unwrap().contains("pack"), "{line}");
}

#[test]
fn one_lie_does_not_derail_it() {
    let lie = r#"{"kind":"observation","test":"stand","move":"starboard","duty":"low","wheels":{"FL":"backward","FR":"backward","RL":"backward","RR":"backward"}}"#;
    let output = diagnose(&["-", "--rover", "plain-line", "--json"], &format!("{RR_REVERSED}{lie}\n"));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(json["classes"][0]["members"][0]["wrong"].as_str().unwrap().contains("RR reversed"), "{json}");
    let doubtful: Vec<u64> =
        json["doubtful"].as_array().unwrap().iter().map(|one| one["observation"].as_u64().unwrap()).collect();
    assert_eq!(doubtful, [9], "the lie itself is named: {json}");
}

#[test]
fn a_wrong_line_is_named_with_its_number() {
    let output = diagnose(&["-"], "{\"kind\":\"observation\",\"test\":\"tape\"}\n\n{\"kind\":\"sight\"}\n");
    assert_eq!(output.status.code(), Some(2));
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("line 3") && error.contains("allowed: observation, exchange"), "{error}");
    let output = diagnose(&["no-such-file"], "");
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn asked_at_a_terminal_answers_can_be_wrong_and_taken_back() {
    let output = diagnose(&["--rover", "plain-line"], "what\ndone\nundo\nundo\nlist\nskip\ns s s\ns s s s\nquit\n");
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    for due in [
        "CAUTION",
        "Answer `done` when the tape is on",
        "Taken back.",
        "There is no answer to take back.",
        "order `rest`",
        "Four letters are due",
        "What fits, likeliest first:",
    ] {
        assert!(text.contains(due), "`{due}` is missing in:\n{text}");
    }
}

/// A perfect person: reads each question from the screen and answers as a rover with `planted` wheels would.
fn answer(question: &str, reversed: [bool; 4]) -> String {
    let signs = |name: &str| match name {
        "ahead" => [1, 1, 1, 1],
        "astern" => [-1, -1, -1, -1],
        "port" => [-1, 1, 1, -1],
        "starboard" => [1, -1, -1, 1],
        "ahead-port" => [0, 1, 1, 0],
        "ahead-starboard" => [1, 0, 0, 1],
        "astern-port" => [-1, 0, 0, -1],
        "astern-starboard" => [0, -1, -1, 0],
        "spin-port" => [-1, 1, -1, 1],
        "spin-starboard" => [1, -1, 1, -1],
        _ => [0; 4],
    };
    if question.contains("tape") {
        return "done".to_owned();
    }
    if question.contains("rollers") {
        return "x x x x".to_owned();
    }
    if question.contains("exchange") || question.contains("on the floor") {
        return "skip".to_owned();
    }
    let name = question.split('`').nth(1).unwrap_or_default();
    let turned: [i32; 4] = std::array::from_fn(|wheel| signs(name)[wheel] * if reversed[wheel] { -1 } else { 1 });
    turned.map(|turn| ["b", "s", "f"][(turn + 1) as usize]).join(" ")
}

#[test]
fn a_reversed_wheel_is_found_by_following_the_questions() {
    at_once(&[(0, "FL"), (3, "RR")], |(wheel, name)| {
        let mut reversed = [false; 4];
        reversed[*wheel] = true;
        let mut given = String::new();
        let mut text = String::new();
        for _ in 0..14 {
            let output = diagnose(&["--rover", "plain-line"], &given);
            text = String::from_utf8(output.stdout).unwrap();
            if text.contains("Diagnosed:") {
                break;
            }
            let question = text.lines().rev().find(|line| line.starts_with("Now: ")).unwrap().to_owned();
            given += &answer(&question, reversed);
            given.push('\n');
        }
        let wrong = text.lines().find(|line| line.starts_with("Wrong: ")).unwrap_or("nothing");
        assert!(wrong.starts_with(&format!("Wrong: {name} reversed")), "{wrong}\n{text}");
    });
}

/// What was skipped is asked again once the skip is taken back.
#[test]
fn undo_takes_back_a_skip_too() {
    let text = String::from_utf8(diagnose(&[], "skip\nundo\nquit\n").stdout).unwrap();
    let asked: Vec<&str> = text.lines().filter(|line| line.starts_with("Now: ")).collect();
    assert_eq!(asked.len(), 3, "{text}");
    assert!(asked[0].contains("tape") && !asked[1].contains("tape") && asked[2] == asked[0], "{text}");
    assert!(text.contains("Taken back: it will be asked again."), "{text}");
}

/// Shares in the ranking: whole per cents that never add up to more than a hundred.
#[test]
fn the_ranking_shows_no_odd_sums() {
    let text = String::from_utf8(diagnose(&["-", "--rover", "plain-line"], RR_REVERSED).stdout).unwrap();
    let shares: Vec<u32> = text
        .lines()
        .skip_while(|line| !line.starts_with("What fits"))
        .filter(|line| line.starts_with("  "))
        .filter_map(|line| line.trim_start().split_once(" %")?.0.parse().ok())
        .collect();
    let sum: u32 = shares.iter().sum();
    assert!(sum <= 100 && (sum >= 95 || text.contains("over 99 %")), "{text}");
    assert!(!text.contains(" alone, "), "this link cannot order one wheel: {text}");
}

/// Nothing seen is no diagnosis; what has no end is not read to its end.
#[cfg(unix)]
#[test]
fn a_file_without_observations_is_refused_and_an_endless_one_too() {
    let exchange = r#"{"kind":"exchange","what":"leads","of":["FL"]}"#;
    for text in ["", "\n \n", exchange] {
        let output = diagnose(&["-"], text);
        let error = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{text}: {error}");
        assert!(error.contains("no observation in it"), "{error}");
        assert!(output.stdout.is_empty(), "nothing is ranked");
    }
    let output = diagnose(&["/dev/zero"], "");
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{error}");
    assert!(error.contains("longer than 1048576 bytes"), "{error}");
}

/// What is disbelieved is named when it is said, and asked again once answers lie outside the model.
#[test]
fn answers_that_contradict_each_other_are_named_and_asked_again() {
    let sound = "done\ns s s s\nx x x x\n";
    let mut given = sound.to_owned();
    let mut text = String::new();
    let mut lies = 0;
    for _ in 0..30 {
        text = String::from_utf8(diagnose(&["--rover", "plain-line"], &given).stdout).unwrap();
        let question = text.lines().rev().find(|line| line.starts_with("Now: ")).map(str::to_owned);
        let Some(question) = question.filter(|_| !text.contains("Doubtful: observation")) else { break };
        // Two rows of a sound rover said otherwise, in ways that no fault of the model explains together.
        let lie = [("`astern`", "b b s f"), ("`starboard`", "s b f f")];
        let lie = lie.iter().find(|(name, _)| question.contains(name)).map(|(_, said)| (*said).to_owned());
        lies += usize::from(lie.is_some());
        let said = lie.unwrap_or_else(|| answer(&question, [false; 4]));
        given += &said;
        given.push('\n');
    }
    assert!(lies > 0, "{text}");
    let doubtful = text.lines().find(|line| line.starts_with("Doubtful: observation")).unwrap_or_default();
    assert!(doubtful.contains("order `astern`") || doubtful.contains("order `starboard`"), "the lie is named: {text}");
}
