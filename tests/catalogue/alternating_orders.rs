//! Two panels, or two senders, where no counter tells.

use super::hand_made::{Read, count, cue, finding, lacks, letter, play, presses, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "alternating-orders";
const SAYS: &str = "two-panels";

/// An order every 25 ms; which way the nth goes.
fn orders(way: impl Fn(i64) -> (char, i64)) -> Vec<Read> {
    (0..120).map(|n| (n, way(n))).map(|(n, (way, duty))| letter(1_000 + n * 25, way, duty)).collect()
}

#[test]
fn positive() {
    let found =
        finding(&play("letter-line", &orders(|n| if n % 2 == 0 { ('A', 60) } else { ('N', 0) })), SAYS).unwrap();
    assert_eq!(found.count, 1);
    assert!(found.says.contains("12 and more in a row"), "{}", found.says);
}

/// A stick that is turned over every half second; one that trembles; and a panel that counts, where its own rule tells.
#[test]
fn look_alike() {
    let turned = orders(|n| if n / 20 % 2 == 0 { ('A', 60) } else { ('Z', 60) });
    assert_eq!(count(&play("letter-line", &turned), SAYS), 0);
    assert_eq!(count(&play("letter-line", &orders(|n| ('A', 60 + n % 2 * 5))), SAYS), 0);
    let counted: Vec<Read> = (0..120).map(|n| cue(1_000 + n * 25, n, n % 100, [60 * (n % 2), 0, 0])).collect();
    assert_eq!(count(&play("cue-line", &counted), SAYS), 0);
}

/// Quick fingers: six presses a second, each let go, which is as fast as fingers go (common practice, no source).
#[test]
fn quick_fingers_are_one_panel() {
    let press = |n: i64| to(1_000 + n * 83, if n % 2 == 0 { "way,ahead\n" } else { "way,rest\n" });
    assert_eq!(count(&play("plain-line", &(0..60).map(press).collect::<Vec<Read>>()), SAYS), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, SAYS)), (vec![Need::Meaning], 0));
}
