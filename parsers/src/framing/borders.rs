//! Borders of each framing's rule: what just counts and what just does not, on the wagon's links and on links made for it.
//!
//! What is due follows from the rule at the top of each framing's file and from the words of [`Cause`].

use std::sync::Arc;

use super::lines::Lines;
use crate::check::Check;
use crate::chunk::{Chunk, Wire};
use crate::damage::Cause;
use crate::decoder::Decoder;
use crate::examined::{counted, wagon};
use crate::fields::{Read, Sign, Value};
use crate::flow::Plan;
use crate::loose::LINE;
use crate::profile::{Framing, Kind, Part, Profile};
use crate::record::{Record, What};

const CUE: &[u8] = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
const BYTE: Read = Read::Binary { bytes: 1, signed: false, big_endian: false };

fn link(framing: Framing, kinds: Vec<Kind>, longest: usize) -> Arc<Profile> {
    let profile = Profile { framing, kinds, longest, start_up: Vec::new(), idle: wagon::IDLE };
    assert_eq!(profile.faults(), Vec::<String>::new());
    Arc::new(profile)
}

fn lines(kinds: Vec<Kind>) -> Arc<Profile> {
    link(Framing::Lines { start: Vec::new(), end: b"\n".to_vec() }, kinds, 24)
}

fn number(most: i64) -> crate::fields::Field {
    wagon::field("number", Read::Decimal { digits: None, sign: Sign::Never }, Some((0, most)), &[])
}

/// `bytes` are one record, told as `due` begins.
fn is(profile: &Arc<Profile>, bytes: &[u8], due: &str) {
    let all = wagon::told(profile, bytes);
    let shown = bytes[..bytes.len().min(60)].escape_ascii();
    assert!(all.len() == 1 && all[0].starts_with(due), "{shown}: {all:?}, due {due}");
}

/// Bytes from `first` to the end mark, `len` of them.
fn filled(first: &[u8], filler: u8, last: &[u8], len: usize) -> Vec<u8> {
    [first, &vec![filler; len - first.len() - last.len()], last].concat()
}

/// A line of the most bytes that are judged as a whole is; a longer one began too long.
#[test]
fn a_line_is_judged_as_a_whole_up_to_its_border() {
    let (cue, border) = (wagon::cue(), wagon::cue().longest + LINE);
    for (len, due) in [(border, "bad-check"), (border + 1, "overlong")] {
        let line = filled(b"c042 p17 drv ", b'x', b" #A93D.\n", len);
        is(&cue, &line, &format!("{len} damage {due} Some(0)"));
    }
    for (len, due) in [(24, "unknown-word"), (25, "overlong")] {
        is(&wagon::plain(), &filled(b"way,", b'x', b"\n", len), &format!("{len} damage {due} Some(0)"));
    }
}

/// Of a line too long the first [`LINE`] bytes are judged: start-up text counts that begins in them.
#[test]
fn start_up_text_begins_inside_the_part_that_is_judged() {
    for (ahead, records) in [(LINE - 1, 3), (LINE, 1)] {
        let bytes = [filled(b"c042 p17 drv ", 0xF8, b"", ahead), b"GC2 rom 1.4".to_vec(), vec![b'y'; 600]].concat();
        let all = wagon::told(&wagon::cue(), &bytes);
        assert_eq!(all.len(), records, "{all:?}");
        assert!(
            all[0].starts_with(if records == 1 { "1123 damage overlong" } else { "13 damage truncated" }),
            "{all:?}"
        );
    }
}

