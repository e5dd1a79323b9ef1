//! Verdicts and figures of time on wires made by hand: rhythms, gaps, delays, a buffer that nobody reads, tries.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "timed/bench.rs"]
mod bench;
#[path = "timed/one_rover.rs"]
mod one_rover;

use bench::{Wires, count, found, lacks, presses};
use one_rover::{MS, rover};
use wheeltap::findings::Need;
use wheeltap_parsers::{Input, Wire};

const FOR_EVER: &str = "for ever";

mod late {
    use super::*;

    fn with_one_late(by: i64) -> Wires {
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..300, None).order(16_000 + by, 300, "ahead").steady(16_050, 50, 301..320, None);
        wires
    }

    #[test]
    fn positive() {
        let engine = with_one_late(30).play(&rover("\"learn\"", FOR_EVER), false, 17_000);
        let late = found(&engine, "late").unwrap();
        assert_eq!(late.count, 1, "{late:#?}");
        assert!(late.says.contains("due every 50 ms"), "{}", late.says);
        assert_eq!(late.evidence.len(), 1);
    }

    #[test]
    fn look_alike() {
        // A slip below the jitter that every sender has, and a release: the next press is due at no time.
        let mut wires = with_one_late(2);
        wires.order(16_980, 320, "rest").steady(20_011, 50, 321..340, None);
        let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 22_000);
        assert_eq!(count(&engine, "late"), 0);
    }

    #[test]
    fn cannot_judge() {
        let engine = presses().play(&rover("\"learn\"", FOR_EVER), false, 120_000);
        assert_eq!(lacks(&engine, "late"), [Need::Cadence]);
        assert_eq!(count(&engine, "late"), 0);
    }

    /// Numbers that were never sent take no time: the orders keep their beat.
    #[test]
    fn numbers_left_out_are_not_late() {
        let mut wires = Wires::default();
        for place in 0..600 {
            wires.order(1_000 + place * 50, place + place / 40 * 3, "ahead");
        }
        let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 32_000);
        assert_eq!((count(&engine, "sequence-gap"), count(&engine, "late")), (14, 0));
        let rhythm = engine.snapshot(engine.now()).times.orders.unwrap().rhythm;
        assert_eq!(rhythm, "every 50.0 ms", "numbers that were never sent make no order early");
    }

    #[test]
    fn repeats_in_a_move_are_judged_too() {
        let mut wires = Wires::default();
        let mut number = 0;
        for leg in 0..20 {
            let begins = 1_000 + leg * 4_000 + leg * 131 % 700;
            wires.steady(begins, 100, number..number + 20, None);
            number += 20;
            wires.order(begins + 1_960, number, "rest");
            number += 1;
        }
        // One repeat of the last leg is 60 ms late; silence at rest is none.
        wires.steady(90_000, 100, number..number + 5, None).order(90_560, number + 5, "ahead");
        wires.order(90_600, number + 6, "rest");
        let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 95_000);
        assert_eq!(engine.snapshot(0).wires[0].as_ref().unwrap().cadence, "every 100.0 ms in a move");
        assert_eq!(count(&engine, "late"), 1);
        assert_eq!(count(&engine, "silent-while-moving"), 0);
        let stated = wires.play(&rover("{ while_moving = 100 }", FOR_EVER), false, 95_000);
        assert_eq!(count(&stated, "late"), 1);
    }
}

mod silent_while_moving {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..100, None);
        let engine = wires.play(&rover("50", FOR_EVER), false, 9_000);
        let silent = found(&engine, "silent-while-moving").unwrap();
        // The last order is complete at 5,950 ms: told three periods later, to the microsecond.
        assert_eq!((silent.count, silent.first), (1, 6_100 * MS));
    }

    #[test]
    fn look_alike() {
        // Silence after a release, and silence of a tap whose port is gone.
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..100, None).order(6_000, 100, "rest");
        let engine = wires.play(&rover("50", FOR_EVER), false, 9_000);
        assert_eq!(count(&engine, "silent-while-moving"), 0);
        let mut wires = Wires::default();
        let mut engine = wires.steady(1_000, 50, 0..100, None).play(&rover("50", FOR_EVER), false, 5_960);
        engine.push(Input::PortGone { at: 5_970 * MS, wire: Wire::ToDrive });
        engine.push(Input::Tick(9_000 * MS));
        assert_eq!(count(&engine, "silent-while-moving"), 0);
    }

    #[test]
    fn cannot_judge() {
        let mut wires = presses();
        wires.order(200_000, 500, "ahead");
        let engine = wires.play(&rover("\"on change\"", FOR_EVER), false, 300_000);
        assert_eq!(lacks(&engine, "silent-while-moving"), [Need::Cadence]);
        assert_eq!(count(&engine, "silent-while-moving"), 0);
    }
}

