//! Lines that are one byte off an order.

use super::hand_made::{count, finding, lacks, play, presses, to, unknown};
use wheeltap::findings::{Need, Severity};

const ID: &str = "nearly-an-order";

/// One bit of a byte turned, one byte lost, one put in: each in the word before the value, which nothing checks.
#[test]
fn positive() {
    let hit = [to(1_000, "way,ahead\n"), to(2_000, "wcy,rest\n"), to(3_000, "wa,port\n"), to(4_000, "waqy,rest\n")];
    let engine = play("plain-line", &hit);
    let found = finding(&engine, ID).unwrap();
    assert_eq!((found.count, found.severity), (3, Severity::Doubt));
    assert!(found.says.contains("\"wcy,rest\", where \"way,rest\""), "{}", found.says);
    assert_eq!(found.evidence.iter().map(|place| (place.offset, place.len)).next(), Some((10, 9)));
    assert_eq!(count(&engine, "no-rest-between"), 0, "the rest was sent, and hit");
}

/// A remark of the board; a value that no order has; two bytes off; start-up text; an order.
#[test]
fn look_alike() {
    let engine = play("plain-line", &presses(20));
    assert_eq!((count(&engine, ID), lacks(&engine, ID)), (0, vec![]));
    for text in ["net rssi -61\n", "wcy,rust\n", "wcx,rest\n", "pacx,999\n", "GC2 rom 1.4 rst=0x0F(sag)\n"] {
        let engine = play("plain-line", &[to(1_000, "way,ahead\n"), to(2_000, text), to(3_000, "way,rest\n")]);
        assert_eq!(count(&engine, ID), 0, "{text:?}");
    }
}

/// Without a rover file nobody knows what an order is; binary orders have no lines.
#[test]
fn cannot_judge() {
    let engine = unknown(&[to(1_000, "wcy,rest\n")]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning, Need::Lines], 0));
    assert_eq!(lacks(&play("stave", &[to(1_000, "wcy,rest\n")]), ID), vec![Need::Lines]);
}
