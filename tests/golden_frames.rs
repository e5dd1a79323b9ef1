//! The shipped rover files against the wagon's golden frames, from bytes to wheels and back, for all five link styles.
//!
//! The frames and their checks were computed apart from this program; the wheels follow from the wagon's mixer.
#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::engine::Engine;
use wheeltap::engine::event::{Frame, Happening};
use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::rover::wheels::per_cent;
use wheeltap::timing::link::{LinkFacts, WireFacts, chunk};
use wheeltap_parsers::{Input, Value, Wire};

/// Link style, then each frame in hex and FL FR RL RR in per cent.
type Golden = (&'static str, &'static [(&'static str, [i32; 4])]);

const GOLDEN: &[Golden] = &[
    (
        "stave",
        &[
            ("F12AA24D4DA23C020400FE", [62, -23, -23, 62]),
            ("F12B309898303C020E0BFE", [-52, 52, 52, -52]),
            ("F12C646464643C02060BFE", [0, 0, 0, 0]),
            ("F12D7F977F973C020102FE", [27, 51, 27, 51]),
            ("F2306464646400020704FE", [0, 0, 0, 0]),
        ],
    ),
    ("bead", &[("0511071EBF041E51D500", [95, -35, -35, 95]), ("03110801 01041ECB1200", [0, 0, 0, 0])]),
    ("ladder", &[("A73C09216C021AFF1AFF6C023F", [62, -23, -23, 62]), ("A73C092100000000000000002D", [0, 0, 0, 0])]),
];

/// The plain line keeps its duty from line to line.
const PLAIN: [(&[u8], Option<[i32; 4]>); 5] = [
    (b"pace,180\n", None),
    (b"way,port\n", Some([-71, 71, 71, -71])),
    (b"way,rest\n", Some([0, 0, 0, 0])),
    (b"way,spin-port\n", Some([-71, 71, -71, 71])),
    (b"lamp,40\n", Some([-71, 71, -71, 71])),
];

fn bytes(hex: &str) -> Vec<u8> {
    let digits: Vec<u8> = hex.bytes().filter(u8::is_ascii_hexdigit).collect();
    digits.chunks(2).map(|pair| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap()).collect()
}

fn rover(name: &str) -> Arc<RoverFile> {
    let file = built_in::find(name).unwrap();
    Arc::new(RoverFile::load(file.name, file.text).unwrap())
}

/// Decodes frames that follow each other 100 ms apart.
fn decode(rover: &Arc<RoverFile>, frames: &[Vec<u8>]) -> Vec<Frame> {
    let facts = WireFacts { rate: Some(115_200), settings: "8N1".to_owned(), latency: 0, port: "golden".to_owned() };
    let link = LinkFacts { wires: [Some(facts.clone()), None], ..LinkFacts::default() };
    let mut engine = Engine::new(link, Some(Arc::clone(rover)));
    let (mut events, mut offset) = (Vec::new(), 0);
    for (bytes, number) in frames.iter().zip(1..) {
        let at = number * 100_000_000;
        let one = chunk(&facts, Wire::ToDrive, offset, at, at - 5_000_000, bytes);
        offset += bytes.len() as u64;
        events.extend_from_slice(engine.push(Input::Chunk(one)));
    }
    events.extend_from_slice(engine.finish());
    let frame = |event| if let Happening::Frame(frame) = event { Some(frame) } else { None };
    events.into_iter().filter_map(|event| frame(event.what)).collect()
}

/// The frame encoded from its own values is the frame.
fn assert_encodes_back(rover: &RoverFile, frame: &Frame, bytes: &[u8]) {
    let values: Vec<Value<'_>> = frame.values.iter().collect();
    let back = rover.profile(Wire::ToDrive).unwrap().encode(frame.kind, &values).unwrap();
    assert_eq!(back, bytes);
}

#[test]
fn binary_styles_there_and_back() {
    for (name, golden) in GOLDEN {
        let rover = rover(name);
        let frames: Vec<Vec<u8>> = golden.iter().map(|(hex, _)| bytes(hex)).collect();
        let decoded = decode(&rover, &frames);
        assert_eq!(decoded.len(), golden.len(), "{name}");
        for ((frame, bytes), (_, wheels)) in decoded.iter().zip(&frames).zip(*golden) {
            assert_eq!(frame.meant.unwrap().map(per_cent), *wheels, "{name}");
            assert_encodes_back(&rover, frame, bytes);
        }
    }
}

#[test]
fn the_plain_line_there_and_back() {
    let rover = rover("plain-line");
    let frames: Vec<Vec<u8>> = PLAIN.iter().map(|(bytes, _)| bytes.to_vec()).collect();
    let decoded = decode(&rover, &frames);
    let meant: Vec<Option<[i32; 4]>> =
        decoded.iter().map(|frame| frame.meant.map(|duties| duties.map(per_cent))).collect();
    assert_eq!(meant, PLAIN.map(|(_, wheels)| wheels));
    for (frame, bytes) in decoded.iter().zip(&frames) {
        assert_encodes_back(&rover, frame, bytes);
    }
}

#[test]
fn cue_lines_encode_back() {
    let rover = rover("cue-line");
    let lines: [&[u8]; 3] = [
        b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n",
        b"c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\n",
        b"c047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n",
    ];
    let frames: Vec<Vec<u8>> = lines.iter().map(|line| line.to_vec()).collect();
    let decoded = decode(&rover, &frames);
    assert_eq!(decoded.len(), lines.len());
    for (frame, bytes) in decoded.iter().zip(&frames) {
        assert_encodes_back(&rover, frame, bytes);
    }
}

#[test]
fn before_a_duty_was_heard_the_power_up_value_is_assumed_and_said() {
    let rover = rover("plain-line");
    let decoded = decode(&rover, &[b"way,port\n".to_vec()]);
    // 140 of 255.
    assert_eq!(decoded[0].meant.unwrap().map(per_cent), [-55, 55, 55, -55]);
}
