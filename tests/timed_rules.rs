//! Each rule of time: what it finds, what looks like it and is not, and what it says where it cannot judge.
#![allow(missing_docs, clippy::unwrap_used)]

#[path = "timed/bench.rs"]
mod bench;
#[path = "timed/one_rover.rs"]
mod one_rover;

use bench::{Wires, count, found, lacks};
use one_rover::{MS, rover};
use wheeltap::findings::Need;
use wheeltap_parsers::{Input, Wire};

const FOR_EVER: &str = "for ever";

/// Orders of fingers, not of a clock.
fn presses() -> Wires {
    let mut wires = Wires::default();
    for n in 0..60 {
        let at = 1_000 + n * 1_700 + n * n % 311;
        wires.order(at, 2 * n, "ahead").order(at + 420 + n * 37 % 500, 2 * n + 1, "rest");
    }
    wires
}

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

mod bunched {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..200, None).steady(11_180, 2, 200..204, None).steady(11_200, 50, 204..240, None);
        let engine = wires.play(&rover("50", FOR_EVER), false, 14_000);
        let bunched = found(&engine, "bunched").unwrap();
        assert_eq!(bunched.count, 1, "{bunched:#?}");
        assert!(bunched.says.contains("at least 229 ms"), "{}", bunched.says);
    }

    #[test]
    fn look_alike() {
        // A silence with one order at its end; and a tap that looked away, so that many come in one read.
        let mut wires = Wires::default();
        wires.steady(1_000, 50, 0..200, None).steady(11_200, 50, 200..240, None);
        let rover = rover("50", FOR_EVER);
        assert_eq!(count(&wires.play(&rover, false, 14_000), "bunched"), 0);
        let mut wires = Wires::default();
        let mut engine = wires.steady(1_000, 50, 0..200, None).play(&rover, false, 10_960);
        let text: String = (200..204).map(|n| format!("o{n:03} ahead\n")).collect();
        let facts = engine.link().wire(Wire::ToDrive).unwrap().clone();
        let asleep =
            wheeltap::timing::link::chunk(&facts, Wire::ToDrive, 200 * 11, 11_180 * MS, 10_960 * MS, text.as_bytes());
        engine.push(Input::Chunk(asleep));
        engine.finish();
        assert_eq!(count(&engine, "bunched") + count(&engine, "late"), 0);
        assert_eq!(count(&engine, "tap-asleep"), 1);
        assert_eq!(engine.snapshot(0).times.together[0], 3, "counted, not flagged");
    }

    #[test]
    fn cannot_judge() {
        let engine = presses().play(&rover("\"learn\"", FOR_EVER), false, 120_000);
        assert_eq!((lacks(&engine, "bunched"), count(&engine, "bunched")), (vec![Need::Cadence], 0));
    }
}

mod gap_inside {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = presses();
        wires.put(200_000, Wire::ToDrive, "o500 ahead").put(200_040, Wire::ToDrive, "\n");
        let engine = wires.play(&rover("\"on change\"", FOR_EVER), false, 210_000);
        let gap = found(&engine, "gap-inside").unwrap();
        assert_eq!(gap.count, 1, "{gap:#?}");
        assert!(gap.says.contains("at least 39 ms"), "{}", gap.says);
    }

    #[test]
    fn look_alike() {
        // Two reads brought one line, but its bytes followed on each other.
        let mut wires = presses();
        wires.put(200_000, Wire::ToDrive, "o500 ah").put(200_001, Wire::ToDrive, "ead\n");
        let engine = wires.play(&rover("\"on change\"", FOR_EVER), false, 210_000);
        assert_eq!(count(&engine, "gap-inside"), 0);
    }

    #[test]
    fn cannot_judge() {
        let folder = tempfile::tempdir().unwrap();
        let log = folder.path().join("no-rate.jsonl");
        let rows = "{\"t_us\":1000,\"wire\":\">\",\"hex\":\"6f303030206168656164\"}\n{\"t_us\":50000,\"wire\":\">\",\"hex\":\"0a\"}\n";
        std::fs::write(&log, rows).unwrap();
        let mut source = wheeltap::source::open::open(log.to_str().unwrap()).unwrap();
        let mut engine = wheeltap::engine::Engine::new(source.link().clone(), Some(rover("\"learn\"", FOR_EVER)));
        while let Some(input) = source.next().unwrap() {
            engine.push(input);
        }
        engine.finish();
        assert_eq!(lacks(&engine, "gap-inside"), [Need::LineRate]);
        assert_eq!(count(&engine, "gap-inside"), 0);
    }
}

