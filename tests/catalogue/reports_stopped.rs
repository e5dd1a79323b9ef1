//! The drive board falls silent while orders go on.

use super::hand_made::{Read, back, count, finding, lacks, letter, play, presses};
use wheeltap::findings::{Layer, Need};
use wheeltap_parsers::Wire;

const ID: &str = "reports-stopped";

/// Orders every 50 ms for 10 s and reports every 100 ms; the board is mute from one instant up to another.
fn mute(from: i64, to: i64) -> Vec<Read> {
    let orders = (0..200).map(|n| letter(1_000 + n * 50, 'A', 60));
    let report = |n: i64| {
        let (at, _, bytes) = letter(1_020 + n * 100, 'A', 60);
        // The report is the order's line with S in place of D; its check changes by the same bits.
        let (sum, text) = (0x03 ^ b'D' ^ b'S', String::from_utf8(bytes).unwrap());
        back(at, &format!("S{}{sum:02X}\n", &text[1..7]))
    };
    orders.chain((0..100).map(report).filter(move |read| !(from..to).contains(&read.0))).collect()
}

#[test]
fn positive() {
    let found = finding(&play("letter-line", &mute(4_000, 7_000)), ID).unwrap();
    assert_eq!((found.count, found.layer), (1, Layer::Reader));
    assert!(found.says.contains("at least 3.0"), "{}", found.says);
    assert_eq!(count(&play("letter-line", &mute(4_000, 99_000)), ID), 1, "it never spoke again");
}

/// A few reports are missing; the orders stop as well; the board starts anew and says so.
#[test]
fn look_alike() {
    assert_eq!(count(&play("letter-line", &mute(4_000, 4_600)), ID), 0);
    let both: Vec<Read> = mute(4_000, 7_000).into_iter().filter(|read| !(4_000..6_900).contains(&read.0)).collect();
    assert_eq!(count(&play("letter-line", &both), ID), 0);
    let mut anew = mute(4_000, 7_000);
    anew.push(back(4_500, "#boot drive rst=B\n"));
    assert_eq!(count(&play("letter-line", &anew), ID), 0);
}

/// The plain line has no wire back.
#[test]
fn cannot_judge() {
    let engine = play("plain-line", &presses(3));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Answers], 0));
    assert!(engine.link().wire(Wire::FromDrive).is_none());
}
