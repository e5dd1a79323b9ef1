//! The wagon as a whole, seen from its wires and checked against its truth.
#![allow(clippy::unwrap_used)]
use super::*;
use crate::rover::wheels::{Wheel, per_cent};
use crate::simulation::{Fault, Look, MS, Script, Step, Style, Way, Work, frames, wire};

fn wagon(style: Style, faults: &[Fault]) -> Settings {
    Settings { faults: faults.to_vec(), ..Settings::demo(style, 1) }
}

fn run(settings: &Settings, seconds: Nanos) -> Vec<Burst> {
    let mut wagon = Moonwagon::new(settings);
    std::iter::from_fn(|| wagon.next_before(seconds * 1000 * MS)).collect()
}

/// What stood on one wire, as text.
fn text(bursts: &[Burst], wire: Wire) -> String {
    let bytes: Vec<u8> =
        bursts.iter().filter(|burst| burst.wire == wire).flat_map(|burst| burst.bytes.clone()).collect();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The cues of a run whose check holds: when, sequence, panel counter, f, s, t.
fn cues(bursts: &[Burst]) -> Vec<(Nanos, u16, u8, [i32; 3])> {
    let whole = |burst: &Burst| {
        let line = burst.bytes.get(burst.bytes.len().checked_sub(45)?..)?;
        let check = format!("#{:04X}.\n", frames::crc16(frames::CUE_START, &line[..38]));
        let field = |from: usize, to: usize| std::str::from_utf8(line.get(from..to)?).ok()?.parse::<i32>().ok();
        let sound = line[38..] == *check.as_bytes();
        sound.then_some((
            burst.begins,
            field(1, 4)? as u16,
            field(6, 8)? as u8,
            [field(14, 18)?, field(20, 24)?, field(26, 30)?],
        ))
    };
    bursts.iter().filter(|burst| burst.wire == Wire::ToDrive).filter_map(whole).collect()
}

#[test]
fn the_same_settings_give_the_same_bursts_and_another_seed_does_not() {
    for style in Style::ALL {
        let settings = wagon(style, &[Fault::Noise, Fault::RadioGaps, Fault::SupplySag]);
        let once = run(&settings, 90);
        assert_eq!(once, run(&settings, 90), "{}", style.name());
        assert_ne!(once, run(&Settings { seed: 2, ..settings }, 90), "{}", style.name());
    }
}

#[test]
fn how_the_wagon_is_asked_changes_nothing() {
    for style in Style::ALL {
        let settings = wagon(style, &[Fault::LostBytes]);
        let (mut whole, mut pieces) = (Moonwagon::new(&settings), Moonwagon::new(&settings));
        let mut limit = 0;
        while limit < 20_000 * MS {
            limit += 3_700_001;
            while let Some(burst) = pieces.next_before(limit) {
                assert_eq!(whole.next_burst(), Some(burst));
            }
            assert_eq!(pieces.truth().at, limit);
        }
    }
}

#[test]
fn bursts_come_in_order_and_never_overlap_on_a_wire() {
    for style in Style::ALL {
        let bursts = run(&wagon(style, &[Fault::RadioGaps, Fault::LateSender, Fault::LostBytes, Fault::SupplySag]), 90);
        assert!(bursts.is_sorted_by_key(|burst| (burst.begins, burst.wire.index())));
        let mut free = [0; 2];
        for burst in &bursts {
            assert_eq!(burst.ends, burst.begins + wire::duration(burst.bytes.len()));
            assert!(burst.begins >= free[burst.wire.index()], "{} at {}", style.name(), burst.begins);
            free[burst.wire.index()] = burst.ends;
        }
    }
}

#[test]
fn the_first_screen_is_not_empty() {
    for style in Style::ALL {
        let bursts = run(&wagon(style, &[]), 1);
        let ordered: Vec<&Burst> = bursts.iter().filter(|burst| burst.wire == Wire::ToDrive).collect();
        assert_eq!(ordered[0].begins, 300 * MS);
        assert_eq!(ordered[0].bytes, b"\x00\xF8GC2 rom 1.4 rst=0x01(power) strap=0b10110\r\n");
        assert_eq!((ordered[1].begins, ordered[2].begins), (309 * MS, 600 * MS));
        assert!(ordered[2].bytes.starts_with(b"eye ok heap 91k net up\r\n"));
    }
}

#[test]
fn every_move_within_a_minute() {
    let orders = text(&run(&wagon(Style::PlainLine, &[]), 60), Wire::ToDrive);
    for way in Way::ALL {
        assert!(orders.contains(&format!("way,{}\n", way.name())), "{}", way.name());
    }
    assert!(orders.contains("lamp,") && orders.contains("pace,"));
    // It goes on for ever, never twice the same.
    let later = text(&run(&wagon(Style::PlainLine, &[]), 600), Wire::ToDrive);
    assert!(later.matches("way,spin-port\n").count() > 8);
}

#[test]
fn wheels_of_every_style_follow_the_operator() {
    for style in Style::ALL {
        for way in Way::ALL {
            let settings = Settings { script: Script::held(way, 180), ..wagon(style, &[]) };
            let mut wagon = Moonwagon::new(&settings);
            while wagon.next_before(2500 * MS).is_some() {}
            let truth = wagon.truth();
            let [f, s, t] = way.signs();
            let signs = crate::simulation::mixer::raw(f, s, t).map(i32::signum);
            assert_eq!(truth.commanded.map(i32::signum), signs, "{} {}", style.name(), way.name());
            assert_eq!(truth.turning.map(per_cent), truth.commanded.map(per_cent), "{} {}", style.name(), way.name());
        }
    }
}

#[test]
fn a_script_that_ends_on_a_plain_line_ends() {
    let steps = vec![Step::Wait(1000 * MS), Step::Press(Way::Port), Step::Wait(500 * MS), Step::Release];
    let settings = Settings { script: Script::from_list(steps), ..wagon(Style::PlainLine, &[]) };
    let mut wagon = Moonwagon::new(&settings);
    let bursts: Vec<Burst> = std::iter::from_fn(|| wagon.next_burst()).collect();
    assert_eq!(bursts.len(), 5);
    assert!(text(&bursts, Wire::ToDrive).ends_with("net up\r\nway,rest\nway,port\nway,rest\n"));
    assert_eq!(wagon.next_burst(), None);
}

#[test]
fn reversed_leads_leave_the_wire_perfect() {
    for style in Style::ALL {
        let script = Script::held(Way::Ahead, 200);
        let healthy = Settings { script, ..wagon(style, &[]) };
        for wheel in Wheel::ALL {
            let reversed = Settings { faults: vec![Fault::LeadsReversed(wheel)], ..healthy.clone() };
            let orders =
                |settings| run(settings, 5).into_iter().filter(|burst| burst.wire == Wire::ToDrive).collect::<Vec<_>>();
            assert_eq!(orders(&healthy), orders(&reversed));
            let mut wagon = Moonwagon::new(&reversed);
            while wagon.next_before(4000 * MS).is_some() {}
            let truth = wagon.truth();
            assert!(truth.commanded.iter().all(|duty| *duty > 0));
            for one in Wheel::ALL {
                assert_eq!(truth.turning[one.index()] < 0, one == wheel);
            }
        }
    }
}

#[test]
fn the_operator_steers_against_a_reversed_wheel() {
    // Rigid-body least squares: a reversed FL turns the rover counter-clockwise ahead and clockwise to the left, and so
    // on for each wheel; the operator's mean correction has the opposite signs.
    for (wheel, ahead, left) in [(Wheel::FL, -1, 1), (Wheel::FR, 1, 1), (Wheel::RL, -1, -1), (Wheel::RR, 1, -1)] {
        let found = cues(&run(&wagon(Style::CueLine, &[Fault::LeadsReversed(wheel)]), 240));
        let mean = |pick: fn(i32, i32) -> bool| {
            let turns: Vec<i32> = found.iter().filter(|cue| pick(cue.3[0], cue.3[1])).map(|cue| cue.3[2]).collect();
            turns.iter().sum::<i32>() / i32::try_from(turns.len()).unwrap()
        };
        let (forward, slide) = (mean(|f, s| f > 0 && s == 0), mean(|f, s| f == 0 && s > 0));
        assert_eq!((forward.signum(), slide.signum()), (ahead, left), "{} {forward} {slide}", wheel.name());
        assert!(forward.abs() > 4 && slide.abs() > 4, "{} {forward} {slide}", wheel.name());
    }
    let healthy = cues(&run(&wagon(Style::CueLine, &[]), 120));
    assert!(healthy.iter().all(|cue| cue.3[2] == 0 || (cue.3[0] == 0 && cue.3[1] == 0)));
}

#[test]
fn repeats_keep_the_deadline_and_send_on_change_does_not() {
    assert_eq!(text(&run(&wagon(Style::CueLine, &[]), 120), Wire::FromDrive).matches("=lapsed").count(), 0);
    let bursts = run(&wagon(Style::CueLine, &[Fault::SendOnChange]), 120);
    assert!(text(&bursts, Wire::FromDrive).matches("=lapsed").count() > 20);
    for pair in cues(&bursts).windows(2) {
        assert_eq!(pair[1].1, (pair[0].1 + 1) % 1000, "sequence");
        assert_eq!(pair[1].2, (pair[0].2 + 1) % 100, "panel counter");
    }
}

#[test]
fn an_even_cadence_and_a_late_one() {
    for style in [Style::Stave, Style::Bead, Style::Ladder] {
        let gaps = |faults: &[Fault]| -> Vec<Nanos> {
            let bursts: Vec<Burst> = run(&wagon(style, faults), 60)
                .into_iter()
                .filter(|burst| burst.wire == Wire::ToDrive)
                .skip(3)
                .collect();
            bursts.windows(2).map(|pair| pair[1].begins - pair[0].begins).collect()
        };
        assert!(gaps(&[]).iter().all(|gap| (*gap - 50 * MS).abs() < 500_000), "{}", style.name());
        let late = gaps(&[Fault::LateSender]);
        let slips = late.iter().filter(|gap| **gap > 79 * MS).count();
        assert!((20..90).contains(&slips), "{} {slips}", style.name());
    }
}

#[test]
fn a_sagging_supply_cuts_a_frame_and_starts_the_board_again() {
    for style in Style::ALL {
        let bursts = run(&wagon(style, &[Fault::SupplySag]), 40);
        let ordered: Vec<&Burst> = bursts.iter().filter(|burst| burst.wire == Wire::ToDrive).collect();
        let again: Vec<usize> =
            (1..ordered.len()).filter(|place| ordered[*place].bytes.starts_with(b"\x00\xF8GC2")).collect();
        assert!(!again.is_empty(), "{}", style.name());
        for place in again {
            assert!(String::from_utf8_lossy(&ordered[place].bytes).contains("rst=0x0F(sag)"));
            let whole = match style {
                Style::PlainLine => ordered[place - 1].bytes.ends_with(b"\n"),
                Style::CueLine => ordered[place - 1].bytes.len() == 45,
                Style::Stave => ordered[place - 1].bytes.len() == 11,
                Style::Bead => ordered[place - 1].bytes.ends_with(b"\0"),
                Style::Ladder => ordered[place - 1].bytes.len() == 13,
            };
            assert!(!whole, "{} {:?}", style.name(), ordered[place - 1]);
            if let Some(first) = ordered.get(place + 2) {
                assert!(first.begins - ordered[place].begins > 2_300 * MS);
                assert!(first.bytes.starts_with(b"eye ok heap 91k net up "));
            }
        }
    }
    let bursts = run(&wagon(Style::CueLine, &[Fault::SupplySag]), 40);
    let orders = text(&bursts, Wire::ToDrive);
    assert!(orders.contains("net up c000 p00 drv f+000 s+000 t+000 g3 d30 #0770.\n"));
    assert!(text(&bursts, Wire::FromDrive).contains("a000 nay v107 e02"));
}

#[test]
fn radio_gaps_jump_the_panel_counter_alone() {
    let found = cues(&run(&wagon(Style::CueLine, &[Fault::RadioGaps]), 240));
    let jumps = found.windows(2).filter(|pair| pair[1].2 != (pair[0].2 + 1) % 100).count();
    let bunched = found.windows(3).filter(|three| three[2].0 - three[0].0 < 15 * MS).count();
    assert!(jumps > 10 && bunched > 5, "{jumps} {bunched}");
    assert!(found.windows(2).all(|pair| pair[1].1 == (pair[0].1 + 1) % 1000));
    let sound = cues(&run(&wagon(Style::CueLine, &[]), 240));
    assert!(sound.windows(2).all(|pair| pair[1].2 == (pair[0].2 + 1) % 100));
}

#[test]
fn noise_and_loss_are_refused_by_the_check() {
    for fault in [Fault::Noise, Fault::MotorNoise, Fault::LostBytes] {
        let bursts = run(&wagon(Style::CueLine, &[fault]), 120);
        let answers = text(&bursts, Wire::FromDrive);
        assert!(answers.matches(" nay ").count() > 5, "{}: {}", fault.name(), answers.matches(" nay ").count());
    }
    assert_eq!(text(&run(&wagon(Style::CueLine, &[]), 120), Wire::FromDrive).matches(" nay ").count(), 0);
    // Noise of the motors spares a wagon at rest.
    let rest = Settings { script: Script::held(Way::Rest, 255), ..wagon(Style::Stave, &[Fault::MotorNoise]) };
    assert_eq!(run(&rest, 60), run(&Settings { faults: Vec::new(), ..rest.clone() }, 60));
}

#[test]
fn a_lost_release_runs_on_into_the_next_press() {
    let run_on = |faults: &[Fault]| {
        let orders = text(&run(&wagon(Style::PlainLine, faults), 300), Wire::ToDrive);
        let ways: Vec<String> = orders.lines().filter_map(|line| Some(line.strip_prefix("way,")?.to_owned())).collect();
        ways.windows(2).filter(|pair| pair[0] != "rest" && pair[1] != "rest").count()
    };
    assert_eq!(run_on(&[]), 0);
    assert!(run_on(&[Fault::ReleaseLost]) > 10);
}

#[test]
fn without_end_marks_nothing_is_whole() {
    let orders = text(&run(&wagon(Style::PlainLine, &[Fault::NoEndMark]), 10), Wire::ToDrive);
    assert!(orders.contains("way,aheadway,rest"), "{orders}");
    // The drive board takes a line a second after its last byte.
    let settings = Settings { script: Script::held(Way::Ahead, 140), ..wagon(Style::PlainLine, &[Fault::NoEndMark]) };
    let mut wagon = Moonwagon::new(&settings);
    while wagon.next_before(5000 * MS).is_some() {}
    assert_eq!(wagon.truth().commanded, [0; 4], "glued words are no word");
}

#[test]
fn glued_start_up_text_spoils_the_first_order_only() {
    let answers = text(&run(&wagon(Style::CueLine, &[Fault::BootGlued]), 10), Wire::FromDrive);
    assert!(answers.contains("a000 nay v119 e02"), "{answers}");
    assert_eq!(answers.matches(" nay ").count(), 1);
}

#[test]
fn one_wheel_alone_where_the_build_can_say_it() {
    for (style, can) in [
        (Style::CueLine, true),
        (Style::Stave, true),
        (Style::Ladder, true),
        (Style::Bead, false),
        (Style::PlainLine, false),
    ] {
        for wheel in Wheel::ALL {
            let steps = vec![Step::Wait(1000 * MS), Step::Alone(wheel, -40)];
            let settings = Settings { script: Script::from_list(steps), ..wagon(style, &[]) };
            let mut wagon = Moonwagon::new(&settings);
            while wagon.next_before(1500 * MS).is_some() {}
            let mut want = [0; 4];
            want[wheel.index()] = if can { -400 } else { 0 };
            assert_eq!(wagon.truth().commanded, want, "{} {}", style.name(), wheel.name());
        }
    }
}

#[test]
fn the_pack_sags_with_the_wheels() {
    let settings = Settings { script: Script::held(Way::Ahead, 255), ..wagon(Style::PlainLine, &[]) };
    let mut wagon = Moonwagon::new(&settings);
    while wagon.next_before(1000 * MS).is_some() {}
    let rest = wagon.truth().pack_mv;
    assert_eq!(rest, 11_900);
    while wagon.next_before(1235 * MS).is_some() {}
    assert!(wagon.truth().pack_mv < rest - 300, "{}", wagon.truth().pack_mv);
    while wagon.next_before(5000 * MS).is_some() {}
    assert!((rest - 150..rest - 50).contains(&wagon.truth().pack_mv), "{}", wagon.truth().pack_mv);
}

#[test]
fn a_leftover_carriage_return_is_obeyed_by_nobody() {
    for style in [Style::PlainLine, Style::CueLine] {
        let settings = Settings { script: Script::held(Way::Ahead, 140), ..wagon(style, &[Fault::CrBeforeLf]) };
        let orders = text(&run(&settings, 4), Wire::ToDrive);
        assert_eq!(orders.matches("\r\n").count(), orders.matches('\n').count());
        let mut wagon = Moonwagon::new(&settings);
        while wagon.next_before(4000 * MS).is_some() {}
        assert_eq!(wagon.truth().commanded, [0; 4], "{}", style.name());
    }
}

#[test]
fn two_panels_count_in_two_series() {
    let found = cues(&run(&wagon(Style::CueLine, &[Fault::TwoPanels]), 60));
    let jumps = found.windows(2).filter(|pair| pair[1].2 != (pair[0].2 + 1) % 100).count();
    assert!(jumps > 100, "{jumps}");
    assert!(found.windows(2).all(|pair| pair[1].1 == (pair[0].1 + 1) % 1000));
}

#[test]
fn a_broken_lead_back_is_silent() {
    for style in [Style::CueLine, Style::Stave] {
        let orders = |faults: &[Fault]| {
            run(&wagon(style, faults), 30).into_iter().partition::<Vec<_>, _>(|burst| burst.wire == Wire::ToDrive)
        };
        let ((sound, answers), (cut, silence)) = (orders(&[]), orders(&[Fault::AnswersCut]));
        assert_eq!(sound, cut);
        assert!(!answers.is_empty() && silence.is_empty());
    }
}

#[test]
fn every_fault_changes_something_where_it_applies() {
    for style in Style::ALL {
        let story = |faults: &[Fault]| {
            let mut wagon = Moonwagon::new(&wagon(style, faults));
            let mut story = Vec::new();
            while let Some(burst) = wagon.next_before(120_000 * MS) {
                story.push((burst, wagon.truth().turning, wagon.seen().goes));
            }
            story
        };
        let healthy = story(&[]);
        for fault in Fault::all() {
            assert_eq!(story(&[fault]) != healthy, fault.applies_to(style), "{} {}", style.name(), fault.name());
        }
    }
}

#[test]
fn a_panel_by_hand_turns_the_wheels_and_a_repair_is_seen() {
    let mut settings = wagon(Style::PlainLine, &[Fault::LeadsReversed(Wheel::RR)]);
    settings.script = Script::by_hand();
    let mut wagon = Moonwagon::new(&settings);
    let go = |wagon: &mut Moonwagon, until: Nanos| -> String {
        text(&std::iter::from_fn(|| wagon.next_before(until * MS)).collect::<Vec<_>>(), Wire::ToDrive)
    };
    assert!(go(&mut wagon, 1000).ends_with("way,rest\n"));
    wagon.hand(Step::Pace(200));
    wagon.hand(Step::Press(Way::Ahead));
    assert_eq!(go(&mut wagon, 2000), "pace,200\nway,ahead\n");
    assert_eq!(wagon.seen().wheels, [Look::Forward, Look::Forward, Look::Forward, Look::Backward]);
    assert!(wagon.seen().goes.spin < -100 && !wagon.wrong().is_empty());
    wagon.work(Work::TurnLeads(Wheel::RR));
    assert_eq!(go(&mut wagon, 3000), "");
    assert_eq!((wagon.seen().wheels, wagon.wrong()), ([Look::Forward; 4], Vec::new()));
    wagon.hand(Step::Release);
    assert_eq!(go(&mut wagon, 4000), "way,rest\n");
    assert_eq!(wagon.seen().wheels, [Look::Still; 4]);
    wagon.press_reset();
    assert!(go(&mut wagon, 8000).contains("rst=0x02(ext)"));
}

#[test]
fn a_wrong_row_is_put_right_by_its_own_repair() {
    let mut settings = wagon(Style::PlainLine, &[Fault::RowSign(Way::Port, Wheel::FL)]);
    settings.script = Script::held(Way::Port, 200);
    let mut wagon = Moonwagon::new(&settings);
    while wagon.next_before(4000 * MS).is_some() {}
    assert_eq!(wagon.truth().commanded.map(i32::signum), [1, 1, 1, -1]);
    wagon.correct_row(Way::Ahead);
    assert_eq!(wagon.wrong().len(), 1);
    wagon.correct_row(Way::Port);
    assert!(wagon.wrong().is_empty());
}