mod tap_clock {
    use super::*;

    #[test]
    fn positive() {
        // Ten bytes dated 0.1 ms after the ten before them: the wire needs 0.9 ms for them.
        let facts = |engine: &wheeltap::engine::Engine| engine.link().wire(Wire::ToDrive).unwrap().clone();
        let mut engine = Wires::default().play(&rover("\"learn\"", FOR_EVER), false, 0);
        let facts = facts(&engine);
        for (offset, at) in [(0, 10_000_000), (11, 10_100_000)] {
            let chunk = wheeltap::timing::link::chunk(&facts, Wire::ToDrive, offset, at, 9_999_000, b"o000 ahead\n");
            engine.push(Input::Chunk(chunk));
        }
        engine.finish();
        let clock = found(&engine, "tap-clock").unwrap();
        assert_eq!((clock.count, clock.layer.id()), (1, "tap"));
    }

    #[test]
    fn look_alike() {
        // Frames back to back, as fast as the wire can carry them.
        let mut wires = Wires::default();
        wires.put(1_000, Wire::ToDrive, "o000 ahead\no001 ahead\no002 ahead\no003 ahead\n");
        let engine = wires.play(&rover("\"learn\"", FOR_EVER), false, 2_000);
        assert_eq!(count(&engine, "tap-clock") + count(&engine, "tap-asleep"), 0);
    }

    #[test]
    fn cannot_judge() {
        // It needs nothing of the link; without a rate nothing is too close.
        let engine = presses().play(&rover("\"learn\"", FOR_EVER), false, 120_000);
        assert!(lacks(&engine, "tap-clock").is_empty());
        assert_eq!(count(&engine, "tap-clock"), 0);
    }
}

mod answer_late {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").answer(7_070, 60);
        wires.steady(7_100, 100, 61..80, Some(6));
        let engine = wires.play(&rover("100", FOR_EVER), true, 10_000);
        let late = found(&engine, "answer-late").unwrap();
        assert_eq!(late.count, 1, "{late:#?}");
        assert!(late.says.contains("at least 69 ms"), "{}", late.says);
    }

    #[test]
    fn look_alike() {
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").answer(7_025, 60);
        let engine = wires.play(&rover("100", FOR_EVER), true, 10_000);
        assert_eq!(count(&engine, "answer-late"), 0);
    }

    #[test]
    fn cannot_judge() {
        let mut wires = Wires::default();
        let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), false, 10_000);
        assert_eq!(lacks(&engine, "answer-late"), [Need::NumberedAnswers]);
        assert_eq!(count(&engine, "answer-late"), 0);
    }
}

mod answer_missing {
    use super::*;

    #[test]
    fn positive() {
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..60, Some(6)).steady(7_000, 100, 60..63, None);
        wires.steady(7_300, 100, 63..80, Some(6));
        let engine = wires.play(&rover("100", FOR_EVER), true, 12_000);
        let missing = found(&engine, "answer-missing").unwrap();
        // Dated two seconds after each order.
        assert_eq!((missing.count, missing.first, missing.last), (3, 9_000 * MS, 9_200 * MS), "{missing:#?}");
        let mut wires = Wires::default();
        let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), true, 12_000);
        let never = found(&engine, "answer-missing").unwrap();
        assert!(never.says.contains("Not one") && never.count == 60, "{}", never.says);
    }

    #[test]
    fn look_alike() {
        // The answer was hit on its way back; the last orders are too young to be given up.
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..60, Some(6)).order(7_000, 60, "ahead").put(7_006, Wire::FromDrive, "a0q0 got\n");
        wires.steady(7_100, 100, 61..80, Some(6)).order(9_500, 80, "ahead");
        let engine = wires.play(&rover("100", FOR_EVER), true, 11_000);
        assert_eq!(count(&engine, "answer-missing"), 0);
        assert_eq!(engine.snapshot(0).times.not_judged, 1);
    }

    #[test]
    fn cannot_judge() {
        let mut wires = Wires::default();
        let engine = wires.steady(1_000, 100, 0..60, None).play(&rover("100", FOR_EVER), false, 12_000);
        assert_eq!(lacks(&engine, "answer-missing"), [Need::NumberedAnswers]);
        assert_eq!(count(&engine, "answer-missing"), 0);
    }
}