/// A line too long is let go of bit by bit: no more than the longest frame of it is held, though it comes byte by byte.
#[test]
fn of_an_endless_line_no_more_is_held_than_a_frame() {
    let mut decoder = Decoder::new(Wire::ToDrive, wagon::cue());
    let line = filled(b"c042 p17 drv ", b'x', b"", 3000);
    for (offset, byte) in line.iter().enumerate() {
        let bytes = std::slice::from_ref(byte);
        let chunk = Chunk { wire: Wire::ToDrive, offset: offset as u64, bytes, lo: 0, hi: 0, byte_ns: 0 };
        decoder.push(&chunk, &mut |record: &Record<'_>| panic!("{record:?}"));
        assert!(offset < wagon::cue().longest + LINE || decoder.carried() <= wagon::cue().longest, "{offset}");
    }
}

/// An end mark of two bytes is found where a read has cut it, and each byte is searched once.
#[test]
fn an_end_mark_that_was_cut_is_found() {
    let end = Framing::Lines { start: Vec::new(), end: b"\r\n".to_vec() };
    let profile = link(end, wagon::plain().kinds.clone(), 24);
    let lines = Lines::new(b"", b"\r\n", &Plan::new(Arc::clone(&profile)));
    let line = b"way,port\r\npace,1\r\n";
    for (searched, looks) in [(0, 10), (8, 3), (9, 2)] {
        assert_eq!(lines.find_end(line, searched), Some(10), "{searched}");
        assert_eq!(counted(|| lines.find_end(line, searched)).0, looks, "{searched}");
    }
    assert_eq!((lines.find_end(&line[..9], 0), counted(|| lines.find_end(&line[..9], 0)).0), (None, 9));
}

/// Without a check a frame is found behind other bytes by a first literal of four bytes, not of three.
#[test]
fn a_glued_frame_without_a_check_needs_four_bytes() {
    let kind =
        |first: &[u8]| wagon::kind("order", vec![wagon::lit(first), Part::Field(0)], vec![number(99)], Check::none());
    is(&lines(vec![kind(b"go,")]), b"xxxxgo,5\n", "9 text Free");
    let all = wagon::told(&lines(vec![kind(b"goes")]), b"xxxxgoes5\n");
    assert_eq!(all, ["4 text Free xxxx", "6 frame 0 glued [Int(5)] goes5\\n"]);
}

/// A broken line counts as the kind that it is most like; of two that are alike, as the first.
#[test]
fn a_broken_line_counts_as_the_kind_it_is_most_like() {
    let go =
        |parts: Vec<Part>, fields| wagon::kind("go", [vec![wagon::lit(b"go,")], parts].concat(), fields, Check::none());
    let word = || wagon::field("way", Read::Word, None, &["N", "S"]);
    let far = go(vec![Part::Field(0), wagon::lit(b","), Part::Field(1)], vec![word(), number(99)]);
    let near = go(vec![Part::Field(0)], vec![word()]);
    is(&lines(vec![near.clone(), far.clone()]), b"go,N,300\n", "9 damage out-of-range Some(1)");
    is(&lines(vec![far, near]), b"go,N,300\n", "9 damage out-of-range Some(0)");
    let (few, many) = (go(vec![Part::Field(0)], vec![number(9)]), go(vec![Part::Field(0)], vec![number(99)]));
    is(&lines(vec![few, many]), b"go,1x\n", "6 damage not-a-number Some(0)");
}

/// The last bytes of a line prove nothing where its kind may have any length, and a bare first literal no second frame.
#[test]
fn what_proves_no_frame_in_a_line() {
    is(&wagon::starred(), b"hello*00\n", "9 text Free");
    is(&wagon::plain(), b"way,xpace,\n", "11 damage unknown-word Some(0)");
    is(&wagon::plain(), b"way,xpace,z\n", "12 damage glued Some(0)");
}

/// RFC 1055: an END ends a frame. What has none when everything ends was cut short, if it is like a frame at all.
#[test]
fn encoded_bytes_without_their_end_are_cut_short() {
    is(&wagon::slipped(), b"\x11\x07\x1F\xBF\x00\x1E\x51\xD5", "8 damage truncated Some(0)");
    is(&wagon::slipped(), b"\xC0\x11\x07\x1F\xBF\x00\x1E\x51\xD5", "9 damage truncated Some(0)");
    is(&wagon::slipped(), b"\x22\x07\x1E\xBF\x00\x1E\x51\xD5\x01", "9 noise");
    is(&wagon::slipped(), b"\x11\x07\xC0", "3 damage truncated Some(0)");
    is(&wagon::slipped(), b"\x22\x07\xC0", "3 noise");
}

/// Longer than any kind of it can be encoded, and no longer than the longest frame of the link: too long.
#[test]
fn an_encoded_frame_longer_than_its_kinds_is_overlong() {
    let profile = link(Framing::Slip, wagon::bead().kinds.clone(), 40);
    is(&profile, &filled(b"\x11\x07", 1, b"\xC0", 18), "18 damage bad-check Some(0)");
    is(&profile, &filled(b"\x11\x07", 1, b"\xC0", 19), "19 damage overlong Some(0)");
    is(&profile, &filled(b"\x11\x07", 1, b"\xC0", 8), "8 damage truncated Some(0)");
}

/// A frame of 600 bytes in reads of 62 is decoded when its end is there, not with every read; nor byte by byte.
#[test]
fn a_long_encoded_frame_is_not_decoded_with_every_read() {
    let text = vec![wagon::field("text", Read::Word, None, &[])];
    let kind = wagon::kind("long", vec![wagon::lit(&[0x11]), Part::Field(0)], text, Check::none());
    for (framing, over) in [(Framing::Cobs, 4), (Framing::Slip, 602), (Framing::Stuffed, 602)] {
        let profile = link(framing, vec![kind.clone()], 600 + over);
        let wire = profile.encode(0, &[Value::Text(&"x".repeat(599))]).unwrap().repeat(4);
        for len in [1, 9, 62] {
            let mut frames = 0;
            let (looked_at, _) = counted(|| {
                let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(&profile));
                for (place, bytes) in wire.chunks(len).enumerate() {
                    let offset = (place * len) as u64;
                    let chunk = Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: 0, byte_ns: 0 };
                    decoder.push(&chunk, &mut |record: &Record<'_>| {
                        assert!(matches!(record.what, What::Frame { .. }));
                        frames += 1;
                    });
                }
            });
            let each = looked_at as f64 / wire.len() as f64;
            assert!(frames == 4 && each <= 3.5, "{:?} by {len}: {frames} frames, {each}", profile.framing);
        }
    }
}

