//! The strength of a line and its cure: counts worked out by hand, and golden lines that an implementation apart from
//! this project's own accepts.
#![allow(missing_docs, clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::rover::built_in;
use wheeltap::rover::file::RoverFile;
use wheeltap::strength::Strength;
use wheeltap::strength::cure::{Cure, Lack};
use wheeltap::strength::outcome::Becomes;
use wheeltap_parsers::{Chunk, Decoder, Record, Value, What, Wire};

fn rover(name: &str) -> RoverFile {
    RoverFile::load(name, built_in::find(name).unwrap().text).unwrap()
}

fn frames(lines: &[&str]) -> Vec<Vec<u8>> {
    lines.iter().map(|line| line.as_bytes().to_vec()).collect()
}

/// The check bit by bit, straight from its definition: polynomial 0x1021, start 0xFFFF, most significant bit first.
/// Its check value over `123456789`, 0x29B1, stands in the public catalogue of parametrised checks (CRC-16/IBM-3740).
fn check_bit_by_bit(bytes: &[u8]) -> u16 {
    let mut register = 0xFFFF_u16;
    for byte in bytes {
        for place in (0..8).rev() {
            let bit = (byte >> place & 1 == 1) ^ (register >> 15 == 1);
            register <<= 1;
            if bit {
                register ^= 0x1021;
            }
        }
    }
    register
}

#[test]
fn the_independent_check_is_the_published_one() {
    assert_eq!(check_bit_by_bit(b"123456789"), 0x29B1);
}

/// A link of one letter for each move. In ASCII `S` (53 hex) is one bit from `R` (52), `Q` (51), `W` (57), `C`, `s`,
/// and two more that are no letters of this link. With moves R, Q and W, three of the sixteen bits of `S` LF turn a rest
/// into a move; no swap and no loss does.
#[test]
fn a_rest_that_is_one_bit_from_moves_is_counted() {
    let mut text = String::from(
        "format = 1\n[rover]\nname = \"letters\"\n[link]\nrate = 9600\n[framing]\nkind = \"lines\"\nend = \"LF\"\nlongest = 8\n\
         [check]\nkind = \"none\"\n[[frame]]\nname = \"go\"\nwire = \">\"\nrole = \"order\"\nline = \"<way>\"\n\
         fields.way = { kind = \"word\", means = \"move\" }\n[duty]\nfull = 255\npersists = true\nat_power_up = 140\n\
         [reader]\nnumbers = \"lenient\"\nunknown_words = \"ignored\"\nobeys = \"for ever\"\n",
    );
    for (code, is) in [("S", "rest"), ("R", "forward"), ("Q", "backward"), ("W", "left"), ("A", "turn-left")] {
        text += &format!("[[move]]\ncode = \"{code}\"\nis = \"{is}\"\n");
    }
    let rover = RoverFile::load("letters", &text).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let strength = Strength::of(&rover, &frames(&["S\n", "A\n", "R\n"])).unwrap();
    let harm = |becomes| strength.harms.iter().find(|harm| harm.becomes == becomes).map(|harm| (harm.count, harm.of));
    // Of `S` LF: 16 flips, 1 swap, 2 losses.
    assert_eq!(harm(Becomes::RestAMove), Some((3, 19)));
    assert_eq!(strength.harms[0].becomes, Becomes::RestAMove, "worst first");
    // `R` (52) is one bit from `S` (53), a rest; `A` (41) is one from `Q` (51), another move. 38 injuries of two moves.
    assert_eq!(harm(Becomes::MoveARest), Some((1, 38)));
    assert_eq!(harm(Becomes::AnotherMove), Some((1, 38)));
    assert_eq!(strength.totals.map(|total| total.tried), [48, 3, 6]);
}