mod answer_growing {
    use super::*;

    /// 50 orders a second, of which 33 are read, through a queue of 18: its length follows from counting alone. Returns
    /// the wires and the longest delay.
    fn flooded(orders: i64) -> (Wires, i64) {
        let mut wires = Wires::default();
        let (mut free, mut longest) = (0, 0);
        let mut waiting: Vec<i64> = Vec::new();
        for number in 0..orders {
            let at = 1_000 + number * 20;
            wires.order(at, number, "ahead");
            waiting.retain(|read| *read > at);
            if waiting.len() >= 18 {
                continue;
            }
            free = (free + 30).max(at + 5);
            waiting.push(free);
            wires.answer(free, number);
            longest = longest.max(free - at);
        }
        (wires, longest)
    }

    #[test]
    fn positive() {
        let (wires, longest) = flooded(200);
        let engine = wires.play(&rover("20", FOR_EVER), true, 12_000);
        let growing = found(&engine, "answer-growing").unwrap();
        assert_eq!(growing.count, 1, "{growing:#?}");
        assert!(
            growing.says.contains("then kept there") && growing.says.contains("16 orders a second more"),
            "{}",
            growing.says
        );
        let worst = engine.snapshot(0).times.answers.unwrap().longest;
        assert!(worst[0] <= longest * MS && longest * MS <= worst[1], "{longest} ms, {worst:?}");
    }

    #[test]
    fn look_alike() {
        // A drive board that is steadily slow, and one that was away once: neither falls further and further behind.
        let mut wires = Wires::default();
        wires.steady(1_000, 100, 0..100, Some(380));
        assert_eq!(count(&wires.play(&rover("100", FOR_EVER), true, 14_000), "answer-growing"), 0);
        let mut wires = Wires::default();
        wires.steady(1_000, 20, 0..100, Some(6)).steady(3_000, 20, 100..105, None);
        (100..105).for_each(|number| {
            wires.answer(3_105 + number - 100, number);
        });
        wires.steady(3_120, 20, 106..200, Some(6));
        assert_eq!(count(&wires.play(&rover("20", FOR_EVER), true, 8_000), "answer-growing"), 0);
    }

    #[test]
    fn cannot_judge() {
        let (wires, _) = flooded(200);
        let engine = wires.play(&rover("20", FOR_EVER), false, 12_000);
        assert_eq!(lacks(&engine, "answer-growing"), [Need::NumberedAnswers]);
        assert_eq!(count(&engine, "answer-growing"), 0);
    }
}

mod answer_one_second {
    use super::*;

    /// Presses without an end mark: the board reads each line 1000 ms after its last byte, whatever its length.
    fn unended(wait: impl Fn(i64) -> i64) -> Wires {
        let mut wires = Wires::default();
        for n in 0..12 {
            let at = 2_000 + n * 3_000 + n * 173 % 400;
            let way = if n % 2 == 0 { "ahead" } else { "rest" };
            wires.put(at, Wire::ToDrive, &format!("o{n:03} {way}")).answer(at + wait(n), n);
        }
        wires
    }

    #[test]
    fn positive() {
        let engine = unended(|n| 1_000 + n % 3).play(&rover("\"on change\"", FOR_EVER), true, 45_000);
        let second = found(&engine, "answer-one-second").unwrap();
        assert_eq!(second.count, 12, "{second:#?}");
        assert!(second.says.contains("whatever the length"), "{}", second.says);
    }

    #[test]
    fn look_alike() {
        // A slow loop, and reports on a clock of their own.
        let rover = rover("\"on change\"", FOR_EVER);
        let slow = unended(|n| 700 + n * 211 % 600).play(&rover, true, 45_000);
        assert_eq!(count(&slow, "answer-one-second"), 0);
        let mut wires = presses();
        (0..100).for_each(|n| {
            wires.answer(1_500 + n * 1_000, n);
        });
        assert_eq!(count(&wires.play(&rover, true, 120_000), "answer-one-second"), 0);
    }

    #[test]
    fn cannot_judge() {
        let engine = unended(|_| 1_000).play(&rover("\"on change\"", FOR_EVER), false, 45_000);
        assert_eq!(lacks(&engine, "answer-one-second"), [Need::Answers]);
        assert_eq!(count(&engine, "answer-one-second"), 0);
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
