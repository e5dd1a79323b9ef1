//! One cause for each trouble: dated by its horizon, never taken back, one reset explaining all that came of it.

use super::hand_made::{MS, Read, SAG, checked, cue, got, nay, play, play_then, stave, to};
use wheeltap::engine::Engine;
use wheeltap::findings::Layer;
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

/// Orders that never end: the first two may have lost that byte, from the third on it was never sent; and the refusals of
/// a reader that takes all for one line go with them.
#[test]
fn orders_without_an_end_mark() {
    let unended = |n: i64| checked(&format!("c{n:03} p{n:02} drv f+040 s+000 t+000 g2 d00 ")).replace('\n', "");
    let mut reads: Vec<Read> = (0..6).map(|n| to(1_000 + n * 5_000, &unended(n))).collect();
    reads.push(nay(26_900, 5, 1));
    let due = [
        (Cause::EndMark, Trouble::Damage, 4),
        (Cause::EndMark, Trouble::Refused, 1),
        (Cause::EndMarkOrHit, Trouble::Damage, 2),
    ];
    assert_eq!(causes(&play("cue-line", &reads)), due);
}

/// The stave's marker FE at the end is never sent (its bytes by the format: F1, number, four duties plus 100, deadline,
/// flags, the check in two nibbles).
#[test]
fn frames_without_their_end_marker() {
    let order = |n: u8| {
        let mut frame = stave(&[0xF1, n, 100, 100, 100, 100, 60, 0]);
        assert_eq!(frame.pop(), Some(0xFE));
        frame
    };
    let reads: Vec<Read> = (0..20).map(|n| (1_000 + i64::from(n) * 50, Wire::ToDrive, order(n))).collect();
    let causes = causes(&play("stave", &reads));
    let count = |wanted: Cause| causes.iter().filter(|(cause, ..)| *cause == wanted).map(|(.., count)| count).sum();
    let (never, open): (u64, u64) = (count(Cause::EndMark), count(Cause::EndMarkOrHit));
    // Two of the twenty stand in each broken frame, so the third is in the second of ten.
    assert_eq!((never, open, causes.len()), (9, 1, 2), "{causes:?}");
}

/// Nothing checks the plain line. What is one byte off an order was hit; what comes again letter by letter was sent so; a
/// number out of its range that came once may be either.
#[test]
fn a_word_that_comes_again_is_no_hit() {
    let once = [to(1_000, "way,rest\n"), to(2_000, "way,resu\n"), to(3_000, "wax,rest\n"), to(4_000, "way,rest\n")];
    let due = [(Cause::Wire, Trouble::Damage, 1), (Cause::Wire, Trouble::Nearly, 1)];
    assert_eq!(causes(&play("plain-line", &once)), due);
    let word = |at| to(at, "way,sideways\n");
    let again = [to(1_000, "way,rest\n"), word(2_000), word(3_000), word(4_000), to(5_000, "way,rest\n")];
    let due = [(Cause::NotInFile, Trouble::Damage, 2), (Cause::SentOrHit, Trouble::Damage, 1)];
    assert_eq!(causes(&play("plain-line", &again)), due);
    let number = [to(1_000, "way,rest\n"), to(2_000, "pace,300\n"), to(3_000, "way,rest\n")];
    assert_eq!(causes(&play("plain-line", &number)), [(Cause::SentOrHit, Trouble::Damage, 1)]);
}

/// One message of the panel lost, and the next ones in order: one series, however near the numbers lie.
#[test]
fn one_lost_message_is_no_second_panel() {
    let panel = [10, 11, 13, 14, 15];
    let reads: Vec<Read> = (0..5).map(|n| cue(1_000 + n * 100, n, panel[n as usize], [0, 0, 0])).collect();
    assert_eq!(causes(&play("cue-line", &reads)), [(Cause::Radio, Trouble::PanelJump, 1)]);
}

/// Two panels of which now one, now the other drives for seconds: once both are known, each return is one of them.
#[test]
fn two_panels_that_take_turns() {
    let mut reads: Vec<Read> =
        (0..12).map(|n| cue(1_000 + n * 100, n, n / 2 + if n % 2 == 0 { 10 } else { 60 }, [0, 0, 0])).collect();
    reads.extend((0..20).map(|n| cue(2_200 + n * 100, 12 + n, 16 + n, [0, 0, 0])));
    reads.push(cue(9_000, 32, 66, [0, 0, 0]));
    let causes = causes(&play("cue-line", &reads));
    assert!(causes.iter().all(|(cause, ..)| *cause == Cause::TwoSeries), "{causes:?}");
}

