//! A sender's clock that is some 5 % fast.
//!
//! At 5.5 % fast the middle of the highest bit lies past the receiver's: 8.5 bits of the sender end at 8.5 / 1.055 = 8.06
//! of the receiver's, so it may read the stop bit there, which is 1 (arithmetic).

use super::hand_made::{Read, count, cue, finding, lacks, play};
use wheeltap::findings::{Layer, Need};

const ID: &str = "clock-off";

/// Every other order with one byte changed so.
fn hit(change: impl Fn(usize, u8) -> u8) -> Vec<Read> {
    let mut reads: Vec<Read> = (0..40).map(|n| cue(1_000 + n * 50, n, n, [60, 0, 0])).collect();
    for (n, read) in reads.iter_mut().enumerate().filter(|(n, _)| n % 2 == 0) {
        let place = 5 + n % 30;
        read.2[place] = change(n, read.2[place]);
    }
    reads
}

#[test]
fn positive() {
    let found = finding(&play("cue-line", &hit(|_, byte| byte | 0x80)), ID).unwrap();
    assert_eq!((found.count, found.layer), (20, Layer::CommandBoard), "{}", found.says);
}

/// Noise turns any bit, each one in eight times.
#[test]
fn look_alike() {
    assert_eq!(count(&play("cue-line", &hit(|n, byte| byte ^ 1 << (n / 2 % 8))), ID), 0);
}

/// Bytes of a stave have all eight bits: a wrong one does not show as such.
#[test]
fn cannot_judge() {
    assert_eq!(lacks(&play("stave", &[]), ID), vec![Need::Lines]);
}
