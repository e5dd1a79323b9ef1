//! An evening with the Moonwagon's cue line, byte for byte: every wheel as meant, every lapse, the reset and what it
//! explains, the messages lost in the air; and nothing claimed that was not so.
//!
//! The lines are the wagon's own (invented); their checks were computed apart from this program.
// The times stand as they were written down, microseconds without marks.
#![allow(clippy::unwrap_used, clippy::unreadable_literal)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::event::{Event, Flag, Happening};
use wheeltap::findings::{Finding, Severity};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::per_cent;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Wire};

/// Microseconds since 19:46:00 at the first byte, wire, bytes.
const EVENING: &[(i64, char, &[u8])] = &[
    (2100000, '>', b"c101 p31 drv f+000 s+000 t+000 g2 d30 #B44D.\n"),
    (2106000, '<', b"a101 got v119 e00 #9C04.\n"),
    (41020000, '>', b"c140 p70 drv f+060 s+000 t+000 g2 d30 #F19D.\n"),
    (41026000, '<', b"a140 got v116 e00 #7729.\n"),
    (41330000, '>', b"c141 p71 drv f+060 s+000 t+012 g2 d30 #B1A3.\n"),
    (41336000, '<', b"a141 got v115 e00 #1735.\n"),
    (41500000, '>', b"c142 p72 drv f+060 s+000 t+019 g2 d30 #9E1D.\n"),
    (41506000, '<', b"a142 got v114 e00 #B1B0.\n"),
    (41805000, '<', b"=lapsed 142 #B2A0.\n"),
    (42610000, '>', b"c143 p73 drv f+060 s+000 t+021 g2 d30 #EF31.\n"),
    (42616000, '<', b"a143 got v115 e00 #5AEC.\n"),
    (42915000, '<', b"=lapsed 143 #8191.\n"),
    (43190000, '>', b"c144 p74 drv f+000 s+000 t+000 g2 d30 #197F.\n"),
    (43196000, '<', b"a144 got v116 e00 #EC9B.\n"),
    (95040000, '>', b"c188 p18 drv f+000 s+080 t+000 g2 d30 #9C76.\n"),
    (95046000, '<', b"a188 got v113 e00 #823A.\n"),
    (95210000, '>', b"c189 p19 drv f+000 s+080 t-014 g2 d30 #8DFE.\n"),
    (95216000, '<', b"a189 got v110 e00 #E226.\n"),
    (95420000, '>', b"c190 p20 drv f+000 s+080 t-017 g2 d30 #B32A.\n"),
    (95426000, '<', b"a190 got v109 e00 #3338.\n"),
    (95726000, '<', b"=lapsed 190 #9693.\n"),
    (96880000, '>', b"c191 p21 drv f+000 s+080 t-016 g2 d30 #B115.\n"),
    (96886000, '<', b"a191 got v110 e00 #6D47.\n"),
    (203000000, '>', b"c262 p92 drv f+030 s+000 t+005 g2 d30 #FD68.\n"),
    (203006000, '<', b"a262 got v111 e00 #83FE.\n"),
    (203305000, '<', b"=lapsed 262 #471C.\n"),
    (203412000, '>', b"c263 p97 drv f+030 s+000 t+008 g2 d30 #52A1.\n"),
    (203417000, '>', b"c264 p98 drv f+030 s+000 t+009 g2 d30 #3758.\n"),
    (203418000, '<', b"a263 got v110 e00 #68A2.\n"),
    (203422000, '>', b"c265 p99 drv f+030 s+000 t+009 g2 d30 #DE44.\n"),
    (203423000, '<', b"a264 got v110 e00 #1035.\n"),
    (203428000, '<', b"a265 got v110 e00 #BEC9.\n"),
    (318400000, '>', b"c331 p65 drv f+000 s-090 t+000 g3 d30 #FF45.\n"),
    (318406000, '<', b"a331 got v107 e00 #6D4F.\n"),
    (318570000, '>', b"c332 p66 drv f+000 s-100 t+013 g3 d30 #3F02.\n"),
    (318576000, '<', b"a332 got v101 e00 #038B.\n"),
    (318730000, '>', b"c333 p67 drv f+000 s-100 t+016 g3 d30 #A1D2.\n"),
    (318736000, '<', b"a333 got v098 e00 #898A.\n"),
    (318790000, '>', b"c334 p68 drv f+00"),
    (318802000, '>', b"\x00\xF8GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\n"),
    (318811000, '>', b"load @3F40 len 6144 ok\r\n"),
    (319032000, '<', b"=lapsed 333 #E969.\n"),
    (321390000, '>', b"eye ok heap 91k net up c000 p00 drv f+000 s+000 t+000 g3 d30 #0770.\n"),
    (321396000, '<', b"a000 nay v112 e02 #F2F5.\n"),
    (321600000, '>', b"c001 p01 drv f+000 s+000 t+000 g3 d30 #EE6C.\n"),
    (321606000, '<', b"a001 got v112 e00 #4F44.\n"),
    (322450000, '>', b"c002 p02 drv f+000 s-100 t+000 g3 d30 #D56F.\n"),
    (322456000, '<', b"a002 got v108 e00 #9202.\n"),
    (322610000, '>', b"c003 p03 drv f+000 s-100 t+015 g3 d30 #24FA.\n"),
    (322616000, '<', b"a003 got v100 e00 #31BC.\n"),
];