/// Through the tap a refusal can come after the order behind the one that it names.
#[test]
fn a_refusal_heard_late_is_of_the_order_that_was_hit() {
    let hit = "c002 p02 drv f+060 s+000 t+000 g2 d30 #0000.\n";
    let next = cue(1_104, 3, 3, [0, 0, 0]);
    let reads = [cue(1_000, 1, 1, [60, 0, 0]), to(1_100, hit), next, nay(1_106, 2, 1), got(1_110, 3)];
    let causes = causes(&play("cue-line", &reads));
    assert!(causes.contains(&(Cause::Wire, Trouble::Refused, 1)), "{causes:?}");
    // The same answer to the order that stood whole is the reader's own.
    let whole = cue(1_100, 2, 2, [60, 0, 0]);
    let reads = [cue(1_000, 1, 1, [60, 0, 0]), whole, nay(1_106, 2, 1), cue(1_250, 3, 3, [0, 0, 0])];
    assert_eq!(self::causes(&play("cue-line", &reads)), [(Cause::Reader, Trouble::Refused, 1)]);
}

/// A line that lost its end mark: a reader of lines takes the next order for its rest, and refuses that one too.
#[test]
fn an_order_behind_a_line_without_its_end() {
    let cut = checked("c002 p02 drv f+000 s+000 t+000 g2 d30 ").replace('\n', "\u{8}");
    let reads = [cue(1_000, 1, 1, [0, 0, 0]), to(1_100, &cut), cue(1_700, 3, 3, [50, 0, 0]), nay(1_706, 3, 1)];
    let engine = play("cue-line", &reads);
    let causes = causes(&engine);
    assert!(causes.iter().all(|(cause, ..)| *cause != Cause::Reader), "{causes:?}");
    assert!(causes.iter().any(|(_, trouble, _)| *trouble == Trouble::Refused), "{causes:?}");
}

/// With a number from 0 to 223 at an even rhythm, the last ones before 0 hit: that is no new start of the sender.
#[test]
fn numbers_hit_before_zero_are_no_new_start() {
    let hit = "c998 p02 drv f+000 s+000 t+000 g2 d30 #0000.\n";
    let reads = [
        cue(1_000, 997, 1, [0, 0, 0]),
        to(1_100, hit),
        to(1_200, &hit.replace("c998", "c999")),
        cue(1_300, 0, 4, [0, 0, 0]),
    ];
    let causes = causes(&play("cue-line", &reads));
    assert_eq!(causes, [(Cause::Wire, Trouble::Damage, 2), (Cause::Wire, Trouble::SequenceGap, 1)]);
}

/// Whatever a finding of a symptom names as its layer is what the verdict put its troubles down to.
#[test]
fn findings_and_verdict_name_the_same_layer() {
    let reads = [
        cue(1_000, 331, 65, [0, -90, 0]),
        to(1_100, "c332 p66 drv f+00"),
        (1_112, Wire::ToDrive, [vec![0x00, 0xF8], SAG.as_bytes().to_vec()].concat()),
        to(3_700, &format!("eye ok {}", checked("c000 p00 drv f+000 s+000 t+000 g3 d30 "))),
        cue(4_000, 1, 1, [0, 0, 0]),
    ];
    let layers = |engine: &Engine| -> Vec<(&'static str, Layer)> {
        let known = ["lapse", "truncated", "bad-check"];
        let findings = engine.findings().into_iter().filter(|finding| known.contains(&finding.id));
        findings.map(|finding| (finding.id, finding.layer)).collect()
    };
    assert_eq!(layers(&play("cue-line", &reads)), [("truncated", Layer::Power), ("lapse", Layer::Power)]);
    let hit = "c002 p01 drv f+060 s+000 t+000 g2 d30 #0000.\n";
    let reads =
        [cue(1_000, 1, 1, [60, 0, 0]), to(1_200, hit), cue(1_500, 3, 1, [60, 0, 0]), cue(1_600, 4, 2, [0, 0, 0])];
    assert_eq!(layers(&play("cue-line", &reads)), [("bad-check", Layer::Wire), ("lapse", Layer::Wire)]);
}

