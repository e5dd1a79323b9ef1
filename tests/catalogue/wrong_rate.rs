//! A sender at another line rate.
//!
//! What is heard is worked out bit by bit: ten bits a byte, lowest first; the receiver looks at the middle of each of its
//! own bits from the falling edge on, and waits for the line to rise after a stop bit that is low (8N1, Maxim tutorial
//! 2141, excerpt; the order of the bits from memory).

use super::hand_made::{Read, count, cue, finding, lacks, play, presses, to, unknown};
use wheeltap::engine::Engine;
use wheeltap::findings::{Layer, Need};
use wheeltap_parsers::Wire;

const ID: &str = "wrong-rate";

/// What a receiver hears whose bit lasts `num / den` of the sender's.
fn heard(bytes: &[u8], num: usize, den: usize) -> Vec<u8> {
    let bits: Vec<bool> = bytes
        .iter()
        .flat_map(|byte| [false].into_iter().chain((0..8).map(move |bit| byte >> bit & 1 == 1)).chain([true]))
        .collect();
    // Times in parts of a sender's bit.
    let level = |at: usize| bits.get(at / (2 * den)).copied().unwrap_or(true);
    let (end, bit) = (bits.len() * 2 * den, 2 * num);
    let (mut at, mut out) = (0, Vec::new());
    while let Some(edge) = (at..end).find(|at| !level(*at)) {
        let middle = |n: usize| edge + bit / 2 + n * bit;
        if level(middle(0)) {
            at = edge + 1;
            continue;
        }
        out.push((0..8).map(|n| u8::from(level(middle(n + 1))) << n).sum());
        at = (middle(9)..end).find(|at| level(*at)).unwrap_or(end);
    }
    out
}

/// Orders every 50 ms, heard with bits of this length.
fn orders(num: usize, den: usize) -> Vec<Read> {
    let order = |n: i64| cue(1_000 + n * 50, n, n % 100, [60, 0, 0]);
    (0..40).map(order).map(|(at, wire, bytes)| (at, wire, heard(&bytes, num, den))).collect()
}

fn says(engine: &Engine) -> String {
    finding(engine, ID).map_or_else(String::new, |found| found.says)
}

/// The tap hears at 115,200 baud, as the rover file states: senders at half and at twice that.
#[test]
fn positive() {
    assert_eq!(heard(b"way,left\n", 1, 1), b"way,left\n", "at its own rate every byte is as sent");
    let slow = play("cue-line", &orders(1, 2));
    assert!(says(&slow).contains("a sender at about 57600"), "{}", says(&slow));
    let fast = play("cue-line", &orders(2, 1));
    assert!(says(&fast).contains("a sender at about 230400"), "{}", says(&fast));
    assert_eq!(finding(&fast, ID).unwrap().layer, Layer::CommandBoard);
}

/// The right rate with another rover's lines; bytes of no sender; and a link that is read.
#[test]
fn look_alike() {
    let other: Vec<Read> = (0..60).map(|n| to(1_000 + n * 50, "speed=40;turn=-5\n")).collect();
    assert_eq!(count(&play("cue-line", &other), ID), 0);
    let noise =
        |n: i64| (1_000 + n * 50, Wire::ToDrive, (1..24).map(|k| ((n * 97 + k * k * 31) % 251) as u8).collect());
    assert_eq!(count(&play("cue-line", &(0..60).map(noise).collect::<Vec<Read>>()), ID), 0);
    assert_eq!(count(&play("cue-line", &orders(1, 1)), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&presses(40));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