/// Ten bit times at 115200 baud, in nanoseconds.
const BYTE: i64 = 86_806;

fn play(lines: &[(i64, char, &[u8])]) -> (Vec<Event>, Vec<Finding>) {
    let file = built_in::find("cue-line").unwrap();
    let rover = Arc::new(RoverFile::load(file.name, file.text).unwrap());
    let wire =
        |port: &str| WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: port.to_owned() };
    let facts = [wire("to drive"), wire("back")];
    let link = LinkFacts { wires: facts.clone().map(Some), ..LinkFacts::default() };
    let mut engine = Engine::new(link, Some(rover));
    let mut offsets = [0; 2];
    let mut events = Vec::new();
    for (first, symbol, bytes) in lines {
        let wire = Wire::from_symbol(*symbol).unwrap();
        let begins = first * 1000 - BYTE;
        // The reader looked in vain until the first bit; nothing was waiting before.
        events.extend_from_slice(engine.push(Input::Tick(begins)));
        let read_at = begins + BYTE * bytes.len() as i64;
        let one = chunk(&facts[wire.index()], wire, offsets[wire.index()], read_at, begins, bytes);
        offsets[wire.index()] += bytes.len() as u64;
        events.extend_from_slice(engine.push(Input::Chunk(one)));
    }
    events.extend_from_slice(engine.finish());
    (events, engine.findings())
}

fn frames(events: &[Event], wire: Wire) -> Vec<(&Event, &wheeltap::engine::event::Frame)> {
    let of_wire = events.iter().filter(|event| event.wire == Some(wire));
    of_wire
        .filter_map(|event| if let Happening::Frame(frame) = &event.what { Some((event, frame)) } else { None })
        .collect()
}

