//! One cause for each trouble: dated by its horizon, never taken back, one reset explaining all that came of it.

use super::hand_made::{MS, Read, SAG, checked, cue, nay, play, play_then, to};
use wheeltap::engine::Engine;
use wheeltap::findings::attribution::cause::Cause;
use wheeltap::findings::attribution::trouble::Trouble;
use wheeltap_parsers::{Input, Wire};

fn causes(engine: &Engine) -> Vec<(Cause, Trouble, u64)> {
    let verdict = engine.snapshot(engine.now()).verdict;
    let parts = verdict.causes.into_iter();
    parts.flat_map(|part| part.of.into_iter().map(move |(trouble, count)| (part.cause, trouble, count))).collect()
}

/// A cut frame, start-up text, a lapse, seconds of silence, a glued first order refused, the sequence at 0: one reset.
#[test]
fn a_reset_explains_all_that_came_of_it() {
    let glued = format!("eye ok {}", checked("c000 p00 drv f+000 s+000 t+000 g3 d30 "));
    let reads = [
        cue(1_000, 331, 65, [0, -90, 0]),
        to(1_100, "c332 p66 drv f+00"),
        (1_112, Wire::ToDrive, [vec![0x00, 0xF8], SAG.as_bytes().to_vec()].concat()),
        to(3_700, &glued),
        nay(3_710, 0, 2),
        cue(4_000, 1, 1, [0, 0, 0]),
    ];
    let engine = play("cue-line", &reads);
    let of = [
        Trouble::Lapse,
        Trouble::Damage,
        Trouble::Noise,
        Trouble::Glued,
        Trouble::Refused,
        Trouble::SequenceRestart,
        Trouble::Start,
    ];
    assert_eq!(causes(&engine), of.map(|trouble| (Cause::CommandSupply, trouble, 1)));
}

/// A restart whose text went elsewhere shows in the sequence alone.
#[test]
fn a_restart_without_text_is_no_radio_stall() {
    let engine = play("cue-line", &[cue(1_000, 331, 65, [0, 60, 0]), cue(3_000, 0, 0, [0, 0, 0])]);
    let due = [(Cause::Restarted, Trouble::Lapse, 1), (Cause::Restarted, Trouble::SequenceRestart, 1)];
    assert_eq!(causes(&engine), due);
}

/// A stall of the radio: the panel's counter jumps, what waited comes in one go.
#[test]
fn a_radio_stall_with_its_bunch() {
    let reads = [
        cue(1_000, 262, 92, [30, 0, 5]),
        cue(1_412, 263, 97, [30, 0, 8]),
        cue(1_417, 264, 98, [30, 0, 9]),
        cue(1_422, 265, 99, [30, 0, 9]),
        cue(1_600, 266, 0, [0, 0, 0]),
    ];
    let due =
        [(Cause::Radio, Trouble::Lapse, 1), (Cause::Radio, Trouble::Bunch, 2), (Cause::Radio, Trouble::PanelJump, 1)];
    assert_eq!(causes(&play("cue-line", &reads)), due);
}

/// Repeats that were hit on the wire let the deadline run out.
#[test]
fn frames_hit_on_the_wire_explain_the_lapse() {
    let hit = "c002 p01 drv f+060 s+000 t+000 g2 d30 #0000.\n";
    let reads =
        [cue(1_000, 1, 1, [60, 0, 0]), to(1_200, hit), cue(1_500, 3, 1, [60, 0, 0]), cue(1_600, 4, 2, [0, 0, 0])];
    let due =
        [(Cause::Wire, Trouble::Lapse, 1), (Cause::Wire, Trouble::Damage, 1), (Cause::Wire, Trouble::SequenceGap, 1)];
    assert_eq!(causes(&play("cue-line", &reads)), due);
}

/// Two panels: their numbers come in turns, and nothing is blamed on the radio.
#[test]
fn two_series_are_no_radio() {
    let reads: Vec<Read> =
        (0..20).map(|n| cue(1_000 + n * 100, n, n / 2 + if n % 2 == 0 { 10 } else { 60 }, [0, 0, 0])).collect();
    let causes = causes(&play("cue-line", &reads));
    let radio: u64 = causes.iter().filter(|(cause, ..)| *cause == Cause::Radio).map(|(_, _, count)| count).sum();
    let series: u64 = causes.iter().filter(|(cause, ..)| *cause == Cause::TwoSeries).map(|(_, _, count)| count).sum();
    // The last jump has no later order that could show the other series.
    assert!(radio <= 1 && series >= 17, "{causes:?}");
}

/// Nothing comes for 5 s after a lapse: not decided before, then said to be unknown, and kept so when orders come again.
#[test]
fn a_horizon_closes_once() {
    let mut engine = play_then("cue-line", &[], 0);
    let link = engine.link().clone();
    let rover = engine.rover().cloned().map(std::sync::Arc::new);
    engine = Engine::new(link.clone(), rover);
    let facts = link.wire(Wire::ToDrive).unwrap().clone();
    let push = |engine: &mut Engine, (at, wire, bytes): Read, offset: u64| {
        let chunk = wheeltap::timing::link::chunk(&facts, wire, offset, at * MS, (at - 1) * MS, &bytes);
        engine.push(Input::Chunk(chunk));
    };
    push(&mut engine, cue(1_000, 1, 1, [60, 0, 0]), 0);
    engine.push(Input::Tick(6_200 * MS));
    let verdict = engine.snapshot(engine.now()).verdict;
    assert_eq!((verdict.troubles, verdict.undecided), (1, 1), "the lapse at 1.3 s waits until 6.3 s");
    engine.push(Input::Tick(6_400 * MS));
    let due = [(Cause::Stopped, Trouble::Lapse, 1)];
    assert_eq!(causes(&engine), due);
    push(&mut engine, cue(9_000, 2, 2, [0, 0, 0]), 45);
    engine.push(Input::Tick(20_000 * MS));
    engine.finish();
    assert_eq!(causes(&engine), due, "what was said is not taken back");
}
