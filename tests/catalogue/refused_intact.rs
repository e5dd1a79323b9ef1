//! The drive board refuses what stood intact on the wire.

use super::hand_made::{POWER, SAG, checked, count, cue, finding, got, lacks, nay, play, play_then, to};
use wheeltap::findings::Need;

const ID: &str = "refused-intact";

#[test]
fn positive() {
    let engine =
        play("cue-line", &[cue(1_000, 1, 1, [0, 0, 0]), got(1_010, 1), cue(1_200, 2, 2, [0, 0, 0]), nay(1_210, 2, 1)]);
    let found = finding(&engine, ID).unwrap();
    assert_eq!(found.count, 1);
    assert!(found.says.contains("error 01 once"), "{}", found.says);
}

/// The first order after a reset, glued to text, is refused rightly.
#[test]
fn look_alike() {
    let glued = format!("eye ok {}", checked("c000 p00 drv f+000 s+000 t+000 g3 d30 "));
    let engine = play("cue-line", &[cue(1_000, 7, 7, [0, 0, 0]), to(1_300, SAG), to(3_900, &glued), nay(3_910, 0, 2)]);
    assert_eq!(count(&engine, ID), 0);
    let on = play("cue-line", &[to(300, POWER), to(900, &glued), nay(910, 0, 2)]);
    assert_eq!(count(&on, ID), 0, "at switching on as well");
}

/// The bead has no answers; the stave's report tells duties, never a refusal.
#[test]
fn cannot_judge() {
    let bead = play("bead", &[to(500, POWER)]);
    assert_eq!((lacks(&bead, ID), count(&bead, ID)), (vec![Need::Answers, Need::Refusals], 0));
    let stave = play("stave", &[to(500, POWER)]);
    assert_eq!((lacks(&stave, ID), count(&stave, ID)), (vec![Need::Refusals], 0));
}

/// An order that was obeyed cannot be refused: the refusal is of one that was hit, and names the last number read. What
/// is meant stays, and so does its leg.
#[test]
fn an_obeyed_order_is_not_taken_back() {
    let hit = checked("c002 p02 drv f+080 s+000 t+000 g2 d30 ").replace("f+080", "f+0x0");
    let reads = [cue(1_000, 1, 1, [60, 0, 0]), got(1_010, 1), to(1_050, &hit), nay(1_060, 1, 1)];
    let engine = play_then("cue-line", &reads, 100);
    let snapshot = engine.snapshot(engine.now());
    // 60 in gear 2, which is 65 %, is 39 %.
    assert_eq!(
        snapshot.wheels.each_ref().map(|wheel| wheel.meant),
        [Some(390); 4],
        "the order in force is still obeyed"
    );
    assert_eq!(snapshot.leg_count, 1);
}