#[test]
fn each_golden_line_moves_the_wheels_as_listed() {
    let lines: [(&[u8], [i32; 4]); 6] = [
        (b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", [62, -23, -23, 62]),
        (b"c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n", [-52, 52, 52, -52]),
        (b"c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.\n", [0, 0, 0, 0]),
        (b"c045 p20 drv f+060 s+000 t+018 g2 d30 #84D3.\n", [27, 51, 27, 51]),
        (b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n", [-17, 100, 67, 17]),
        (b"c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n", [0, 0, 0, 0]),
    ];
    let timed: Vec<(i64, char, &[u8])> =
        lines.iter().zip(1..).map(|((line, _), n)| (n * 100_000, '>', *line)).collect();
    let (events, _) = play(&timed);
    let meant: Vec<[i32; 4]> =
        frames(&events, Wire::ToDrive).iter().map(|(_, frame)| frame.meant.unwrap().map(per_cent)).collect();
    assert_eq!(meant, lines.map(|(_, wheels)| wheels));
}

#[test]
fn the_drive_boards_own_lapses_are_ours_to_the_millisecond() {
    let (events, _) = play(EVENING);
    let said: Vec<i64> = frames(&events, Wire::FromDrive)
        .iter()
        .filter(|(_, frame)| frame.raw.bytes().starts_with(b"=lapsed"))
        .map(|(event, _)| event.at)
        .collect();
    let ours: Vec<i64> = events
        .iter()
        .filter(|event| event.what == (Happening::Lapse { certain: true }))
        .map(|event| event.at)
        .collect();
    assert_eq!(said.len(), 5);
    for at in &said {
        // The excerpt leaves lines out, so that the model also lapses where the wagon got one more order in time.
        let nearest = ours.iter().map(|our| (our - at).abs()).min().unwrap();
        assert!(nearest < 6_000_000, "the wagon says {at}, the nearest of ours is {nearest} ns away: {ours:?}");
    }
}

#[test]
fn the_reset_is_named_and_explains_what_follows_it() {
    let (events, findings) = play(EVENING);
    let count = |id: &str| findings.iter().find(|finding| finding.id == id).map_or(0, |finding| finding.count);
    assert_eq!(count("reset-brown-out"), 1, "{findings:#?}");
    assert_eq!(count("truncated"), 1);
    assert_eq!(count("panel-gap"), 1, "five messages lost in the air between 92 and 97");
    let glued: Vec<_> =
        frames(&events, Wire::ToDrive).into_iter().filter(|(_, frame)| frame.flags.has(Flag::Glued)).collect();
    assert_eq!(glued.len(), 1, "the first order after the reset stands behind text");
    let refused = frames(&events, Wire::FromDrive).into_iter().filter(|(_, frame)| frame.flags.has(Flag::Refused));
    assert_eq!(refused.count(), 1, "and the drive board refuses it");
    // The excerpt leaves lines out, so holes in the sequence are real in it.
    for absent in ["bad-check", "noise", "late", "sequence-order", "silent-while-moving"] {
        assert_eq!(count(absent), 0, "{absent} must not be claimed: {findings:#?}");
    }
    assert!(findings.iter().any(|finding| finding.severity == Severity::Danger));
}

#[test]
fn a_refused_order_leaves_the_wheels_as_they_were_from_the_answer_on() {
    let lines: [(i64, char, &[u8]); 4] = [
        (100_000, '>', b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n"),
        (106_000, '<', b"a042 got v111 e00 #E253.\n"),
        (200_000, '>', b"c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n"),
        (206_000, '<', b"a043 nay v104 e02 #A482.\n"),
    ];
    let (events, _) = play(&lines);
    let meant: Vec<[i32; 4]> = events
        .iter()
        .filter_map(|event| if let Happening::Frame(frame) = &event.what { frame.meant } else { None })
        .map(|duties| duties.map(per_cent))
        .collect();
    let (first, second) = ([62, -23, -23, 62], [-52, 52, 52, -52]);
    assert_eq!(meant, [first, first, second, first]);
}

#[test]
fn an_old_answer_behind_a_refusal_confirms_nothing() {
    let lines: [(i64, char, &[u8]); 5] = [
        (100_000, '>', b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n"),
        (106_000, '<', b"a042 got v111 e00 #E253.\n"),
        (200_000, '>', b"c043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n"),
        (206_000, '<', b"a043 nay v104 e02 #A482.\n"),
        (212_000, '<', b"a101 got v119 e00 #9C04.\n"),
    ];
    let (events, _) = play(&lines);
    let confirmed: Vec<bool> =
        frames(&events, Wire::FromDrive).into_iter().map(|(_, frame)| frame.confirmed.is_some()).collect();
    assert_eq!(confirmed, [true, false, false], "the drive board obeyed one order, and said no more of any other");
}