mod lapse {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..20, None).steady(3_400, 100, 20..30, None);
        wires.put(3_204, Wire::FromDrive, "lapsed 019\n");
        let engine = wires.play(&rover("\"on change\"", "300 ms"), true, 4_350);
        let lapse = found(&engine, "lapse").unwrap();
        assert_eq!((lapse.count, lapse.first), (1, 3_200 * MS), "{lapse:#?}");
        assert!(lapse.says.contains("the longest gap that caused one was at least 499 ms"), "{}", lapse.says);
        assert!(lapse.says.contains("reported it once"), "{}", lapse.says);
        // Its evidence is the order that ran out: the twentieth line of eleven bytes.
        assert_eq!(lapse.evidence[0].offset, 19 * 11);
    }

    #[test]
    fn look_alike() {
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..20, None).order(3_000, 20, "rest").steady(5_000, 100, 21..30, None);
        let engine = wires.play(&rover("\"on change\"", "300 ms"), true, 5_850);
        assert_eq!(count(&engine, "lapse"), 0);
    }

    #[test]
    fn cannot_judge() {
        let mut wires = Wires::default();
        let engine = wires.steady(1_000, 500, 0..20, None).play(&rover("\"on change\"", FOR_EVER), true, 12_000);
        assert_eq!((lacks(&engine, "lapse"), count(&engine, "lapse")), (vec![Need::Deadline], 0));
    }
}

mod statistics {
    use super::*;
    use wheeltap::report;

    #[test]
    fn delays_and_gaps_hold_the_true_ones() {
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..199, Some(6)).order(10_950, 199, "ahead").answer(10_990, 199);
        let times = wires.play(&rover("50", FOR_EVER), true, 11_000).snapshot(0).times;
        let within = |ends: [i64; 2], ms: i64| ends[0] <= ms * MS && ms * MS <= ends[1];
        let (answers, gaps) = (times.answers.unwrap(), times.orders.unwrap().gaps.unwrap());
        assert_eq!((answers.count, gaps.count), (200, 199));
        assert!(within(answers.half, 6) && within(answers.most, 6) && within(answers.longest, 40), "{answers:?}");
        assert!(within(gaps.half, 50) && within(gaps.nearly_all, 50), "{gaps:?}");
    }

    #[test]
    fn a_buffer_that_nobody_read() {
        let mut wires = Wires::default();
        // Twelve orders of eleven bytes within 20 ms, else one each 200 ms.
        wires.steady(1_000, 200, 0..20, None).put(6_000, Wire::ToDrive, &"o100 ahead\n".repeat(12));
        let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 8_000);
        let times = engine.snapshot(0).times;
        let dropped = |ms: u32| times.not_read.iter().find(|not| not.ms == ms).unwrap().dropped;
        // In 20 ms all 132 bytes certainly came: 68 more than 64. In 5 ms the wire carries 59 at most: none is lost.
        assert_eq!((dropped(20), dropped(5)), ([68, 68], [0, 0]), "{:?}", times.not_read);
        let words = report::times::words(&times);
        let due = "Not read for 20 ms at the worst moment, a receive buffer of 64 bytes drops 68 to 68 bytes";
        assert!(words.iter().any(|line| line == due), "{words:?}");
        let load = times.load[0].unwrap();
        // 132 + 0 to 11 bytes of 11520 a second in the busiest second: 1.1 to 1.3 %.
        assert!((11..=13).contains(&load.busiest_second) && load.mean < load.busiest_second, "{load:?}");
    }

    #[test]
    fn notes_count_tries() {
        let mut wires = Wires::default();
        let mut engine = wires.steady(1_000, 100, 0..20, None).play(&rover("100", FOR_EVER), false, 2_000);
        for at in 0..20 {
            engine.push(Input::Note { at: (3_000 + at) * MS, text: "try wire pull: good" });
        }
        engine.push(Input::Note { at: 4_000 * MS, text: "try wire pull: sort of" });
        engine.push(Input::Tick(5_000 * MS));
        let times = engine.snapshot(0).times;
        // 1 - 0.05^(1/20) = 0.1391.
        assert_eq!((times.tries[0].tries, times.tries[0].failed, times.tries[0].still_allows), (20, 0, 140));
        assert_eq!(times.tries_not_understood, 1);
        let words = report::times::words(&times);
        assert!(words.iter().any(|line| line.contains("0 bad in 20; that still allows up to 14 %")), "{words:?}");
    }
}
