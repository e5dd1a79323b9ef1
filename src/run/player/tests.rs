//! Notes made at the desk of a replay: once in the file, once in the engine, wherever the replay goes.
#![allow(clippy::unwrap_used)]

use wheeltap_parsers::Wire;

use super::*;
use crate::rover::built_in;
use crate::session::{Header, Heard, Recorder};
use crate::timing::link::{LinkFacts, WireFacts};

const S: Nanos = 1_000_000_000;

/// Ten seconds: a line each second, and one remark of the sheet at 2.5 s.
fn recorded(path: &Path) {
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "bench".to_owned() };
    let link = LinkFacts { wires: [Some(facts), None], ..LinkFacts::default() };
    let mut recorder = Recorder::create(path, &Header::new(link, None)).unwrap();
    let mut offset = 0;
    for second in 1..=10 {
        let t_us = second * 1_000_000;
        let bytes: Vec<u8> = format!("way,{}\n", if second % 2 == 0 { "rest" } else { "ahead" }).into();
        let length = bytes.len() as u64;
        recorder.keep(&Heard::Read { wire: Wire::ToDrive, t_us, since_us: 1_000, offset, bytes: bytes.into() });
        offset += length;
        recorder.keep(&Heard::Tick { t_us });
        if second == 2 {
            recorder.keep(&Heard::Note { t_us: 2_500_000, text: REST.into() });
        }
    }
    recorder.close();
}

const REST: &str = "seen rest at high duty: FL still FR still RL still RR still";
const AHEAD: &str = "seen ahead at high duty: FL forward FR forward RL forward RR forward";

fn player(path: &Path) -> Player {
    let file = built_in::find("plain-line").unwrap();
    Player::open(
        path,
        Asked::default(),
        Some(Arc::new(RoverFile::load(file.name, file.text).unwrap())),
        None,
        &Ended::watch().unwrap(),
    )
    .unwrap()
}

fn go(player: &mut Player, to: Nanos) {
    player.seek(to).unwrap();
    while player.goal.is_some() || player.warm.is_some() {
        player.go_on(Duration::ZERO).unwrap();
        player.warm_up().unwrap();
    }
}

fn said(player: &Player) -> usize {
    player.now.engine.check().book().last().map_or(0, |sheet| sheet.said.len())
}

#[test]
fn a_note_of_the_desk_counts_once_wherever_the_replay_goes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("desk.wheeltap");
    recorded(&path);
    let mut player = player(&path);
    go(&mut player, 5 * S);
    assert_eq!(said(&player), 1, "the recorded remark");
    player.note(AHEAD);
    assert_eq!(said(&player), 2, "at once, with the replay standing still");
    for (to, due) in [(3 * S, 2), (0, 1), (10 * S, 2), (S, 1), (9 * S, 2)] {
        go(&mut player, to);
        // Before 2.5 s the recorded remark has not been made; what the desk said stays.
        assert_eq!(said(&player), due, "at {to}");
    }
}

#[test]
fn the_next_replay_reads_it_from_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("desk.wheeltap");
    recorded(&path);
    let mut first = player(&path);
    go(&mut first, 5 * S);
    first.note(AHEAD);
    let mut second = player(&path);
    go(&mut second, 10 * S);
    while second.now.one(Nanos::MAX, false).unwrap().is_some() {}
    assert_eq!(said(&second), 2);
}

/// Going back to just before a remark and on again must not lose it.
#[test]
fn a_recorded_remark_survives_going_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("desk.wheeltap");
    recorded(&path);
    let mut player = player(&path);
    go(&mut player, 9 * S);
    for to in [2_400_000_000, 2_600_000_000, 2 * S, 3 * S] {
        go(&mut player, to);
        assert_eq!(said(&player), usize::from(to >= 2_500_000_000), "at {to}");
    }
}
