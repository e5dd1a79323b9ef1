//! Lines and frames of the invented rover's five links, written down before this code was: each decodes to what its
//! author says it means, and is written back byte for byte. Checks were worked out by its author with other programs.
#![allow(clippy::unwrap_used)]

#[path = "links/wagon.rs"]
mod wagon;

use std::sync::Arc;

use wagon::{bare, bead, cue, ladder, led, plain, slipped, starred, stave, stuffed, told};
use wheeltap_parsers::{Chunk, Decoder, Profile, Record, What, Wire};

/// Decodes `bytes`, which must be nothing but frames, and writes each back. Returns kind and values of each.
fn there_and_back(profile: &Arc<Profile>, bytes: &[u8]) -> Vec<String> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| {
        let What::Frame { kind, values, glued, bytes } = record.what else {
            unreachable!("no frame: {record:?}");
        };
        assert!(!glued);
        assert_eq!(profile.encode(kind, values).unwrap(), bytes);
        all.push(format!("{kind} {values:?}"));
    };
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi: 1, byte_ns: 0 }, &mut sink);
    decoder.cut(&mut sink);
    all
}

#[test]
fn the_cue_line() {
    let lines = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\nc043 p18 drv f+000 s+080 t+000 g2 d30 #3784.\n\
        c044 p19 drv f+000 s+000 t+000 g2 d30 #8D82.\nc045 p20 drv f+060 s+000 t+018 g2 d30 #84D3.\n\
        c046 p21 drv f+100 s+100 t+040 g3 d30 #0492.\nc047 p22 hlt f+000 s+000 t+000 g2 d30 #D49A.\n\
        a042 got v111 e00 #E253.\na043 nay v104 e02 #A482.\n=lapsed 045 #5D83.\n";
    let expected = [
        "0 [Int(42), Int(17), Word(0), Int(30), Int(-65), Int(0), Int(2), Int(30)]",
        "0 [Int(43), Int(18), Word(0), Int(0), Int(80), Int(0), Int(2), Int(30)]",
        "0 [Int(44), Int(19), Word(0), Int(0), Int(0), Int(0), Int(2), Int(30)]",
        "0 [Int(45), Int(20), Word(0), Int(60), Int(0), Int(18), Int(2), Int(30)]",
        "0 [Int(46), Int(21), Word(0), Int(100), Int(100), Int(40), Int(3), Int(30)]",
        "0 [Int(47), Int(22), Word(1), Int(0), Int(0), Int(0), Int(2), Int(30)]",
        "1 [Int(42), Word(0), Int(111), Int(0)]",
        "1 [Int(43), Word(1), Int(104), Int(2)]",
        "2 [Int(45)]",
    ];
    assert_eq!(there_and_back(&cue(), lines), expected);
}

/// The excerpt of the evening's log, whole lines of both wires.
const EVENING: &str = "c101 p31 drv f+000 s+000 t+000 g2 d30 #B44D.
a101 got v119 e00 #9C04.
c140 p70 drv f+060 s+000 t+000 g2 d30 #F19D.
a140 got v116 e00 #7729.
c141 p71 drv f+060 s+000 t+012 g2 d30 #B1A3.
a141 got v115 e00 #1735.
c142 p72 drv f+060 s+000 t+019 g2 d30 #9E1D.
a142 got v114 e00 #B1B0.
=lapsed 142 #B2A0.
c143 p73 drv f+060 s+000 t+021 g2 d30 #EF31.
a143 got v115 e00 #5AEC.
=lapsed 143 #8191.
c144 p74 drv f+000 s+000 t+000 g2 d30 #197F.
a144 got v116 e00 #EC9B.
c188 p18 drv f+000 s+080 t+000 g2 d30 #9C76.
a188 got v113 e00 #823A.
c189 p19 drv f+000 s+080 t-014 g2 d30 #8DFE.
a189 got v110 e00 #E226.
c190 p20 drv f+000 s+080 t-017 g2 d30 #B32A.
a190 got v109 e00 #3338.
=lapsed 190 #9693.
c191 p21 drv f+000 s+080 t-016 g2 d30 #B115.
a191 got v110 e00 #6D47.
c262 p92 drv f+030 s+000 t+005 g2 d30 #FD68.
a262 got v111 e00 #83FE.
=lapsed 262 #471C.
c263 p97 drv f+030 s+000 t+008 g2 d30 #52A1.
c264 p98 drv f+030 s+000 t+009 g2 d30 #3758.
a263 got v110 e00 #68A2.
c265 p99 drv f+030 s+000 t+009 g2 d30 #DE44.
a264 got v110 e00 #1035.
a265 got v110 e00 #BEC9.
c331 p65 drv f+000 s-090 t+000 g3 d30 #FF45.
a331 got v107 e00 #6D4F.
c332 p66 drv f+000 s-100 t+013 g3 d30 #3F02.
a332 got v101 e00 #038B.
c333 p67 drv f+000 s-100 t+016 g3 d30 #A1D2.
a333 got v098 e00 #898A.
=lapsed 333 #E969.
a000 nay v112 e02 #F2F5.
c001 p01 drv f+000 s+000 t+000 g3 d30 #EE6C.
a001 got v112 e00 #4F44.
c002 p02 drv f+000 s-100 t+000 g3 d30 #D56F.
a002 got v108 e00 #9202.
c003 p03 drv f+000 s-100 t+015 g3 d30 #24FA.
a003 got v100 e00 #31BC.
";

