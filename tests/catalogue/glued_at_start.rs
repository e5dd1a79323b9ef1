//! The first order after a start is glued to start-up text.

use super::hand_made::{POWER, checked, count, lacks, play, to};
use wheeltap::findings::Need;

const ID: &str = "glued-at-start";

fn first(text: &str) -> String {
    format!("{text}{}", checked("c000 p00 drv f+000 s+000 t+000 g3 d30 "))
}

#[test]
fn positive() {
    let engine = play("cue-line", &[to(500, POWER), to(900, &first("eye ok heap 91k net up "))]);
    assert_eq!(count(&engine, ID), 1);
    let plain =
        play("plain-line", &[to(500, POWER), to(900, "eye ok heap 91k net up way,rest\n"), to(1_500, "way,port\n")]);
    assert_eq!(
        count(&plain, "unknown-word") + count(&plain, ID),
        1,
        "told, whichever way it reads: {:#?}",
        plain.findings()
    );
}

/// The text ends its line; or an order far from any start is glued to a debug print.
#[test]
fn look_alike() {
    let ended = play("cue-line", &[to(500, POWER), to(900, &first("eye ok heap 91k net up\n"))]);
    assert_eq!(count(&ended, ID), 0);
    let debug = play("cue-line", &[to(900, &first("")), to(1_900, &first("net up "))]);
    assert_eq!(count(&debug, ID), 0);
}

/// A frame that begins with a marker cannot be taken for part of the text before it.
#[test]
fn cannot_judge() {
    let engine = play("stave", &[to(500, POWER)]);
    assert_eq!((lacks(&engine, ID), count(&engine, ID)), (vec![Need::Lines], 0));
}
