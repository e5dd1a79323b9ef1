//! The operator's corrections name one wheel.
//!
//! The signs by wheel come from the wheel equations of X rollers: with one wheel's share missing the rover turns by
//! `-FL + FR - RL + RR` of what is left, and the operator asks for the opposite.

use super::hand_made::{Read, count, cue, finding, lacks, play, presses};
use wheeltap::findings::Need;
use wheeltap::rover::wheels::Wheel;

const ID: &str = "turn-correction";

/// So many moves each way; `forward` and `left` are the corrections, turned over for backward and right.
fn evening(moves: i64, forward: [i64; 2], left: [i64; 2]) -> Vec<Read> {
    let mut reads = Vec::new();
    for n in 0..moves {
        for (place, (f, s, t)) in
            (0..).zip([(60, 0, forward[0]), (-60, 0, -forward[1]), (0, 80, left[0]), (0, -80, -left[1])])
        {
            let begin = 1_000 + n * 8_000 + place * 2_000;
            let number = n * 20 + place * 5;
            let wobble = n % 3 - 1;
            for (step, turn) in (0..).zip([0, t / 2, t + wobble, t - wobble]) {
                let number = number + step;
                reads.push(cue(begin + step * 240, number % 1000, number % 100, [f, s, turn]));
            }
            reads.push(cue(begin + 960, (number + 4) % 1000, (number + 4) % 100, [0, 0, 0]));
        }
    }
    reads
}

/// What a wheel with nothing left of its push does to forward and to left: its own part of `-FL + FR - RL + RR`, missing.
fn corrections(wheel: Wheel) -> (i64, i64) {
    let turns = [-1, 1, -1, 1][wheel.index()];
    let (forward, left) = (1, [-1, 1, 1, -1][wheel.index()]);
    // Yaw left over is minus the wheel's own part; the correction is minus that again.
    (18 * turns * forward, 15 * turns * left)
}

#[test]
fn positive() {
    for wheel in Wheel::ALL {
        let (forward, left) = corrections(wheel);
        let found = finding(&play("cue-line", &evening(6, [forward; 2], [left; 2])), ID).unwrap();
        assert_eq!(found.wheel, Some(wheel), "{}", found.says);
        assert!(found.says.contains("6 moves"), "{}", found.says);
    }
}

/// Weight that is not centred corrects only when sliding; motors that differ only when driving straight; a rubbing wheel
/// in one direction only; a good rover hardly at all; and three moves prove nothing.
#[test]
fn look_alike() {
    for (name, forward, left) in [
        ("weight", [0, 0], [-15, -15]),
        ("motors", [8, 8], [0, 0]),
        ("one direction", [18, -18], [-15, -15]),
        ("sound", [2, 1], [-1, -2]),
    ] {
        assert_eq!(count(&play("cue-line", &evening(6, forward, left)), ID), 0, "{name}");
    }
    assert_eq!(count(&play("cue-line", &evening(2, [18, 18], [-15, -15])), ID), 0, "too few");
}

#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(30));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Twist], 0));
}
