//! Orders whose end mark is never sent.

use super::hand_made::{Read, checked, count, finding, lacks, letter, play, presses, to};
use wheeltap::findings::Need;

const ID: &str = "no-end-mark";

fn without(reads: Vec<Read>) -> Vec<Read> {
    let strip = |(at, wire, bytes): Read| (at, wire, bytes.strip_suffix(b"\n").unwrap().to_vec());
    reads.into_iter().map(strip).collect()
}

#[test]
fn positive() {
    let presses = finding(&play("plain-line", &without(presses(4))), ID).unwrap();
    assert!(presses.says.starts_with("About 8 orders"), "{}", presses.says);
    // A steady stream is one run that nothing ends.
    let stream = without((0..50).map(|n| letter(1_000 + n * 50, 'A', 60)).collect());
    let stream = finding(&play("letter-line", &stream), ID).unwrap();
    assert!(stream.says.starts_with("About 50 orders"), "{}", stream.says);
}

/// One lost end mark; orders that are cut short; and lines that end with CR LF.
#[test]
fn look_alike() {
    let mut once = presses(4);
    once[2].2.pop();
    assert_eq!(count(&play("plain-line", &once), ID), 0);
    let cut: Vec<Read> = (0..10).map(|n| to(1_000 + n * 500, "way,ah")).collect();
    assert_eq!(count(&play("plain-line", &cut), ID), 0);
    let body = checked("c042 p17 drv f+030 s-065 t+000 g2 d30 ").replace('\n', "\r\n");
    let other: Vec<Read> = (0..10).map(|n| to(1_000 + n * 100, &body)).collect();
    assert_eq!(count(&play("cue-line", &other), ID), 0);
}

/// A stave ends with a marker; where it is missing the next one shows it.
#[test]
fn cannot_judge() {
    assert_eq!(lacks(&play("stave", &[]), ID), vec![Need::Lines]);
}