#[test]
fn every_whole_line_of_the_evening() {
    assert_eq!(there_and_back(&cue(), EVENING.as_bytes()).len(), EVENING.lines().count());
}

#[test]
fn the_plain_line() {
    let expected = ["1 [Int(180)]", "0 [Word(2)]", "0 [Word(10)]", "0 [Word(8)]", "2 [Int(40)]"];
    assert_eq!(there_and_back(&plain(), b"pace,180\nway,port\nway,rest\nway,spin-port\nlamp,40\n"), expected);
}

#[test]
fn the_stave() {
    let frames = b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00\xFE\xF1\x2B\x30\x98\x98\x30\x3C\x02\x0E\x0B\xFE\
        \xF1\x2C\x64\x64\x64\x64\x3C\x02\x06\x0B\xFE\xF1\x2D\x7F\x97\x7F\x97\x3C\x02\x01\x02\xFE\
        \xF2\x30\x64\x64\x64\x64\x00\x02\x07\x04\xFE";
    let expected = [
        "0 [Int(42), Int(162), Int(77), Int(77), Int(162), Int(60), Int(2), Int(2)]",
        "0 [Int(43), Int(48), Int(152), Int(152), Int(48), Int(60), Int(2), Int(2)]",
        "0 [Int(44), Int(100), Int(100), Int(100), Int(100), Int(60), Int(2), Int(2)]",
        "0 [Int(45), Int(127), Int(151), Int(127), Int(151), Int(60), Int(2), Int(2)]",
        "1 [Int(48), Int(100), Int(100), Int(100), Int(100), Int(0), Int(2), Int(2)]",
    ];
    assert_eq!(there_and_back(&stave(), frames), expected);
}

#[test]
fn the_bead() {
    let frames = b"\x05\x11\x07\x1E\xBF\x04\x1E\x51\xD5\x00\x03\x11\x08\x01\x01\x04\x1E\xCB\x12\x00";
    let expected = ["0 [Int(7), Int(30), Int(-65), Int(0), Int(30)]", "0 [Int(8), Int(0), Int(0), Int(0), Int(30)]"];
    assert_eq!(there_and_back(&bead(), frames), expected);
}

/// The bead's body, its check included, in the framings of RFC 1055 and RFC 1662 and in fixed length: derived from
/// the bead's golden frame and the rules of those documents.
#[test]
fn the_bead_in_other_framings() {
    let expected = ["0 [Int(7), Int(30), Int(-65), Int(0), Int(30)]"];
    assert_eq!(there_and_back(&slipped(), b"\x11\x07\x1E\xBF\x00\x1E\x51\xD5\xC0"), expected);
    assert_eq!(there_and_back(&stuffed(), b"\x7E\x11\x07\x1E\xBF\x00\x1E\x51\xD5\x7E"), expected);
    assert_eq!(there_and_back(&bare(), b"\x11\x07\x1E\xBF\x00\x1E\x51\xD5"), expected);
    assert_eq!(there_and_back(&led(), b"\xA7\x3C\x11\x07\x1E\xBF\x00\x1E\x51\xD5"), expected);
}