/// A stave whose last byte is no marker went on past its last part; one cut by its end marker was cut short, whatever else
/// is wrong with it.
#[test]
fn a_marked_frame_ends_at_its_end_marker() {
    is(&wagon::stave(), b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00\x01", "11 damage overlong Some(0)");
    is(&wagon::stave(), b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00", "10 damage truncated Some(0)");
    let byte = || wagon::field("byte", BYTE, Some((0, 0xEF)), &[]);
    let (end, field) = (|| wagon::lit(&[0xFE]), Part::Field);
    let short = wagon::kind("short", vec![wagon::lit(&[0xF1]), field(0), end()], vec![byte()], Check::none());
    let parts = vec![wagon::lit(&[0xF2]), field(0), wagon::lit(&[0x55]), field(1), end()];
    let long = wagon::kind("long", parts, vec![byte(), byte()], Check::none());
    let profile = link(Framing::Markers { first: 0xF0 }, vec![short, long], 5);
    // The byte behind it stands where it should have gone on, so that this alone does not make it cut short.
    is(&profile, b"\xF2\x01\x66\xFE\0", "5 damage truncated Some(1)");
    is(&profile, b"\xF2\x01\x66\x02\xFE", "5 damage unknown-word Some(1)");
}

/// A length byte that no kind states: too long where it claims more than any kind has, otherwise unknown.
#[test]
fn a_length_byte_of_no_kind_has_its_cause() {
    for (said, cause) in [(0xFA, "overlong"), (0x0A, "overlong"), (0x08, "unknown-word"), (0x00, "unknown-word")] {
        is(&wagon::ladder(), &filled(&[0xA7, 0x3C, said], 0, b"", 13), &format!("13 damage {cause} None"));
    }
}

/// A broken frame of fixed length is known by its sync bytes, by its first literal, or by standing where one is due: at the
/// beginning and right behind a frame. Elsewhere, and where it can be read, it is none.
#[test]
fn a_broken_frame_of_fixed_length_is_known_where_something_tells() {
    let blind = wagon::blind();
    let all = wagon::told(&wagon::bare(), b"\0\x11\x07\x1E\xBF\x00\x1E\x51\xD5");
    assert!(all.len() == 2 && all[0] == "1 noise \\x00" && all[1].starts_with("8 frame 0 "), "{all:?}");
    let all = wagon::told(&wagon::bare(), b"\0\x11\x07\x1F\xBF\x00\x1E\x51\xD5");
    assert!(all.len() == 2 && all[1].starts_with("8 damage bad-check Some(0)"), "{all:?}");
    let led = link(Framing::Fixed { sync: vec![0xA7, 0x3C], len: 9 }, blind.kinds.clone(), 9);
    let all = wagon::told(&led, b"\0\xA7\x3C\x07\x1F\xBF\x00\x1E\x51\xD5");
    assert!(all.len() == 2 && all[1].starts_with("9 damage bad-check Some(0)"), "{all:?}");
    is(&blind, b"\x07\x1F\xBF\x00\x1E\x51\xD5", "7 damage bad-check Some(0)");
    is(&blind, b"a line of text\n", "15 text Free");
    let all = wagon::told(&blind, &[1; 30]);
    assert!(all.len() == 2 && all[0].starts_with("9 damage bad-check") && all[1].starts_with("21 noise"), "{all:?}");
}

/// The check is that of CRC-16/IBM-SDLC in the catalogue of the `crc` crate; 120 lies outside the field's range.
#[test]
fn a_frame_of_fixed_length_with_a_right_check_and_a_wrong_field_names_the_field() {
    let mut body = b"\x11\x07\x78\xBF\x00\x1E".to_vec();
    body.extend(crc::Crc::<u16>::new(&crc::CRC_16_IBM_SDLC).checksum(&body).to_le_bytes());
    is(&wagon::bare(), &body, &format!("8 damage {} Some(0)", Cause::OutOfRange.id()));
}

/// Wherever a read cuts it, a frame is let out with its last byte.
#[test]
fn a_frame_that_a_read_has_cut_is_let_out_with_its_last_byte() {
    let wires: [(Arc<Profile>, &[u8]); 9] = [
        (wagon::cue(), CUE),
        (wagon::plain(), b"way,spin-port\n"),
        (wagon::starred(), b"D,N,0*3A\n"),
        (wagon::stave(), b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00\xFE"),
        (wagon::bead(), b"\x05\x11\x07\x1E\xBF\x04\x1E\x51\xD5\x00"),
        (wagon::slipped(), b"\x11\x07\x1E\xBF\x00\x1E\x51\xD5\xC0"),
        (wagon::stuffed(), b"\x7E\x11\x07\x1E\xBF\x00\x1E\x51\xD5\x7E"),
        (wagon::ladder(), b"\xA7\x3C\x09\x21\x6C\x02\x1A\xFF\x1A\xFF\x6C\x02\x3F"),
        (wagon::led(), b"\xA7\x3C\x11\x07\x1E\xBF\x00\x1E\x51\xD5"),
    ];
    for (profile, wire) in wires {
        for len in 1..wire.len() {
            let (mut told, mut decoder) = (Vec::new(), Decoder::new(Wire::ToDrive, Arc::clone(&profile)));
            for (place, bytes) in wire.chunks(len).enumerate() {
                let offset = (place * len) as u64;
                let chunk = Chunk { wire: Wire::ToDrive, offset, bytes, lo: 0, hi: 0, byte_ns: 0 };
                decoder.push(&chunk, &mut |record: &Record<'_>| told.push((record.len, wagon::keep(record).what)));
            }
            assert!(told.len() == 1 && told[0].0 == wire.len() as u64, "{:?} by {len}: {told:?}", profile.framing);
            assert!(told[0].1.starts_with("frame 0 "), "{:?} by {len}: {told:?}", profile.framing);
        }
    }
}
