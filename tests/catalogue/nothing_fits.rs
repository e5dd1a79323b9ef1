//! Nothing on the wire fits the rover file.

use super::hand_made::{Read, count, lacks, play, to, unknown};
use wheeltap::findings::Need;

const ID: &str = "nothing-fits";

fn strange(count: i64) -> Vec<Read> {
    (0..count).map(|n| to(1_000 + n * 100, "speed left 40 right 40 lights off\n")).collect()
}

/// 34 bytes a line: 31 lines are more than 1,024 bytes.
#[test]
fn positive() {
    assert_eq!(count(&play("plain-line", &strange(40)), ID), 40);
}

/// Little of it; or much of it with one frame that does fit.
#[test]
fn look_alike() {
    assert_eq!(count(&play("plain-line", &strange(20)), ID), 0);
    let mut mixed = strange(40);
    mixed.push(to(900, "way,rest\n"));
    assert_eq!(count(&play("plain-line", &mixed), ID), 0);
}

#[test]
fn cannot_judge() {
    let engine = unknown(&strange(40));
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Meaning], 0));
}