/// With a right check a number out of its range was sent so (speed 101 of at most 100); without one it may have been hit,
/// until three came and nothing else is broken.
#[test]
fn a_number_out_of_range_was_sent_so() {
    let wild = checked("c002 p02 drv f+101 s+000 t+000 g2 d30 ");
    let reads = [cue(1_000, 1, 1, [0, 0, 0]), to(1_100, &wild), cue(1_200, 3, 3, [0, 0, 0])];
    assert!(causes(&play("cue-line", &reads)).contains(&(Cause::NotInFile, Trouble::Damage, 1)));
    let reads: Vec<Read> = (0..4).map(|n| to(1_000 + n * 500, &format!("pace,{}\n", 300 + n))).collect();
    let due = [(Cause::NotInFile, Trouble::Damage, 2), (Cause::SentOrHit, Trouble::Damage, 2)];
    let mut with_order = vec![to(500, "way,rest\n")];
    with_order.extend(reads);
    assert_eq!(causes(&play("plain-line", &with_order)), due);
}

/// The command board's own number twice, and back: its own doing, not the panel's.
#[test]
fn the_sequence_is_the_command_boards_own() {
    let at = |n: i64, sequence| cue(1_000 + n * 100, sequence, n + 1, [0, 0, 0]);
    assert_eq!(
        causes(&play("cue-line", &[at(0, 10), at(1, 11), at(2, 11), at(3, 12)])),
        [(Cause::SentTwice, Trouble::SequenceOrder, 1)]
    );
    let back = causes(&play("cue-line", &[at(0, 10), at(1, 11), at(2, 12), at(3, 10), at(4, 11)]));
    assert!(back.contains(&(Cause::NumberBack, Trouble::SequenceOrder, 1)), "{back:?}");
}

/// A remark that no line end follows, and an order glued to it: the board's own. What is left of an order that was hit at
/// its start and its end is the wire's.
#[test]
fn a_remark_before_an_order_is_no_hit() {
    let order = |n: i64| checked(&format!("c{n:03} p{n:02} drv f+000 s+000 t+000 g2 d30 "));
    let of = |text: &str| {
        let reads = [cue(1_000, 1, 1, [0, 0, 0]), to(1_100, &format!("{text}{}", order(2))), nay(1_110, 2, 1)];
        causes(&play("cue-line", &reads))
    };
    assert_eq!(of("heap 91k "), [(Cause::Glue, Trouble::Glued, 1), (Cause::Glue, Trouble::Refused, 1)]);
    let hit = of(&order(1).replace("c001", "x001").replace('\n', "~"));
    assert!(hit.iter().all(|(cause, ..)| *cause == Cause::Wire), "{hit:?}");
    // Between staves eight readable bytes are a remark as well; seven may be anything.
    let between = |text: &str| causes(&play("stave", &[to(1_000, text), to(2_000, text)]));
    assert_eq!(between("heap 91k"), []);
    assert_eq!(between("heap 91").len(), 1);
}

/// Start-up text again and again and never an order: nothing is said of rover file or rate.
#[test]
fn a_board_that_only_starts_is_understood() {
    let reads: Vec<Read> = (0..40).map(|n| to(1_000 + n * 500, SAG)).collect();
    let engine = play("plain-line", &reads);
    assert!(engine.findings().iter().all(|finding| finding.id != "nothing-fits"));
}

/// Numbers of another form, heads that are wrong in the same way, words in capitals: each again and again, so they were
/// sent so, though the lines differ.
#[test]
fn what_is_wrong_in_the_same_way_was_sent_so() {
    let sent_so = |texts: &[&str]| -> u64 {
        let mut reads = vec![to(500, "way,rest\n")];
        reads.extend((1..).zip(texts).map(|(n, text)| to(500 + n * 500, text)));
        let causes = causes(&play("plain-line", &reads));
        causes.iter().filter(|(cause, ..)| *cause == Cause::NotInFile).map(|(.., count)| count).sum()
    };
    assert_eq!(sent_so(&["pace,-5\n", "pace,-9\n", "pace,-14\n", "pace,-20\n"]), 2);
    assert_eq!(sent_so(&["way=port\n", "way=ahead\n", "way=rest\n", "way=astern\n", "way=port\n"]), 2);
    assert_eq!(sent_so(&["WAY,PORT\n", "WAY,REST\n", "wAy,port\n"]), 2);
    // Hits of chance: no two alike.
    assert_eq!(sent_so(&["wby,port\n", "way.ahead\n", "ay,rest\n", "wayy,astern\n", "pace,1x0\n"]), 0);
}