/// An END may stand before a frame (RFC 1055); one flag may end a frame and begin the next (RFC 1662).
#[test]
fn end_bytes_before_a_frame_belong_to_it() {
    let both = told(&slipped(), b"\xC0\xC0\x11\x07\x1E\xBF\x00\x1E\x51\xD5\xC0");
    assert!(both.len() == 2 && both[0].starts_with("1 noise") && both[1].starts_with("10 frame 0 ["), "{both:?}");
    let shared = told(&stuffed(), b"\x7E\x11\x07\x1E\xBF\x00\x1E\x51\xD5\x7E\x11\x07\x1E\xBF\x00\x1E\x51\xD5\x7E");
    assert!(shared.len() == 2 && shared[0].starts_with("10 frame") && shared[1].starts_with("9 frame"), "{shared:?}");
}

#[test]
fn the_ladder() {
    let frames = b"\xA7\x3C\x09\x21\x6C\x02\x1A\xFF\x1A\xFF\x6C\x02\x3F\
        \xA7\x3C\x09\x21\x00\x00\x00\x00\x00\x00\x00\x00\x2D";
    let expected = ["0 [Int(620), Int(-230), Int(-230), Int(620)]", "0 [Int(0), Int(0), Int(0), Int(0)]"];
    assert_eq!(there_and_back(&ladder(), frames), expected);
}

#[test]
fn the_reset_in_the_middle_of_a_cue() {
    let bytes = b"c334 p68 drv f+00\x00\xF8GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\nload @3F40 len 6144 ok\r\n\
        eye ok heap 91k net up c000 p00 drv f+000 s+000 t+000 g3 d30 #0770.\n";
    let expected = [
        "17 damage truncated Some(0) c334 p68 drv f+00",
        r"2 noise \x00\xf8",
        r"41 text Start { start_up: Some(0), cause: Some(BrownOut) } GC2 rom 1.4 rst=0x0F(sag) strap=0b10110\r\n",
        r"24 text Free load @3F40 len 6144 ok\r\n",
        "23 text Free eye ok heap 91k net up ",
        "45 frame 0 glued [Int(0), Int(0), Word(0), Int(0), Int(0), Int(0), Int(3), Int(30)] \
            c000 p00 drv f+000 s+000 t+000 g3 d30 #0770.\\n",
    ];
    assert_eq!(told(&cue(), bytes), expected);
}

#[test]
fn start_up_text_right_behind_a_torn_order() {
    let expected = [
        "5 damage truncated Some(0) D,N,0",
        r"16 text Start { start_up: Some(1), cause: Some(BrownOut) } #boot cmd rst=B\n",
    ];
    assert_eq!(told(&starred(), b"D,N,0#boot cmd rst=B\n"), expected);
}

