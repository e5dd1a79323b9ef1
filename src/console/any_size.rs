//! Any size, any snapshot, any keys: no panic, nothing outside the screen, nothing harmful, pure ASCII where asked.
#![cfg(test)]
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use wheeltap_parsers::{Nanos, Wire};

use super::key_table::{Key, TABLE};
use super::status::{Mode, Recorder, Replay, Status};
use super::{Console, Theme, check_sample, sample};
use crate::engine::snapshot::survey::Survey;
use crate::engine::snapshot::{DeadlineState, Line, LineSort, OrderState, Snapshot};
use crate::rover::wheels::{Leg, LegEnd, Twist};

fn text() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), "[ -~]{0,90}", Just("月\u{1b}[2J\u{202e}é".to_owned())]
}

fn time() -> impl Strategy<Value = Nanos> {
    prop_oneof![any::<Nanos>(), 0..600_000_000_000i64]
}

fn deadline() -> impl Strategy<Value = DeadlineState> {
    let timed = |make: fn(Nanos, Nanos) -> DeadlineState| (time(), time()).prop_map(move |(a, b)| make(a, b));
    prop_oneof![
        Just(DeadlineState::Unknown),
        Just(DeadlineState::Never),
        time().prop_map(|length| DeadlineState::Resting { length }),
        timed(|length, until| DeadlineState::Running { length, until }),
        timed(|length, at| DeadlineState::Lapsed { length, at }),
    ]
}

fn line() -> impl Strategy<Value = Line> {
    let sort = prop_oneof![
        Just(LineSort::Frame),
        Just(LineSort::Damage),
        Just(LineSort::Text),
        Just(LineSort::Noise),
        Just(LineSort::Event),
        Just(LineSort::Note),
    ];
    let wire = prop_oneof![Just(None), Just(Some(Wire::ToDrive)), Just(Some(Wire::FromDrive))];
    (time(), time(), wire, any::<u64>(), sort, text(), text()).prop_map(
        |(at, uncertain, wire, offset, sort, raw, words)| Line {
            at,
            uncertain,
            wire,
            offset,
            len: offset,
            sort,
            raw,
            words,
            flags: vec!["late"; (offset % 4) as usize],
        },
    )
}

fn leg() -> impl Strategy<Value = Leg> {
    (time(), proptest::option::of(time()), text(), any::<[i32; 4]>()).prop_map(|(begins, ends, name, meant)| Leg {
        begins,
        ends,
        name,
        meant: meant.map(|duty| duty % 1001),
        end: LegEnd::Lapse,
    })
}

fn order() -> impl Strategy<Value = OrderState> {
    let maybe = proptest::option::of(any::<bool>());
    (text(), text(), proptest::option::of(time()), maybe.clone(), any::<bool>(), maybe).prop_map(
        |(ordered, meant, at, answered, rest, duty_heard)| OrderState {
            ordered,
            meant,
            at,
            answered,
            rest,
            duty_heard,
        },
    )
}

fn snapshot() -> impl Strategy<Value = Snapshot> {
    let base = (0..6usize).prop_map(|which| match which {
        0 => sample::strafe(),
        1 => sample::cue(),
        2 => sample::raw(),
        3 => sample::resting(),
        4 => sample::lapsed(),
        _ => sample::reset(),
    });
    let base = (base, 0..14usize).prop_map(|(base, which)| {
        let check = check_sample::all().into_iter().nth(which).map(|(_, snapshot)| snapshot.check);
        Snapshot { check: check.unwrap_or_default(), ..base }
    });
    let lists = (proptest::collection::vec(line(), 0..30), proptest::collection::vec(leg(), 0..30), any::<bool>());
    let parts = (text(), order(), any::<[i16; 4]>(), deadline(), any::<[i32; 4]>());
    (base, time(), lists, parts).prop_map(|(base, now, (lines, legs, none), parts)| {
        let (rover, order, [vx, vy, wz, scrub], deadline, duties) = parts;
        let mut wheels = base.wheels;
        for (wheel, duty) in wheels.iter_mut().zip(duties) {
            wheel.meant = (duty % 3 != 0).then_some(duty % 1001);
            wheel.ordered = (duty % 5 == 0).then_some(duty % 1001);
            wheel.proven = duty % 2 == 0;
        }
        let twist = Twist { vx: vx.into(), vy: vy.into(), wz: wz.into() };
        Snapshot {
            now,
            rover,
            order,
            wheels,
            deadline,
            lines,
            legs,
            twist: (vx % 4 != 0).then_some(twist),
            scrub: scrub.into(),
            findings: if none { Vec::new() } else { base.findings },
            ..base
        }
    })
}

fn survey(ends: Nanos, read_to: Nanos) -> std::sync::Arc<Survey> {
    let mut survey = Survey::new(0, ends);
    survey.read_to = read_to;
    for (at, slice) in survey.slices.iter_mut().enumerate() {
        slice.bytes = [at as u64 * 977 % 5000, at as u64 % 3];
        slice.places = [at % 7, at % 11, at % 13, at % 2, at % 5].map(|count| count as u32 / 4);
    }
    survey.notes.push((ends / 2, "\u{1b}[2J\u{202e} went dark".to_owned()));
    survey.changes.push("came: late (fault): seven places".to_owned());
    survey.into()
}

fn status() -> impl Strategy<Value = Status> {
    let recorder = (text(), any::<u64>(), proptest::option::of(text())).prop_map(|(path, bytes, trouble)| Recorder {
        path,
        bytes,
        lost: bytes % 2,
        trouble,
    });
    let replay = (time(), time(), proptest::option::of(any::<u32>()), any::<bool>(), time()).prop_map(
        |(position, length, speed, playing, read_to)| Replay {
            position,
            length,
            speed,
            playing,
            read_to,
            survey: survey(length, read_to),
            ..Replay::default()
        },
    );
    (proptest::option::of(recorder), proptest::option::of(replay), proptest::option::of(text())).prop_map(
        |(recorder, replay, message)| Status {
            mode: Mode::Replay,
            recorder,
            replay,
            begun: message.clone(),
            message,
            lesson: None,
        },
    )
}

fn key() -> impl Strategy<Value = Key> {
    let table: Vec<Key> = TABLE.iter().map(|binding| binding.key).collect();
    prop_oneof![any::<char>().prop_map(Key::Char), proptest::sample::select(table)]
}

fn size() -> impl Strategy<Value = (u16, u16)> {
    prop_oneof![(1..=250u16, 1..=80u16), (1..=12u16, 1..=6u16), Just((80, 24))]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_size_draws_any_snapshot(
        sizes in proptest::collection::vec(size(), 1..4),
        snapshots in proptest::collection::vec(snapshot(), 1..3),
        status in status(),
        keys in proptest::collection::vec(key(), 0..24),
        theme in any::<[bool; 2]>(),
    ) {
        let mut console = Console::new(Theme::from_env(theme[0], theme[1]));
        let mut keys = keys.into_iter();
        for size in sizes {
            for snapshot in &snapshots {
                let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
                terminal.draw(|frame| console.draw(frame, snapshot, &status)).unwrap();
                for cell in terminal.backend().buffer().content() {
                    prop_assert!(!cell.symbol().chars().any(char::is_control));
                    prop_assert!(!theme[1] || cell.symbol().is_ascii());
                }
                for key in keys.by_ref().take(4) {
                    console.press(key, snapshot, &status);
                }
            }
        }
    }
}
