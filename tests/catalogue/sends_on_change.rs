//! The command board sends only when something changes, against a deadline.

use super::hand_made::{Read, SAG, count, cue, finding, lacks, letter, play, presses, to};
use wheeltap::findings::{Confidence, Need};

const ID: &str = "sends-on-change";

/// A move kept still for 900 ms, then one of so many panel messages later.
fn still(steps: i64) -> Vec<Read> {
    vec![cue(1_000, 1, 1, [60, 0, 0]), cue(1_900, 2, 1 + steps, [60, 0, 9]), cue(2_100, 3, 2 + steps, [0, 0, 0])]
}

#[test]
fn positive() {
    let engine = play("cue-line", &still(1));
    assert_eq!(count(&engine, ID), 1);
    assert_eq!(count(&engine, "panel-gap"), 0);
}

/// The same gap: by the radio (the panel's counter jumps), by a reset, by a sender that repeats but was held up (the
/// same panel message comes again), by numbers that are missing.
#[test]
fn look_alike() {
    let radio = play("cue-line", &still(5));
    assert_eq!((count(&radio, ID), count(&radio, "panel-gap")), (0, 1));
    let mut reset = still(1);
    reset.push(to(1_100, SAG));
    assert_eq!(count(&play("cue-line", &reset), ID), 0);
    assert_eq!(count(&play("cue-line", &still(0)), ID), 0);
    // Each order a new message of the panel, though it asks for the same: this sender repeats, and hung.
    let mut hung: Vec<Read> = (0..20).map(|n| cue(1_000 + n * 100, n, n, [60, 0, 0])).collect();
    hung.extend((0..5).map(|n| cue(3_900 + n * 100, 20 + n, 20 + n, [60, 0, 0])));
    assert_eq!((count(&play("cue-line", &hung), ID), count(&play("cue-line", &hung), "lapse")), (0, 2));
    let missing = [cue(1_000, 1, 1, [60, 0, 0]), cue(1_900, 4, 2, [60, 0, 9]), cue(2_100, 5, 3, [0, 0, 0])];
    assert_eq!(count(&play("cue-line", &missing), ID), 0);
}

/// A board that sends every 50 ms and then stands still for 900 ms: it has a rhythm, so it sends not only on change.
#[test]
fn a_board_that_hangs_is_no_sender_of_changes() {
    let twist = |n: i64| if n < 139 { [60, 0, n % 7] } else { [0; 3] };
    let order = |n: i64| cue(1_000 + n * 50 + if n < 100 { 0 } else { 900 }, n, n % 100, twist(n));
    let engine = play("cue-line", &(0..140).map(order).collect::<Vec<_>>());
    assert_eq!((count(&engine, "lapse"), count(&engine, ID)), (1, 0));
    let verdict = engine.snapshot(engine.now()).verdict;
    assert!(verdict.words().concat().contains("the command board was held up"), "{:?}", verdict.words());
}

/// On a link with no counters the sender's habit shows it: it is silent at rest, and hardly asks for the same twice.
#[test]
fn without_counters_the_habit_tells() {
    let each = |again: i64, rests: i64| -> Vec<Read> {
        let leg = |begins: i64| {
            let moves = (0..40).map(move |n| letter(begins + n * 100, 'A', 30 + n / again));
            moves.chain([letter(begins + 4_000, 'N', 0)])
        };
        let after = rests * 6_000;
        (0..rests).flat_map(|n| leg(n * 6_000)).chain([letter(after, 'A', 50), letter(after + 900, 'N', 0)]).collect()
    };
    let changes = play("letter-line", &each(1, 3));
    let found = finding(&changes, ID).unwrap();
    assert_eq!((found.count, found.confidence), (1, Confidence::Possible));
    assert!(found.not.contains("no counter of the panel's own messages"), "{}", found.not);
    let repeats = play("letter-line", &each(4, 3));
    assert_eq!(
        (count(&repeats, ID), count(&repeats, "lapse")),
        (0, 1),
        "this one repeats, so it was held up or unheard"
    );
    let once = play("letter-line", &each(1, 1));
    assert_eq!((count(&once, ID), count(&once, "lapse")), (0, 1), "one silent rest tells no habit");
}

/// Two orders tell no habit: their lapse stays unexplained rather than blamed.
#[test]
fn too_few_orders_tell_no_habit() {
    let golden = [0x05, 0x11, 0x07, 0x1E, 0xBF, 0x04, 0x1E, 0x51, 0xD5, 0x00];
    let rest = [0x03, 0x11, 0x08, 0x01, 0x01, 0x04, 0x1E, 0xCB, 0x12, 0x00];
    let wire = wheeltap_parsers::Wire::ToDrive;
    let engine = play("bead", &[(1_000, wire, golden.to_vec()), (1_900, wire, rest.to_vec())]);
    assert_eq!(count(&engine, ID), 0);
    let verdict = engine.snapshot(engine.now()).verdict;
    assert_eq!((verdict.troubles, verdict.unexplained), (1, 1));
    assert!(verdict.words().concat().contains("cannot be told apart on this link"), "{:?}", verdict.words());
}

/// Where orders are obeyed for ever, sending on change stops nothing.
#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(4));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Deadline], 0));
}