#[test]
fn one_cause_for_each_broken_line() {
    let rows: [(&Arc<Profile>, &[u8], &str); 17] = [
        (&cue(), b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93E.\n", "45 damage bad-check Some(0)"),
        (&cue(), b"c042 p17 drv f+03! s-065 t+000 g2 d30 #A93D.\n", "45 damage bad-check Some(0)"),
        (&cue(), b"X042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", "45 damage bad-check Some(0)"),
        (&cue(), b"c0 2 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n", "45 damage bad-check Some(0)"),
        (&cue(), b"c042 p17 drv f+030 s-0\n", "23 damage truncated Some(0)"),
        (&cue(), b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.", "44 damage truncated Some(0)"),
        (&cue(), b"c042 p17 drv f+030 c043 p1\n", "27 damage glued Some(0)"),
        (&plain(), b"way,prt\n", "8 damage unknown-word Some(0)"),
        (&plain(), b"pace,300\n", "9 damage out-of-range Some(1)"),
        (&plain(), b"pace,x\n", "7 damage not-a-number Some(1)"),
        (&plain(), b"pace,18o\n", "9 damage not-a-number Some(1)"),
        (&plain(), b"pace,\n", "6 damage truncated Some(1)"),
        (&plain(), b"way,restrestrestrestrestrestrest\n", "33 damage overlong Some(0)"),
        (&plain(), b"way,rest\r\n", "10 damage unknown-word Some(0)"),
        (&plain(), b"pace,12", "7 damage truncated Some(1)"),
        (&plain(), b"connected\n", "10 text Free"),
        (&cue(), b"connected\n", "10 text Free"),
    ];
    for (profile, line, expected) in rows {
        let all = told(profile, line);
        let shown = line.escape_ascii();
        assert_eq!(all.len(), 1, "{shown}: {all:?}");
        assert!(all[0].starts_with(expected), "{shown}: {all:?}");
    }
}

#[test]
fn an_order_glued_behind_a_torn_one_is_found() {
    let all = told(&plain(), b"way,poway,rest\n");
    assert_eq!(all, ["6 damage truncated Some(0) way,po", "9 frame 0 glued [Word(10)] way,rest\\n"]);
}

#[test]
fn a_right_check_with_a_wrong_field_names_the_field() {
    // Checks worked out with the CRC-16 of the cue line, polynomial 0x1021, start 0x5A17, by the `crc` crate.
    let algorithm = crc::Algorithm {
        width: 16,
        poly: 0x1021,
        init: 0x5A17,
        refin: false,
        refout: false,
        xorout: 0,
        check: 0,
        residue: 0,
    };
    let algorithm: &'static crc::Algorithm<u16> = Box::leak(Box::new(algorithm));
    let other = crc::Crc::<u16>::new(algorithm);
    let rows = [
        ("c042 p17 drv f+130 s-065 t+000 g2 d30 ", "out-of-range"),
        ("c042 p17 dry f+030 s-065 t+000 g2 d30 ", "unknown-word"),
        ("c042 p17 drv f+O30 s-065 t+000 g2 d30 ", "not-a-number"),
    ];
    for (front, cause) in rows {
        let line = format!("{front}#{:04X}.\n", other.checksum(front.as_bytes()));
        assert_eq!(told(&cue(), line.as_bytes()), [format!("45 damage {cause} Some(0) {}", line.trim_end()) + "\\n"]);
    }
}

#[test]
fn a_binary_frame_that_something_whole_cuts_short_is_truncated() {
    let stave_frame = b"\xF1\x2A\xA2\x4D\x4D\xA2\x3C\x02\x04\x00\xFE";
    let rows: [(&Arc<Profile>, Vec<u8>, [&str; 3]); 3] = [
        (
            &stave(),
            [b"\xF1\x2A\xA2GC2 rom 1.4 rst(sag)\r\n".as_slice(), stave_frame].concat(),
            [
                "3 damage truncated Some(0)",
                "22 text Start { start_up: Some(0), cause: Some(BrownOut) }",
                "11 frame 0 [",
            ],
        ),
        (
            &stave(),
            [&stave_frame[..7], stave_frame, b"\0"].concat(),
            ["7 damage truncated Some(0)", "11 frame 0 [", "1 noise"],
        ),
        (
            &ladder(),
            b"\xA7\x3C\x09\x21\x6C\xA7\x3C\x09\x21\x00\x00\x00\x00\x00\x00\x00\x00\x2D\x11".to_vec(),
            ["5 damage truncated Some(0)", "13 frame 0 [", "1 noise"],
        ),
    ];
    for (profile, bytes, expected) in rows {
        let all = told(profile, &bytes);
        assert_eq!(all.len(), 3, "{all:?}");
        for (found, expected) in all.iter().zip(expected) {
            assert!(found.starts_with(expected), "{all:?}");
        }
    }
}

#[test]
fn a_broken_binary_frame_is_one_record() {
    let rows: [(&Arc<Profile>, &[u8], &str); 16] = [
        (&stave(), b"\xF1\x2A\xA2\x4D\x4D\x4D\xA2\x3C\x02\x04\x00\xFE", "12 damage overlong Some(0)"),
        (&slipped(), b"\xC0\x11\x07\x1F\xBF\x00\x1E\x51\xD5\xC0", "10 damage bad-check Some(0)"),
        (&stuffed(), b"\x7E\x11\x07\x1F\x7D\x7E", "6 damage truncated Some(0)"),
        (&led(), b"\xA7\x3C\x11\x07\x1F\xBF\x00\x1E\x51\xD5", "10 damage bad-check Some(0)"),
        (&bare(), b"\x11\x07\x1F\xBF\x00\x1E\x51\xD5", "8 damage bad-check Some(0)"),
        (&stave(), b"\xF1\x2A\xA3\x4D\x4D\xA2\x3C\x02\x04\x00\xFE", "11 damage bad-check Some(0)"),
        (&stave(), b"\xF1\x2A\xFE\x4D\x4D\xA2\x3C\x02\x04\x00\xFE", "11 damage truncated Some(0)"),
        (&stave(), b"\xF1\x2A\xF3\x4D\x4D\xA2\x3C\x02\x04\x00\xFE", "11 damage glued Some(0)"),
        (&ladder(), b"\xA7\x3C\x09\x21\x6C\x03\x1A\xFF\x1A\xFF\x6C\x02\x3F", "13 damage bad-check Some(0)"),
        (&bead(), b"\x05\x11\x07\x1F\xBF\x04\x1E\x51\xD5\x00", "10 damage bad-check Some(0)"),
        (&bead(), b"\x05\x11\x07\x1F\xBF\x04", "6 damage truncated Some(0)"),
        (&stave(), b"\xF1\x2A\xA2", "3 damage truncated Some(0)"),
        (&ladder(), b"\xA7\x3C\x09\x21\x6C", "5 damage truncated Some(0)"),
        (&ladder(), b"\xA7\x3C", "2 damage truncated None"),
        (&led(), b"\xA7\x3C\x11\x07", "4 damage truncated Some(0)"),
        (&slipped(), b"\x11\x07\x1E\xDB\x00\x00\x1E\x51\xD5\xC0", "10 damage bad-check Some(0)"),
    ];
    for (profile, bytes, expected) in rows {
        let all = told(profile, bytes);
        assert_eq!(all.len(), 1, "{all:?}");
        assert!(all[0].starts_with(expected), "{all:?}");
    }
}

#[test]
fn the_profiles_have_no_faults() {
    for (name, profile) in wagon::all() {
        assert_eq!(profile.faults(), Vec::<String>::new(), "{name}");
    }
}

/// The flag 7E is a readable byte; many of them are noise all the same, in one chunk or byte by byte.
#[test]
fn flags_with_nothing_between_are_noise() {
    assert_eq!(told(&stuffed(), &[0x7E; 17]), [format!("17 noise {}", "~".repeat(17))]);
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| all.push((record.len, matches!(record.what, What::Noise { .. })));
    let mut decoder = Decoder::new(Wire::ToDrive, stuffed());
    for offset in 0..17 {
        decoder.push(&Chunk { wire: Wire::ToDrive, offset, bytes: b"~", lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
    }
    decoder.cut(&mut sink);
    assert_eq!(all, [(17, true)]);
}

/// Readable text that only shares its first letter with a frame is text.
#[test]
fn text_that_begins_with_a_frames_letter_is_text() {
    let profile = cue();
    for line in [b"connected to the net\n".as_slice(), b"all is well\n", b"c\n"] {
        assert!(told(&profile, line)[0].contains("text Free"), "{}", line.escape_ascii());
    }
}

/// A zero before a frame carries nothing (COBS, as Cheshire and Baker use it): it is no part of the frame behind it.
#[test]
fn a_zero_before_a_frame_is_noise() {
    let all = told(&bead(), b"\x00\x05\x11\x07\x1E\xBF\x04\x1E\x51\xD5\x00");
    assert!(all.len() == 2 && all[0].starts_with("1 noise") && all[1].starts_with("10 frame 0 ["), "{all:?}");
}

/// What goes on past the longest frame of the link is no frame, whatever it began as: one record up to its end byte, a
/// frame right before that end byte found all the same.
#[test]
fn a_stretch_longer_than_any_frame_is_one_noise_record() {
    let frames: [(Arc<Profile>, &[u8]); 3] = [
        (slipped(), b"\x11\x07\x1E\xBF\x00\x1E\x51\xD5\xC0"),
        (stuffed(), b"\x7E\x11\x07\x1E\xBF\x00\x1E\x51\xD5\x7E"),
        (bead(), b"\x05\x11\x07\x1E\xBF\x04\x1E\x51\xD5\x00"),
    ];
    for (profile, frame) in frames {
        for len in profile.longest + 1..profile.longest + 40 {
            let stretch = vec![0x11; len];
            let unended = told(&profile, &stretch);
            assert!(unended.len() == 1 && unended[0].starts_with(&format!("{len} noise")), "{len}: {unended:?}");
            let followed = told(&profile, &[&stretch, frame].concat());
            let (ahead, behind) = match profile.framing {
                // The flag that begins the frame ends the stretch.
                wheeltap_parsers::Framing::Stuffed => {
                    (format!("{} noise", len + 1), format!("{} frame 0 [", frame.len() - 1))
                }
                _ => (format!("{len} noise"), format!("{} frame 0 glued [", frame.len())),
            };
            assert!(followed.len() == 2 && followed[0].starts_with(&ahead), "{len}: {followed:?}");
            assert!(followed[1].starts_with(&behind), "{len}: {followed:?}");
        }
    }
}

/// A board's start-up text inside a line too long to be judged as a whole: what is before it is judged for itself, the
/// text goes on up to the line's end and no further, and the frame behind it is whole.
#[test]
fn start_up_text_in_an_endless_line_begins_where_it_stands() {
    let frame = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    for (ahead, filler) in [(16, 600), (16, 5000), (400, 200), (400, 700)] {
        let mut torn = b"c042 p17 drv f+0".to_vec();
        torn.resize(ahead, 0xF8);
        let bytes = [&torn, b"GC2 rom 1.4 rst(sag)".as_slice(), &vec![b'y'; filler], b"\n", frame].concat();
        let all = told(&cue(), &bytes);
        let noise = if ahead > 16 { vec![format!("{} noise ", ahead - 16)] } else { Vec::new() };
        let text = format!("{} text Start {{ start_up: Some(0), cause: Some(BrownOut) }}", 20 + filler + 1);
        let expected =
            [vec!["16 damage truncated Some(0) c042 p17 drv f+0".into()], noise, vec![text, "45 frame 0 [".into()]]
                .concat();
        assert_eq!(all.len(), expected.len(), "{ahead} ahead, {filler} behind: {all:?}");
        for (found, expected) in all.iter().zip(expected) {
            assert!(found.starts_with(&expected), "{ahead} ahead, {filler} behind: {all:?}");
        }
    }
}

/// A line too long that began as a frame is one damaged frame up to its end mark, and the next one is whole.
#[test]
fn an_endless_line_that_began_as_a_frame_is_one_record() {
    let frame = b"c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    for filler in [600, 1200, 9000] {
        let bytes = [b"c042 p17 drv f+030 ".as_slice(), &vec![b'x'; filler], b"\n", frame].concat();
        let all = told(&cue(), &bytes);
        assert!(all.len() == 2 && all[0].starts_with(&format!("{} damage overlong Some(0)", 20 + filler)), "{all:?}");
        assert!(all[1].starts_with("45 frame 0 ["), "{all:?}");
    }
}

/// The check is that of CRC-16/IBM-SDLC in the catalogue of the `crc` crate; 120 lies outside the field's range.
#[test]
fn an_encoded_frame_with_a_right_check_and_a_wrong_field_names_the_field() {
    let mut body = b"\x11\x07\x78\xBF\x00\x1E".to_vec();
    body.extend(crc::Crc::<u16>::new(&crc::CRC_16_IBM_SDLC).checksum(&body).to_le_bytes());
    let wire = [body.as_slice(), b"\xC0"].concat();
    let all = told(&slipped(), &wire);
    assert!(all.len() == 1 && all[0].starts_with("9 damage out-of-range Some(0)"), "{all:?}");
}
