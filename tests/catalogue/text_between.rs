//! Remarks of the command board between its orders.

use super::hand_made::{Read, SAG, count, cue, finding, lacks, play, to, unknown};
use wheeltap::findings::{Need, Severity};
use wheeltap_parsers::Wire;

const ID: &str = "text-between";

/// Orders every 100 ms with these texts after every tenth.
fn with(texts: &[&str]) -> Vec<Read> {
    let orders = (0..40).map(|n| cue(1_000 + n * 100, n, n, [60, 0, 0]));
    let texts = (1..).zip(texts).map(|(n, text)| to(1_000 + n * 900 + 50, text));
    orders.chain(texts).collect()
}

#[test]
fn positive() {
    let ended = finding(&play("cue-line", &with(&["net rssi -61\r\n", "net rssi -64\r\n", "net rssi -60\r\n"])), ID);
    let ended = ended.unwrap();
    assert_eq!((ended.count, ended.severity), (3, Severity::Note));
    let open = finding(&play("cue-line", &with(&["heap 91k ", "heap 90k "])), ID).unwrap();
    assert_eq!((open.count, open.severity), (2, Severity::Fault), "the orders behind are lost");
    assert!(open.says.contains("the order behind was lost, twice"), "{}", open.says);
}

/// A text that never comes again may be an order that was hit; start-up text belongs to a start; a hit order is none.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &with(&["net rssi -61\r\n", "heap 91k\r\n"])), ID), 0);
    let starts = [SAG, "load ok\r\n"].concat();
    assert_eq!(count(&play("cue-line", &with(&[&starts, &starts, &starts])), ID), 0);
    let mut hit = with(&[]);
    for read in hit.iter_mut().skip(5).step_by(10) {
        read.2[0] ^= 0x10;
    }
    assert_eq!(count(&play("cue-line", &hit), ID), 0);
}

/// Without a rover file nobody knows what an order is.
#[test]
fn cannot_judge() {
    let engine = unknown(&with(&["net rssi -61\r\n", "net rssi -64\r\n"]));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
    assert!(engine.link().wire(Wire::ToDrive).is_some());
}
