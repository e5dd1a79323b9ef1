//! A board starts anew in mid-run.

use super::hand_made::{POWER, SAG, back, count, cue, finding, lacks, play, to, unknown};

#[test]
fn positive() {
    let engine = play(
        "cue-line",
        &[cue(1_000, 1, 1, [0, 0, 0]), cue(1_200, 2, 2, [0, 90, 0]), to(1_400, SAG), cue(4_000, 0, 0, [0, 0, 0])],
    );
    let found = finding(&engine, "reset-brown-out").unwrap();
    assert_eq!(found.count, 1);
    assert!(
        found.says.contains("command board") && found.says.contains("once within a second of a step"),
        "{}",
        found.says
    );
}

/// A board that is switched on; a chip's text of power-on in mid-run is one, since nobody switched it.
#[test]
fn look_alike() {
    let on = play("cue-line", &[to(500, POWER), cue(1_000, 0, 0, [0, 0, 0])]);
    assert_eq!(on.findings().iter().filter(|finding| finding.id.starts_with("reset")).count(), 0);
    let again = play("cue-line", &[cue(1_000, 7, 7, [0, 0, 0]), to(1_500, POWER), cue(2_000, 0, 0, [0, 0, 0])]);
    assert_eq!(count(&again, "reset-power"), 1);
}

/// Nothing is needed of the link but the text. A board whose wire is not tapped, or whose own text no rover file
/// explains, is neither accused nor cleared.
#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "way,ahead\n"), to(1_500, SAG), back(2_000, "hello\n")]);
    assert_eq!(engine.findings().iter().filter(|finding| finding.id.starts_with("reset")).count(), 0);
    assert!(lacks(&engine, "reset").is_empty());
    let plain = play("plain-line", &[back(1_500, "#boot drive rst=B\n")]);
    assert_eq!(count(&plain, "reset-brown-out"), 0, "its wire is not explained by this rover file");
}
