//! A small rover file for each framing, check and kind of field: it loads, its frame decodes to the values it was made
//! from and is written back byte for byte, and what is wrong in a file is named with its line and key.
//!
//! The frames were put together with the standard library of Python (`struct`, `binascii.crc_hqx`, `zlib.crc32`) and
//! the rules of RFC 1055 and RFC 1662.
#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use wheeltap::rover::file::RoverFile;
use wheeltap_parsers::{Chunk, Decoder, Profile, Record, Value, What, Wire};

fn text(name: &str) -> String {
    let path = format!("{}/tests/golden/rover-files/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

fn load(name: &str) -> RoverFile {
    RoverFile::load(name, &text(name)).unwrap_or_else(|faults| unreachable!("{name}: {faults:#?}"))
}

/// What the only frame in `bytes` says, after it was written back as itself.
fn there_and_back(profile: &Arc<Profile>, bytes: &[u8]) -> String {
    let mut seen = Vec::new();
    let mut sink = |record: &Record<'_>| {
        let What::Frame { kind, values, bytes, .. } = record.what else { unreachable!("no frame: {record:?}") };
        assert_eq!(profile.encode(kind, values).unwrap(), bytes);
        seen.push(said(profile, kind, values));
    };
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
    decoder.cut(&mut sink);
    assert_eq!(seen.len(), 1, "{seen:?}");
    seen.remove(0)
}

fn said(profile: &Profile, kind: usize, values: &[Value<'_>]) -> String {
    let fields = profile.kinds[kind].fields.iter().zip(values);
    let words = fields.map(|(field, value)| match value {
        Value::Int(number) => format!("{}={number}", field.name),
        Value::Real(number) => format!("{}={number}", field.name),
        Value::Word(word) => format!("{}={}", field.name, field.words[*word]),
        Value::Text(text) => format!("{}={text}", field.name),
    });
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn each_example_file_reads_its_frame_and_writes_it_back() {
    let rows: [(&str, &[u8], &str); 7] = [
        ("slip", b"\xD1\xDB\xDC\xDB\xDD\x3E\xE6\xC0", "left=-64 right=-37"),
        (
            "stuffed",
            b"\x7E\x01\x00\x00\x80\x3E\x00\x00\x00\xBF\x3F\x7D\x5E\x00\x00\x78\xE1\x7E",
            "x=0.25 y=-0.5 turn=0.9921875",
        ),
        ("fixed", b"F12075", "move=F duty=120"),
        (
            "fixed-with-sync",
            b"\x55\xAA\x00\xFF\x80\x81\x82\x81",
            "fl=0 fr=255 rl=128 rr=129 flags=130 gear=2 lamp=1",
        ),
        ("keyed", b"go x=10 y=-5 turn=0\r\n", "x=10 y=-5 turn=0"),
        ("marks", b"!<1A>:-065;F1\x03", "code=26 duty=-65"),
        (
            "numbers",
            b"\xA5\x33\xC8\x9C\x34\x12\x12\x34\x0C\xFE\xFE\x0C\x56\x34\x12\xFF\xFF\xFB\xEF\xBE\xAD\xDE\xDE\xAD\xBE\xEF\x90\xEE\xFE\xFF\xFF\xFE\xEE\x90\x00\x00\xC0\x3F\xC0\x10\x00\x00\x32\x0E\x08\x0B\x06\x02\x0C\x08\x0C",
            "a=200 b=-100 c=4660 d=4660 e=-500 f=-500 g=1193046 h=-5 i=3735928559 j=3735928559 k=-70000 l=-70000 \
             m=1.5 n=-2.25 o=50",
        ),
    ];
    for (name, bytes, expected) in rows {
        let rover = load(name);
        assert_eq!(there_and_back(rover.profile(Wire::ToDrive).unwrap(), bytes), expected, "{name}");
    }
}

#[test]
fn every_example_file_is_tried() {
    let folder = format!("{}/tests/golden/rover-files", env!("CARGO_MANIFEST_DIR"));
    assert_eq!(std::fs::read_dir(folder).unwrap().count(), 7);
}

/// Every record of `bytes`, each in a few words.
fn told(profile: &Arc<Profile>, bytes: &[u8]) -> Vec<String> {
    let mut all = Vec::new();
    let mut sink = |record: &Record<'_>| {
        all.push(match record.what {
            What::Frame { kind, values, .. } => said(profile, kind, values),
            What::Damage { cause, .. } => cause.id().to_owned(),
            What::Text { .. } => "text".to_owned(),
            What::Noise { .. } => "noise".to_owned(),
        });
    };
    let mut decoder = Decoder::new(Wire::ToDrive, Arc::clone(profile));
    decoder.push(&Chunk { wire: Wire::ToDrive, offset: 0, bytes, lo: 0, hi: 0, byte_ns: 0 }, &mut sink);
    decoder.cut(&mut sink);
    all
}

#[test]
fn keyed_values_come_in_any_order_and_each_once() {
    let rover = load("keyed");
    let profile = rover.profile(Wire::ToDrive).unwrap();
    let rows = [
        ("go turn=3 x=-1 y=+2\r\n", "x=-1 y=2 turn=3"),
        ("go y=0 turn=0 x=100\r\n", "x=100 y=0 turn=0"),
        ("go x=1 y=2\r\n", "truncated"),
        ("go x=1 x=2 turn=3\r\n", "unknown-word"),
        ("go x=1 y=2 turn=3 x=4\r\n", "overlong"),
        ("go x=1 y=2 speed=3\r\n", "unknown-word"),
        ("go x=1 y=200 turn=3\r\n", "out-of-range"),
        ("go x=1 y= turn=3\r\n", "truncated"),
        ("go x=1 y=two turn=3\r\n", "not-a-number"),
    ];
    for (line, expected) in rows {
        assert_eq!(told(profile, line.as_bytes()), [expected], "{line}");
    }
}

#[test]
fn a_check_that_covers_the_mark_fails_where_only_the_rest_is_right() {
    let rover = load("fixed-with-sync");
    let profile = rover.profile(Wire::ToDrive).unwrap();
    // The sum of the five bytes behind the sync bytes alone is 82; with 55 AA it is 81.
    assert_eq!(told(profile, b"\x55\xAA\x00\xFF\x80\x81\x82\x82"), ["bad-check"]);
}

/// `file` with `from` written as `to` has just this fault: `line key`, and words of what is said.
#[track_caller]
fn one_fault(file: &str, (from, to): (&str, &str), place: &str, words: &str) {
    let sound = text(file);
    assert!(sound.contains(from), "{file} has no {from}");
    let faults = RoverFile::load(file, &sound.replacen(from, to, 1)).unwrap_err();
    let seen: Vec<String> = faults.iter().map(|fault| format!("{} {}", fault.line, fault.key)).collect();
    assert_eq!(seen, [place], "{faults:#?}");
    assert!(faults[0].to_string().contains(words), "{}", faults[0]);
}

#[test]
fn what_is_wrong_is_named_with_its_line_and_key() {
    one_fault("slip", ("kind = \"slip\"", "kind = \"slop\""), "11 framing.kind", "fixed length");
    one_fault("fixed", ("length = 6 ", "#"), "10 framing.length", "sync bytes included");
    one_fault("fixed", ("length = 6 ", "length = 7 "), "19 frame[1]", "must have 7 bytes");
    one_fault("fixed", ("digits = 3, ", ""), "19 frame[1]", "must have 6 bytes, always");
    one_fault("fixed-with-sync", ("\"55 AA\"", "\"55 A\""), "12 framing.sync", "pairs of hex digits");
    one_fault("fixed-with-sync", ("covers_mark = true", "skip = 6"), "20 frame[1]", "leaves out 6 bytes");
    one_fault(
        "fixed-with-sync",
        ("\"flags\", low", "\"flag\", low"),
        "30 frame[1].fields.gear.of",
        "no field is called",
    );
    one_fault("fixed-with-sync", ("low = 7", "low = 32"), "31 frame[1].fields.lamp.low", "Allowed: 0 to 31");
    one_fault("keyed", ("any_order = \" \"", "any_order = \"\""), "20 frame[1].any_order", "need text between");
    one_fault("keyed", ("any_order = \" \"", "any_order = \";\""), "20 frame[1].any_order", "parts no two");
    one_fault("marks", ("end = 0x03", "end = 0x103"), "13 framing.end", "Allowed: 0 to 255");
    one_fault("marks", ("start = \"!\"\n", ""), "15 check", "no start mark");
    one_fault("numbers", ("i24 be", "i25 be"), "37 frame[1].fields.h.kind", "i24 be");
    one_fault("numbers", ("width = 32", "width = 33"), "18 check.width", "Allowed: 1 to 32");
}

#[test]
fn two_fields_of_free_width_need_a_literal_between() {
    let sound = "line = \"<<<code>>:<duty>;<check>\"
fields.code = { kind = \"hex\", digits = 2, means = \"move\" }
fields.duty = { kind = \"decimal\", digits = 3, ";
    let broken = "line = \"<<<code><duty>;<check>\"
fields.code = { kind = \"hex\", means = \"move\" }
fields.duty = { kind = \"decimal\", ";
    one_fault("marks", (sound, broken), "22 frame[1]", "two fields of free width follow each other");
}

/// `marks`, its field's and its check's hex digits with what `letters` says; nothing where that is empty.
fn marks_with(field: &str, check: &str) -> RoverFile {
    let letters = |says: &str, around: [&str; 2]| match says {
        "" => String::new(),
        says => format!("{}letters = \"{says}\"{}", around[0], around[1]),
    };
    let text = text("marks")
        .replace("kind = \"hex\", digits = 2", &format!("kind = \"hex\", digits = 2{}", letters(field, [", ", ""])))
        .replace("written = \"hex digits\"\n", &format!("written = \"hex digits\"\n{}", letters(check, ["", "\n"])));
    RoverFile::load("marks", &text).unwrap_or_else(|faults| unreachable!("{field} {check}: {faults:#?}"))
}

/// The sum over `!<1A>:-065` is 020F, so the check is F1; with `a`, 20 more, it is D1.
#[test]
fn hex_digits_are_read_in_the_case_the_file_states() {
    let (upper, lower_field) = ("!<1A>:-065;F1\x03", "!<1a>:-065;D1\x03");
    let lower_check = "!<1A>:-065;f1\x03";
    let good = "code=26 duty=-65";
    let rows = [
        ("", "", [good, good, good]),
        ("either", "either", [good, good, good]),
        ("upper", "upper", [good, "not-a-number", "bad-check"]),
        ("lower", "lower", ["bad-check", "bad-check", "not-a-number"]),
        ("upper", "lower", ["bad-check", "bad-check", good]),
    ];
    for (field, check, expected) in rows {
        let rover = marks_with(field, check);
        let profile = rover.profile(Wire::ToDrive).unwrap();
        let seen = [upper, lower_field, lower_check].map(|line| told(profile, line.as_bytes()).join(", "));
        assert_eq!(seen, expected, "field {field}, check {check}");
    }
}

#[test]
fn hex_digits_are_written_in_the_case_the_file_states() {
    let rover = marks_with("lower", "lower");
    assert_eq!(there_and_back(rover.profile(Wire::ToDrive).unwrap(), b"!<1a>:-065;d1\x03"), "code=26 duty=-65");
}

#[test]
fn letters_where_no_hex_digits_are_is_a_fault() {
    let decimal = ("digits = 3, sign", "digits = 3, letters = \"upper\", sign");
    one_fault("marks", decimal, "28 frame[1].fields.duty.letters", "no hex digits");
    one_fault("slip", ("written = ", "letters = \"upper\"\nwritten = "), "18 check.letters", "no hex digits");
    one_fault("marks", ("digits = 2,", "digits = 2, letters = \"big\","), "27 frame[1].fields.code.letters", "either");
}

/// The drive board of the cue line takes upper case alone, and so does its file. The check of this line stands in
/// `tests/golden_frames.rs`.
#[test]
fn the_cue_line_knows_no_lower_case_digits() {
    let rover = RoverFile::load("cue-line", wheeltap::rover::built_in::find("cue-line").unwrap().text).unwrap();
    let profile = rover.profile(Wire::ToDrive).unwrap();
    let line = "c042 p17 drv f+030 s-065 t+000 g2 d30 #A93D.\n";
    let good = "seq=42 panel=17 verb=drv f=30 s=-65 t=0 gear=2 deadline=30";
    assert_eq!(told(profile, line.as_bytes()), [good]);
    assert_eq!(told(profile, line.replace("A93D", "a93d").as_bytes()), ["bad-check"]);
}