/// `pace,180`: of one flipped bit in a digit some give another digit. By hand for the last byte `0` (30 hex): bits 0 to 3
/// give 1, 2, 4, 8, all digits, so 181, 182, 184 and 188 are more duty, obeyed.
#[test]
fn a_plain_value_is_obeyed_as_another() {
    let strength = Strength::of(&rover("plain-line"), &frames(&["pace,180\n", "way,port\n", "way,rest\n"])).unwrap();
    let harm = |becomes| strength.harms.iter().find(|harm| harm.becomes == becomes).map_or(0, |harm| harm.count);
    assert!(harm(Becomes::MoreDuty) >= 4, "{:#?}", strength.harms);
    assert!(harm(Becomes::RestLost) > 40, "nearly every injury of a rest loses it: {:#?}", strength.harms);
    assert!(strength.totals.iter().any(|total| total.other > 0));
}

/// Every single flipped bit changes a 16-bit cyclic check, and every swap of neighbours is a burst of at most 16 bits:
/// such a check misses neither (any text on cyclic codes; from memory).
#[test]
fn a_checked_line_is_never_obeyed_as_something_else() {
    let lines = ["c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", "c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.\n"];
    let strength = Strength::of(&rover("cue-line"), &frames(&lines)).unwrap();
    assert_eq!(strength.totals.map(|total| total.other), [0, 0, 0], "{:#?}", strength.harms);
    assert_eq!(strength.frames, 2);
    let cure = Cure::of(&rover("cue-line"), &frames(&lines));
    assert_eq!((cure.lacks.len(), cure.golden.len()), (0, 0), "nothing lacks: {cure:?}");
}

fn decoded(rover: &RoverFile, line: &str) -> Option<(i64, i64)> {
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(rover.profile(Wire::ToDrive).unwrap()));
    let mut found = None;
    let bytes = format!("{line}\n");
    let mut take = |record: &Record<'_>| {
        if let What::Frame { values, .. } = record.what {
            let whole = |value: &Value<'_>| if let Value::Int(number) = value { *number } else { -1 };
            found = values.get(1).map(whole).zip(values.get(2).map(whole));
        }
    };
    let chunk = Chunk { wire: Wire::ToDrive, offset: 0, bytes: bytes.as_bytes(), lo: 0, hi: 0, byte_ns: 0 };
    decoder.push(&chunk, &mut take);
    decoder.cut(&mut take);
    found
}

#[test]
fn both_our_decoder_and_another_implementation_accept_the_golden_lines() {
    let seen = frames(&["way,port\n", "way,rest\n", "pace,180\n", "way,spin-port\n", "lamp,40\n"]);
    let cure = Cure::of(&rover("plain-line"), &seen);
    assert_eq!(cure.lacks, [Lack::Check, Lack::Counter, Lack::Deadline]);
    assert_eq!(cure.golden.len(), 5);
    let cured = RoverFile::load("cured", cure.rover_file.as_ref().unwrap()).unwrap();
    for (count, line) in cure.golden.iter().enumerate() {
        let (checked, rest) = line.rsplit_once('#').unwrap();
        let stated = u16::from_str_radix(rest.strip_suffix('.').unwrap(), 16).unwrap();
        assert_eq!(check_bit_by_bit(checked.as_bytes()), stated, "{line}");
        assert_eq!(decoded(&cured, line), Some((count as i64, 30)), "{line}");
    }
    // Once cured, no small injury is obeyed as something else.
    let lines: Vec<Vec<u8>> = cure.golden.iter().map(|line| format!("{line}\n").into_bytes()).collect();
    let strength = Strength::of(&cured, &lines).unwrap();
    assert_eq!(strength.totals.map(|total| total.other), [0, 0, 0], "{:#?}", strength.harms);
    assert_eq!(Cure::of(&cured, &lines).lacks, []);
}

/// An exclusive-or of all bytes does not depend on their order, so it misses every swap, and it sees every single bit.
/// The frames are those of real firmware, from the log that ships.
#[test]
fn an_exclusive_or_misses_swaps_and_the_cure_says_so() {
    let seen = frames(&["D,A,60*03\n", "D,N,0*3A\n"]);
    let strength = Strength::of(&rover("letter-line"), &seen).unwrap();
    let [flips, swaps, _] = strength.totals;
    assert_eq!(flips.other, 0);
    assert!(swaps.other > 0, "{strength:#?}");
    assert!(Cure::of(&rover("letter-line"), &seen).lacks.contains(&Lack::StrongerCheck));
}
